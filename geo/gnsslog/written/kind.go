package written

import (
	"bytes"
	"time"
)

// A Kind is what a column says of time, by its values. Of several columns of
// a log the one farthest down this list is the time of the fix.
type Kind int

const (
	NoTime Kind = iota
	DateAlone
	TimeOfDay // with a date beside it as good as what date and name say
	LocalText // in words of its own, by the clock of some zone: "4/5/2026 8:03 AM"
	LocalISO
	Zoned // with its zone, or as a number since 1970
	Kinds // how many there are
)

// KindOf tells what a value says of time, and whether that is 0 h of a day.
// 13/4/2026 and 4/13/2026 are dates alike: all dates of a file tell which come
// first in them, see dateOrder in package gnsslog.
func KindOf(text []byte) (kind Kind, midnight bool) {
	kind = NoTime
	for _, dayFirst := range []bool{true, false} {
		c := Clock{Zone: time.UTC, DayFirst: dayFirst}
		if at, hasZone, ok := c.Parse(text); ok {
			kind = LocalText
			if hasZone {
				kind = Zoned
			} else if digits(text) >= 4 { // the year comes first
				kind = LocalISO
			}
			return kind, int64(at)%int64(24*time.Hour) == 0
		}
		if _, _, ok := c.Parse(Join(nil, text, []byte("00:00"))); ok {
			kind = DateAlone
		} else if _, _, ok := c.Parse(Join(nil, []byte("2000-01-01"), text)); ok {
			kind = TimeOfDay
		}
	}
	return kind, false
}

// digits is how many digits a text begins with.
func digits(text []byte) int {
	return len(text) - len(bytes.TrimLeft(text, "0123456789"))
}

// Join appends to room a date and a time of day as one text. Of the date its
// own time of day is left out: columns of dates often have 0 h there. Both may be
// digits in a row, 20260504 and 140311, the latter without its zero in front.
func Join(room, date, hour []byte) []byte {
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
