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

// A Fault is what is wrong with a part of a file, by who does not know the
// file: package geojson, geopackage or shapefile.
type Fault struct {
	Line  int    // 0 where the format has no lines
	Where string // "record 3", ".prj"; may be ""
	Found string
	Want  string // may be ""
}

// In is the fault as the error of the file it is in.
func (f *Fault) In(file string) *SyntaxError {
	return &SyntaxError{File: file, Line: f.Line, Where: f.Where, Found: f.Found, Want: f.Want}
}

// Error is one line: line …: where: found …, want ….
func (f *Fault) Error() string {
	s := f.Found
	if f.Where != "" {
		s = f.Where + ": " + s
	}
	if f.Line > 0 {
		s = fmt.Sprintf("line %d: %s", f.Line, s)
	}
	if f.Want != "" {
		s += ", want " + f.Want
	}
	return s
}
