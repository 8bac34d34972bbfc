package geo

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// A SyntaxError says that a file, or a part of it, cannot be read, and why.
// All readers fail with it, so that their callers need to know one type.
type SyntaxError struct {
	File  string
	Line  int    // 0 for the file as a whole
	Where string // a column or element, such as "features[2].geometry"; may be ""
	Found string
	Want  string // may be ""
	// Reason is why, for code that acts on it: one of the errors below, or nil
	// where the words are all there is.
	Reason error
}

// What may be wrong with a file that another reader may be right for.
var (
	// ErrFormat says that a file is of no format that holds what was asked for.
	ErrFormat = errors.New("another format")
	// ErrNothing says that a file is of a format that may hold what was asked
	// for, and has none of it: a shapefile of polygons where fixes are wanted.
	ErrNothing = errors.New("nothing of what is wanted")
)

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

// Unwrap returns the reason, for errors.Is.
func (e *SyntaxError) Unwrap() error { return e.Reason }

// A Fault is what is wrong with a part of a file, by who does not know the
// file: package geojson, geopackage or shapefile.
type Fault struct {
	Line   int    // 0 where the format has no lines
	Where  string // "record 3", ".prj"; may be ""
	Found  string
	Want   string // may be ""
	Reason error  // as in a SyntaxError
}

// In is the fault as the error of the file it is in.
func (f *Fault) In(file string) *SyntaxError {
	return &SyntaxError{File: file, Line: f.Line, Where: f.Where, Found: f.Found, Want: f.Want, Reason: f.Reason}
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

// Unwrap returns the reason, for errors.Is.
func (f *Fault) Unwrap() error { return f.Reason }

// A Note is something that the reader of a file should know: what was skipped,
// repaired or doubted. Notes of one kind are gathered: Line is the first place,
// Count how many there were.
type Note struct {
	File  string // "" for the file that was asked for
	Line  int    // 0 for the file as a whole
	Count int
	Text  string // such as "time 14:03:11 is not a time; line skipped"
}

// Quoted joins names in quotes as they stand in an error, the first ten of them.
func Quoted(names []string) string {
	var quoted []string
	for i, n := range names {
		if i == 10 {
			return strings.Join(quoted, ", ") + fmt.Sprintf(" and %d more", len(names)-i)
		}
		quoted = append(quoted, strconv.Quote(n))
	}
	return Listed(quoted, "and")
}

// Listed joins words as a person would; word stands before the last: "and", "or".
func Listed(words []string, word string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + word + " " + words[len(words)-1]
}

// Printable makes a piece of a file fit for a message of one line.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, strings.ToValidUTF8(text, "?"))
}

// Shorten is [Printable], cut after so many characters.
func Shorten(text string, most int) string {
	text = Printable(text)
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}
