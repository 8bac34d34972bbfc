package spec

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"lapwing/geo"
)

// An InputError says that an input is wrong: where, what was found and what
// was expected. Its text is one line.
type InputError struct {
	File   string // the file, or "" for a flag
	Line   int    // 0 where there is none
	Where  string // a key such as "machine drill A, implement.width", a flag, a column; may be ""
	Found  string // `found "50"`, "no such file", …
	Want   string // `a length such as "50 ft"`; may be ""
	Reason error  // for code that acts on it; nil where the words are all there is
}

// ErrNoJob says that a file is no job file: it cannot be read as YAML, or has
// none of the keys of a job.
var ErrNoJob = errors.New("no job file")

// Error is one line: file:line: where: found …, want ….
func (e *InputError) Error() string {
	s := e.Found
	if e.Where != "" {
		s = e.Where + ": " + s
	}
	switch {
	case e.File != "" && e.Line > 0:
		s = fmt.Sprintf("%s:%d: %s", e.File, e.Line, s)
	case e.File != "":
		s = e.File + ": " + s
	}
	if e.Want != "" {
		s += ", want " + e.Want
	}
	return OneLine(s)
}

// Unwrap returns the reason, for errors.Is.
func (e *InputError) Unwrap() error { return e.Reason }

// AsInput turns a reader's finding that a file is wrong into an [*InputError],
// and leaves other errors as they are.
func AsInput(err error) error {
	var wrong *geo.SyntaxError
	if errors.As(err, &wrong) {
		return &InputError{File: wrong.File, Line: wrong.Line, Where: wrong.Where, Found: wrong.Found, Want: wrong.Want, Reason: wrong.Reason}
	}
	return err
}

// OneLine keeps what a file says from breaking a message over lines.
func OneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, s)
}

// A Place is where something is written.
type Place struct {
	File string // "" for the command line
	Line int
	Key  string // a key such as "machine drill A, track 2", or a flag
}

// Wrong is the error for what is written there.
func (p Place) Wrong(found, want string) *InputError {
	return &InputError{File: p.File, Line: p.Line, Where: p.Key, Found: found, Want: want}
}
