package gnsslog

import (
	"fmt"
	"slices"

	"lapwing/geo"
)

// A trouble is one kind of thing wrong with a log, however often it occurs.
type trouble struct {
	kind  troubleKind
	line  int // the first place
	count int
	where string // the column or element there
	found string
	want  string
}

type troubleKind int

const (
	noPosition troubleKind = iota // the log says so: nothing is wrong with the line
	noFix
	otherKind // a sentence or geometry that holds no position
	lineNoise // bytes between the sentences of a serial line, or a record in binary
	// From here on lines are bad.
	badPosition
	badTime
	noTime
	badFields
	badLine
	badSum
	// From here on the line is kept without the value.
	badSpeed
	badHeading
	badQuality
	simulated
	ambiguousDate
	lastTrouble
)

func (k troubleKind) bad() bool { return k >= badPosition && k <= badSum }

// outcome says what became of lines with this trouble.
func (k troubleKind) outcome() string {
	switch k {
	case badSpeed:
		return "taken as no speed"
	case badHeading:
		return "taken as no heading"
	case badQuality:
		return "taken as unknown"
	case simulated:
		return "kept, but not a real position"
	case ambiguousDate:
		return "taken as month/day/year"
	}
	return "skipped"
}

// troubles gathers what is wrong with a log.
type troubles [lastTrouble]trouble

// seen counts one more of a kind and reports whether it is not the first, so
// that the words for it need not be made again.
func (t *troubles) seen(k troubleKind) bool {
	t[k].count++
	return t[k].count > 1
}

// first describes the first trouble of a kind.
func (t *troubles) first(k troubleKind, line int, where, found, want string) {
	t[k].kind, t[k].line = k, line
	t[k].where, t[k].found, t[k].want = where, found, want
}

// add counts one more of a kind; found is quoted, and shortened if need be.
func (t *troubles) add(k troubleKind, line int, where string, found []byte, want string) {
	if !t.seen(k) {
		t.first(k, line, where, quoted(found), want)
	}
}

// quoted is "found" with the text as it stands in the file, cut short.
func quoted(found []byte) string {
	const most = 60
	if len(found) > most {
		return fmt.Sprintf("found %q…", found[:most])
	}
	return fmt.Sprintf("found %q", found)
}

// join adds the troubles of a later part of the same file.
func (t *troubles) join(later *troubles) {
	for k := range later {
		if t[k].count == 0 {
			t[k] = later[k]
		} else {
			t[k].count += later[k].count
		}
	}
}

// bad returns how many lines are bad, and the first of them.
func (t *troubles) bad() (count int, first trouble) {
	for k, one := range t {
		if !troubleKind(k).bad() || one.count == 0 {
			continue
		}
		if count == 0 || one.line < first.line {
			first = one
		}
		count += one.count
	}
	return count, first
}

// notes are the troubles in words, by line.
func (t *troubles) notes() []geo.Note {
	var notes []geo.Note
	for k, one := range t {
		if one.count == 0 {
			continue
		}
		text := one.found
		if one.where != "" {
			text = one.where + ": " + text
		}
		if one.want != "" {
			text += ", want " + one.want
		}
		notes = append(notes, geo.Note{Line: one.line, Count: one.count, Text: text + "; " + troubleKind(k).outcome()})
	}
	slices.SortStableFunc(notes, func(a, b geo.Note) int { return a.Line - b.Line })
	return notes
}

// verdict refuses a log that holds no fix or is bad in over half of its
// lines. lines counts the lines (or points) that should hold a fix.
func (t *troubles) verdict(name string, fixes, lines int) error {
	bad, first := t.bad()
	switch {
	case bad*2 > lines || fixes == 0 && bad > 0:
		found := first.found
		if bad > 1 {
			found += fmt.Sprintf(" (and %d of %d lines are bad)", bad, lines)
		}
		return &SyntaxError{File: name, Line: first.line, Where: first.where, Found: found, Want: first.want}
	case fixes > 0:
		return nil
	case t[otherKind].count > 0:
		return &SyntaxError{File: name, Line: t[otherKind].line, Found: t[otherKind].found, Want: t[otherKind].want}
	case t[noFix].count > 0:
		return &SyntaxError{File: name, Line: t[noFix].line, Found: "the receiver never had a position", Want: "a log with fixes"}
	case t[noPosition].count > 0:
		return &SyntaxError{File: name, Line: t[noPosition].line, Found: "every position is empty", Want: "a log with fixes"}
	}
	return &SyntaxError{File: name, Found: "no position in the file", Want: "a log with fixes"}
}
