package gnsslog

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
	"time"

	"lapwing/geo"
	"lapwing/geo/gnsslog/written"
)

const (
	second = int64(time.Second)
	day    = 86400 // seconds
)

// A clockKind is what a column says of time, by its values. Of several columns of
// a log the one farthest down this list is the time of the fix.
type clockKind int

const (
	noTimeAtAll clockKind = iota
	dateAlone
	timeOfDay // with a date beside it as good as what date and name say
	localText // in words of its own, by the clock of some zone: "4/5/2026 8:03 AM"
	localISO
	zoned // with its zone, or as a number since 1970
	clockKinds
)

// A clockColumn is a column whose name is that of a time or a date.
type clockColumn struct {
	at, rank int
	role     role
	kinds    [clockKinds]int // of its values
	values   int             // all of them
	midnight int             // those whose time of day is 0 h
	kind     clockKind       // of most
}

// sampled is how many records of a log tell what its columns say of time.
const sampled = 200

// see looks at one value.
func (c *clockColumn) see(text []byte) {
	if text = trimBlanks(text); len(text) == 0 {
		return
	}
	kind, midnight := clockKindOf(text)
	c.kinds[kind]++
	if midnight {
		c.midnight++
	}
}

// clockKindOf tells what a value says of time, and whether that is 0 h of a day.
// 13/4/2026 and 4/13/2026 are dates alike: all dates of a file tell which come
// first in them, see dateOrder.
func clockKindOf(text []byte) (kind clockKind, midnight bool) {
	kind = noTimeAtAll
	for _, dayFirst := range []bool{true, false} {
		c := written.Clock{Zone: time.UTC, DayFirst: dayFirst}
		if at, hasZone, ok := c.Parse(text); ok {
			kind = localText
			if hasZone {
				kind = zoned
			} else if digits(text) >= 4 { // the year comes first
				kind = localISO
			}
			return kind, int64(at)%(day*second) == 0
		}
		if _, _, ok := c.Parse(joinTime(nil, text, []byte("00:00"))); ok {
			kind = dateAlone
		} else if _, _, ok := c.Parse(joinTime(nil, []byte("2000-01-01"), text)); ok {
			kind = timeOfDay
		}
	}
	return kind, false
}

// digits is how many digits a text begins with.
func digits(text []byte) int {
	return len(text) - len(bytes.TrimLeft(text, "0123456789"))
}

// joinTime appends to room a date and a time of day as one text. Of the date its
// own time of day is left out: columns of dates often have 0 h there. Both may be
// digits in a row, 20260504 and 140311, the latter without its zero in front.
func joinTime(room, date, hour []byte) []byte {
	if end := bytes.IndexAny(date, " T"); end > 0 {
		date = date[:end]
	}
	if len(date) == 8 && digits(date) == 8 {
		room = append(append(append(append(append(room, date[:4]...), '-'), date[4:6]...), '-'), date[6:]...)
	} else {
		room = append(room, date...)
	}
	room = append(room, ' ')
	if n := digits(hour); (n == 5 || n == 6) && (len(hour) == n || hour[n] == '.') {
		room = append(append(append(room, hour[:n-4]...), ':'), hour[n-4:n-2]...)
		return append(append(room, ':'), hour[n-2:]...)
	}
	return append(room, hour...)
}

// settle decides what the values are, by most of them.
func (c *clockColumn) settle() {
	for kind, n := range c.kinds {
		c.values += n
		if n > 0 && n >= c.kinds[c.kind] {
			c.kind = clockKind(kind)
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
		hasHour = hasHour || p.clocks[i].kind == timeOfDay
	}
	var whole, hour, date *clockColumn
	for i := range p.clocks {
		c := &p.clocks[i]
		switch {
		case c.values == 0 || 2*c.values < most: // filled in now and then, if at all
		case c.kind == timeOfDay:
			hour = c.better(hour, roleTime)
		case c.kind == dateAlone, c.kind > timeOfDay && hasHour && c.midnight == c.values:
			date = c.better(date, roleDate)
		case c.kind > timeOfDay:
			whole = c.better(whole, roleTime)
		}
	}
	switch {
	case hour != nil && date != nil && (whole == nil || whole.kind < p.pairKind(hour, date)):
		p.at[roleTime], p.at[roleDate] = hour.at, date.at
	case whole != nil:
		p.at[roleTime], p.at[roleDate] = whole.at, -1
	case date != nil && hour == nil:
		p.at[roleTime], p.at[roleDate] = -1, -1
		p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q holds dates without a time of day; read as a log without times", p.names[date.at])})
	}
}

// better returns the better of two columns for a role: of values that say more, of
// a name of that role, of one that is named earlier in its list.
func (c *clockColumn) better(than *clockColumn, r role) *clockColumn {
	if than == nil || cmp.Or(cmp.Compare(c.kind, than.kind), compareRole(c.role, than.role, r), cmp.Compare(than.rank, c.rank)) > 0 {
		return c
	}
	return than
}

// compareRole puts the role that is wanted above the other.
func compareRole(a, b, want role) int {
	switch {
	case a == b:
		return 0
	case a == want:
		return 1
	}
	return -1
}

// pairKind is how good a time of day and a date beside it are as a time.
func (p *plan) pairKind(hour, date *clockColumn) clockKind {
	switch {
	case p.saysUTC(hour.at):
		return zoned
	case date.kind == dateAlone || date.kind == localISO:
		return localISO
	}
	return localText
}

// saysUTC reports whether the name of a column says that its times are UTC.
func (p *plan) saysUTC(column int) bool {
	short, bracket := normal(p.names[column])
	return strings.Contains(short, "utc") || bracket == "utc" || bracket == "gmt"
}
