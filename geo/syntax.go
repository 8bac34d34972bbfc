package geo

import "fmt"

// A SyntaxError says that a file, or a part of it, cannot be read, and why.
// All readers give it, so that whoever calls them needs to know one.
type SyntaxError struct {
	File  string
	Line  int    // 0 for the file as a whole
	Where string // a column or element, such as "features[2].geometry"; may be ""
	Found string
	Want  string // may be ""
}

// Error is one line: file:line: where: found …, want ….
func (e *SyntaxError) Error() string {
	s := e.File
	if e.Line > 0 {
		s += fmt.Sprintf(":%d", e.Line)
	}
	if e.Where != "" {
		s += ": " + e.Where
	}
	s += ": " + e.Found
	if e.Want != "" {
		s += ", want " + e.Want
	}
	return s
}
