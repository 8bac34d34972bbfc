package gnsslog

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/written"
)

const (
	second = int64(time.Second)
	day    = 86400 // seconds
)

// A clockColumn is a column whose name is that of a time or a date.
type clockColumn struct {
	at, rank int
	role     naming.Role
	kinds    [written.Kinds]int // of its values
	values   int                // all of them
	midnight int                // those whose time of day is 0 h
	kind     written.Kind       // of most
}

// sampled is how many records of a log tell what its columns say of time.
const sampled = 200

// see looks at one value.
func (c *clockColumn) see(text []byte) {
	if text = trimBlanks(text); len(text) == 0 {
		return
	}
	kind, midnight := written.KindOf(text)
	c.kinds[kind]++
	if midnight {
		c.midnight++
	}
}

// settle decides what the values are, by most of them.
func (c *clockColumn) settle() {
	for kind, n := range c.kinds {
		c.values += n
		if n > 0 && n >= c.kinds[c.kind] {
			c.kind = written.Kind(kind)
		}
	}
}

// settleClock chooses the columns of time and date by what their values say, of
// those that have a name for it. sample calls see with values of columns.
func (p *plan) settleClock(line int, sample func(see func(column int, text []byte))) {
	if len(p.clocks) == 0 {
		return
	}
	sample(func(column int, text []byte) {
		for i := range p.clocks {
			if p.clocks[i].at == column {
				p.clocks[i].see(text)
			}
		}
	})
	most, hasHour := 0, false
	for i := range p.clocks {
		p.clocks[i].settle()
		most = max(most, p.clocks[i].values)
		hasHour = hasHour || p.clocks[i].kind == written.TimeOfDay
	}
	var whole, hour, date *clockColumn
	for i := range p.clocks {
		c := &p.clocks[i]
		switch {
		case c.values == 0 || 2*c.values < most: // filled in now and then, if at all
		case c.kind == written.TimeOfDay:
			hour = c.better(hour, naming.Time)
		case c.kind == written.DateAlone, c.kind > written.TimeOfDay && hasHour && c.midnight == c.values:
			date = c.better(date, naming.Date)
		case c.kind > written.TimeOfDay:
			whole = c.better(whole, naming.Time)
		}
	}
	switch {
	case hour != nil && date != nil && (whole == nil || whole.kind < p.pairKind(hour, date)):
		p.at[naming.Time], p.at[naming.Date] = hour.at, date.at
	case whole != nil:
		p.at[naming.Time], p.at[naming.Date] = whole.at, -1
	case date != nil && hour == nil:
		p.at[naming.Time], p.at[naming.Date] = -1, -1
		p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q holds dates without a time of day; read as a log without times", p.names[date.at])})
	}
}

// better returns the better of two columns for a role: of values that say more, of
// a name of that naming.Role, of one that is named earlier in its list.
func (c *clockColumn) better(than *clockColumn, r naming.Role) *clockColumn {
	if than == nil || cmp.Or(cmp.Compare(c.kind, than.kind), compareRole(c.role, than.role, r), cmp.Compare(than.rank, c.rank)) > 0 {
		return c
	}
	return than
}

// compareRole puts the role that is wanted above the other.
func compareRole(a, b, want naming.Role) int {
	switch {
	case a == b:
		return 0
	case a == want:
		return 1
	}
	return -1
}

// pairKind is how good a time of day and a date beside it are as a time.
func (p *plan) pairKind(hour, date *clockColumn) written.Kind {
	switch {
	case p.saysUTC(hour.at):
		return written.Zoned
	case date.kind == written.DateAlone || date.kind == written.LocalISO:
		return written.LocalISO
	}
	return written.LocalText
}

// saysUTC reports whether the name of a column says that its times are UTC.
func (p *plan) saysUTC(column int) bool {
	short, bracket := naming.Normal(p.names[column])
	return strings.Contains(short, "utc") || bracket == "utc" || bracket == "gmt"
}
