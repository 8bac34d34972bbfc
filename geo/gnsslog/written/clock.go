// Package written is what a text file means by a number or a time that is written in it, in
// the many ways that logs have. Both are read as often as a log has lines, so that neither
// takes memory.
package written

import (
	"bytes"
	"time"

	"lapwing/geo"
)

const second = int64(time.Second)

// A Clock reads the times of one log. It remembers the date before, as logs
// repeat it, and what the zone's offset is on that date.
type Clock struct {
	Zone     *time.Location // for times without one
	DayFirst bool           // 4/5/2026 is 4 May

	date   [10]byte // the ISO date before, as it was written
	start  int64    // its midnight, seconds since 1970 as if in UTC
	steady bool     // the zone's offset is the same all that day
	offset int64    // seconds east of UTC, if steady
}

// Parse reads a date with a time of day, or a number of seconds since 1970
// (milliseconds, microseconds or nanoseconds where it is that large). zoned
// tells whether text had a zone.
func (c *Clock) Parse(text []byte) (at geo.Instant, zoned, ok bool) {
	if len(text) < 16 || text[4] != text[7] || text[4] != '-' && text[4] != '/' ||
		text[10] != 'T' && text[10] != ' ' {
		return c.parseOther(text)
	}
	if string(text[:10]) != string(c.date[:]) {
		year, a := wholeNumber(text[:4])
		month, b := wholeNumber(text[5:7])
		dom, d := wholeNumber(text[8:10])
		if !a || !b || !d || !c.setDay(year, month, dom) {
			c.date = [10]byte{}
			return 0, false, false
		}
		copy(c.date[:], text)
	}
	return c.timeOfDay(text[11:])
}

// setDay makes a date the current one; false if there is no such date, or
// its nanoseconds do not fit an Instant.
func (c *Clock) setDay(year, month, dom int) bool {
	if year < 1678 || year > 2261 || month < 1 || month > 12 || dom < 1 {
		return false
	}
	t := time.Date(year, time.Month(month), dom, 0, 0, 0, 0, time.UTC)
	if t.Day() != dom {
		return false
	}
	c.date = [10]byte{} // the caller sets it where the text is an ISO date
	c.start = t.Unix()
	_, morning := time.Date(year, time.Month(month), dom, 0, 0, 0, 0, c.Zone).Zone()
	_, evening := time.Date(year, time.Month(month), dom+1, 0, 0, 0, 0, c.Zone).Zone()
	c.steady, c.offset = morning == evening, int64(morning)
	return true
}

// timeOfDay reads hh:mm[:ss[.fff]] [AM|PM] [zone] on the current date.
func (c *Clock) timeOfDay(text []byte) (at geo.Instant, zoned, ok bool) {
	hour, text, ok1 := upToTwoDigits(text)
	if !ok1 || len(text) < 3 || text[0] != ':' {
		return 0, false, false
	}
	minute, ok2 := wholeNumber(text[1:3])
	text = text[3:]
	sec := 0
	if len(text) >= 3 && text[0] == ':' {
		if sec, ok1 = wholeNumber(text[1:3]); !ok1 {
			return 0, false, false
		}
		text = text[3:]
	}
	nanos, text, ok3 := fraction(text)
	if !ok2 || !ok3 || minute > 59 || sec > 59 {
		return 0, false, false
	}
	if len(text) >= 2 {
		if hour, text, ok = halfDay(hour, text); !ok {
			return 0, false, false
		}
	}
	if hour > 23 {
		return 0, false, false
	}
	seconds := c.start + int64(hour*3600+minute*60+sec)
	if len(text) == 0 {
		return geo.Instant(c.inZone(seconds)*second + nanos), false, true
	}
	east, ok := zoneOffset(text)
	return geo.Instant((seconds-east)*second + nanos), true, ok
}

// inZone turns a time by the wall clock of the zone, in seconds as if it were
// UTC, into seconds since 1970. In the hour that comes twice when summer time
// ends it is what time.Date makes of it.
func (c *Clock) inZone(seconds int64) int64 {
	if c.steady {
		return seconds - c.offset
	}
	t := time.Unix(seconds, 0).UTC()
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, c.Zone).Unix()
}

// fraction reads .fff or ,fff as nanoseconds; digits past the ninth are dropped.
func fraction(text []byte) (nanos int64, rest []byte, ok bool) {
	if len(text) == 0 || text[0] != '.' && text[0] != ',' {
		return 0, text, true
	}
	scale := second
	at := 1
	for ; at < len(text) && text[at]-'0' <= 9; at++ {
		scale /= 10
		nanos += int64(text[at]-'0') * scale
	}
	return nanos, text[at:], at > 1
}

// halfDay takes AM or PM off text and gives the hour by the 24-hour clock.
func halfDay(hour int, text []byte) (int, []byte, bool) {
	rest := bytes.TrimLeft(text, " ")
	if len(rest) < 2 || rest[1] != 'M' && rest[1] != 'm' {
		return hour, text, true
	}
	afternoon := rest[0] == 'P' || rest[0] == 'p'
	if !afternoon && rest[0] != 'A' && rest[0] != 'a' { // perhaps a zone: GMT
		return hour, text, true
	}
	if hour < 1 || hour > 12 {
		return 0, nil, false
	}
	hour %= 12
	if afternoon {
		hour += 12
	}
	return hour, rest[2:], true
}

// zoneOffset reads Z, UTC, GMT, +hh, +hhmm or +hh:mm as seconds east of UTC.
func zoneOffset(text []byte) (int64, bool) {
	text = bytes.TrimLeft(text, " ")
	switch string(text) {
	case "Z", "z", "UTC", "GMT":
		return 0, true
	}
	if len(text) < 3 || text[0] != '+' && text[0] != '-' {
		return 0, false
	}
	hours, ok := wholeNumber(text[1:3])
	minutes, okMinutes := 0, true
	if rest := text[3:]; len(rest) > 0 {
		if rest[0] == ':' {
			rest = rest[1:]
		}
		minutes, okMinutes = wholeNumber(rest)
		okMinutes = okMinutes && len(rest) == 2
	}
	if !ok || !okMinutes || hours > 23 || minutes > 59 {
		return 0, false
	}
	east := int64(hours*3600 + minutes*60)
	if text[0] == '-' {
		east = -east
	}
	return east, true
}

// wholeNumber reads one to nine digits and nothing else.
func wholeNumber(text []byte) (int, bool) {
	n := 0
	for _, c := range text {
		if c-'0' > 9 {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, len(text) > 0 && len(text) < 10
}

func upToTwoDigits(text []byte) (n int, rest []byte, ok bool) {
	at := 0
	for at < len(text) && at < 2 && text[at]-'0' <= 9 {
		at++
	}
	n, ok = wholeNumber(text[:at])
	return n, text[at:], ok
}
