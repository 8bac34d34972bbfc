package gnsslog

import (
	"bytes"

	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/records"
	"lapwing/geo/gnsslog/written"
)

// A dateOrder finds out whether 4/5/2026 is in April or in May, from the
// first date in the file that has only one reading.
type dateOrder struct {
	column    int
	decided   bool
	day       bool // the day comes first
	ambiguous int  // dates with two readings
	line      int  // the first of them
	found     string
	text      []byte
}

// dateColumn is where dates stand; -1 if nowhere.
func (p *plan) dateColumn() int {
	if p.has(naming.Date) {
		return p.at[naming.Date]
	}
	return p.at[naming.Time]
}

// see looks at one more date. If the first one is not of the form 4/5/2026, the
// order is settled, since the others are written alike.
func (o *dateOrder) see(text []byte, line int) {
	o.text = append(append(o.text[:0], trimBlanks(text)...), ' ')
	a, b, year, mark, _, ok := written.DateNumbers(o.text)
	switch {
	case !ok || year < 1000 || mark == '.':
		o.decided = len(o.text) > 1 && o.ambiguous == 0
	case a > 12 || b > 12:
		o.decided, o.day = true, a > 12
	default:
		if o.ambiguous == 0 {
			o.line, o.found = line, quoted(o.text[:len(o.text)-1])
		}
		o.ambiguous++
	}
}

// seeAll looks at the dates of a piece of a table until one decides.
func (o *dateOrder) seeAll(piece []byte, line int, separator byte) {
	var fields [][]byte
	for len(piece) > 0 && o.column >= 0 && !o.decided {
		var rest []byte
		fields, rest, _ = records.Split(fields[:0], piece, separator)
		if o.column < len(fields) {
			o.see(fields[o.column], line)
		}
		line += bytes.Count(piece[:len(piece)-len(rest)], []byte("\n"))
		piece = rest
	}
}

// dayFirst reports whether the day comes first. Where no date decides, it notes
// that as a trouble.
func (o *dateOrder) dayFirst(p *plan, t *troubles) bool {
	if !o.decided && o.ambiguous > 0 {
		t.first(ambiguousDate, o.line, p.names[o.column], o.found, "a date with one reading")
		t[ambiguousDate].count = o.ambiguous
	}
	return o.day
}
