package written

import (
	"bytes"
	"math"
	"time"

	"lapwing/geo"
)

// parseOther reads the less usual ways to write a time.
func (c *Clock) parseOther(text []byte) (at geo.Instant, zoned, ok bool) {
	c.date = [10]byte{}
	if year, month, dom, rest, ok := c.splitDate(text); ok {
		if !c.setDay(year, month, dom) {
			return 0, false, false
		}
		return c.timeOfDay(rest)
	}
	if at, ok := epoch(text); ok {
		return at, true, true
	}
	if at, zoned, ok := c.compact(text); ok {
		return at, zoned, true
	}
	for _, layout := range []string{"2-Jan-2006 15:04:05", "2 Jan 2006 15:04:05", "Jan 2, 2006 3:04:05 PM"} {
		if t, err := time.ParseInLocation(layout, string(text), c.Zone); err == nil && t.Year() >= 1678 && t.Year() < 2262 {
			return geo.InstantOf(t), false, true
		}
	}
	return 0, false, false
}

// splitDate reads a date of three numbers, with the year first or last, and
// gives what follows the blank (or T) after it. With dots the day comes
// first, as wherever dates are written so; else dayFirst decides.
func (c *Clock) splitDate(text []byte) (year, month, dom int, rest []byte, ok bool) {
	a, b, d, mark, rest, ok := DateNumbers(text)
	switch {
	case !ok:
	case a > 999:
		year, month, dom = a, b, d
	case d > 999 && (mark == '.' || c.DayFirst):
		year, month, dom = d, b, a
	case d > 999:
		year, month, dom = d, a, b
	default:
		ok = false
	}
	return year, month, dom, rest, ok
}

// DateNumbers reads a date such as 4/5/2026 as the numbers in it, the mark
// between them, and what follows.
func DateNumbers(text []byte) (a, b, d int, mark byte, rest []byte, ok bool) {
	at := 0
	number := func() (n int, fine bool) {
		from := at
		for at < len(text) && at < from+4 && text[at]-'0' <= 9 {
			n = n*10 + int(text[at]-'0')
			at++
		}
		return n, at > from
	}
	step := func() byte {
		if at >= len(text) {
			return 0
		}
		at++
		return text[at-1]
	}
	a, okA := number()
	mark = step()
	b, okB := number()
	again := step()
	d, okD := number()
	after := step()
	if !okA || !okB || !okD || mark != again || mark != '/' && mark != '-' && mark != '.' {
		return 0, 0, 0, 0, nil, false
	}
	if after == ',' {
		after = step()
	}
	if after != ' ' && after != 'T' {
		return 0, 0, 0, 0, nil, false
	}
	return a, b, d, mark, bytes.TrimLeft(text[at:], " "), true
}

// epoch reads a number of seconds since 1970, or of thousandths and so on
// where it is too large for seconds. The limits keep to the years 1973 to
// 2286, and well apart.
func epoch(text []byte) (geo.Instant, bool) {
	whole, after, hasPoint := bytes.Cut(text, []byte("."))
	var n int64
	for _, c := range whole {
		if c-'0' > 9 || n > math.MaxInt64/10-9 {
			return scientificEpoch(text)
		}
		n = n*10 + int64(c-'0')
	}
	var unit int64
	switch {
	case n >= 1e8 && n < 1e10:
		unit = second
	case n >= 1e11 && n < 1e13:
		unit = second / 1e3
	case n >= 1e14 && n < 1e16:
		unit = second / 1e6
	case n >= 1e17:
		unit = 1
	default:
		return scientificEpoch(text)
	}
	if n > math.MaxInt64/unit-1 {
		return 0, false
	}
	at := n * unit
	if hasPoint {
		for _, c := range after {
			if c-'0' > 9 {
				return scientificEpoch(text)
			}
			unit /= 10
			at += int64(c-'0') * unit
		}
	}
	return geo.Instant(at), true
}

// scientificEpoch reads seconds such as 1.7e9, which spreadsheets write.
func scientificEpoch(text []byte) (geo.Instant, bool) {
	value, ok := Number(text, false)
	if !ok || value < 1e8 || value >= 9e9 {
		return 0, false
	}
	return geo.Instant(value * float64(second)), true
}

// compact reads the basic format of ISO 8601: 20260504T140311Z, with or
// without the T.
func (c *Clock) compact(text []byte) (at geo.Instant, zoned, ok bool) {
	if len(text) < 14 {
		return 0, false, false
	}
	date, of := wholeNumber(text[:8])
	text = bytes.TrimLeft(text[8:], "T ")
	if !of || len(text) < 6 || !c.setDay(date/10000, date/100%100, date%100) {
		return 0, false, false
	}
	if _, ok := wholeNumber(text[:6]); !ok {
		return 0, false, false
	}
	spread := append([]byte{text[0], text[1], ':', text[2], text[3], ':', text[4], text[5]}, text[6:]...)
	return c.timeOfDay(spread)
}
