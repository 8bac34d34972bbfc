package words

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/bidi"
)

// What stands between these is set in its own direction, and turns nothing else
// (Unicode Standard Annex 9, section 2.4.2). A page writes them as a bdi element.
const (
	Isolate    = string(isolate)
	EndIsolate = string(endIsolate)

	isolate    = '\u2068' // FSI
	endIsolate = '\u2069' // PDI
)

// Clean takes out of a text from a file what is not for people: control
// characters, among them ends of lines, and characters that steer the direction
// of what follows them. The text's own letters keep their direction.
func Clean(s string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case unicode.IsSpace(c) && (unicode.IsControl(c) || c == '\u2028' || c == '\u2029'):
			return ' '
		case unicode.IsControl(c), '\u202a' <= c && c <= '\u202e', '\u2066' <= c && c <= '\u2069':
			return -1
		}
		return c
	}, s)
}

// Name is a name from a file as it stands in a sentence: clean, and by itself
// where it is written from right to left.
func Name(s string) string { return isolated(Clean(s)) }

// Short is [Name] of a name that is cut like that of [Plain].
func Short(s string, most int) string { return isolated(Plain(Clean(s), most)) }

func isolated(s string) string {
	for _, c := range s {
		if p, _ := bidi.LookupRune(c); p.Class() == bidi.R || p.Class() == bidi.AL {
			return Isolate + s + EndIsolate
		}
	}
	return s
}
