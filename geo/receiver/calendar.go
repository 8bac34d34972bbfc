package receiver

import (
	"time"

	"lapwing/geo"
)

const (
	second  = int64(time.Second)
	day     = 86400 // seconds
	halfDay = 12 * int64(time.Hour)
	// weekTurn is after how many seconds the ten-bit week number of GPS begins
	// again (IS-GPS-200, 20.3.3.3.1.1).
	weekTurn = 1024 * 7 * day
	noDate   = -1 << 63
)

// A calendar gives times of day their date. GGA has none: it gets the one of
// the RMC or ZDA before it, and the next day when the time falls back by more
// than half a day. Before the first date it counts days from 1970.
type calendar struct {
	dated    bool // a sentence has given a date
	guessed  bool // the clock has given it
	begun    bool
	midnight int64     // seconds since 1970
	last     int64     // the time of day before, in nanoseconds
	marked   time.Time // when
}

// mark gives the instant of a time of day, in nanoseconds; date is what came
// with it, in seconds since 1970, or noDate. With the first date, shift is how
// far what was marked before has to be moved.
func (c *calendar) mark(timeOfDay, date int64, now time.Time) (at geo.Instant, shift int64) {
	if c.begun {
		switch step := timeOfDay - c.last; {
		case step < -halfDay:
			c.midnight += day
		case step > halfDay:
			c.midnight -= day
		}
	}
	// A guess does not outlive a break: nights may have passed.
	if c.guessed && !c.dated && now.Sub(c.marked) > time.Hour {
		c.midnight = nearestMidnight(timeOfDay, now)
	}
	c.begun, c.last, c.marked = true, timeOfDay, now
	shift = c.date(date, now)
	return geo.Instant(c.midnight*second + timeOfDay), shift
}

// date makes a date the current one, noDate none.
func (c *calendar) date(date int64, now time.Time) (shift int64) {
	if date == noDate {
		return 0
	}
	date = c.unturned(date, now)
	if !c.dated && !c.guessed {
		shift = (date - c.midnight) * second
	}
	c.dated, c.midnight = true, date
	return shift
}

// unturned puts a date right that is whole turns of the week number away from
// the date before it or, for the first, behind the clock. A receiver whose
// program is old tells dates 1024 weeks ago, some from one epoch to the next.
// The clock may be off by a day where it counts local time.
func (c *calendar) unturned(date int64, now time.Time) int64 {
	from, least := now.Unix(), int64(1)
	if c.dated {
		from, least = c.midnight, -1
	}
	turns := (from - date + weekTurn/2) / weekTurn
	if from-date < -weekTurn/2 {
		turns = -((date - from + weekTurn/2) / weekTurn)
	}
	if off := from - date - turns*weekTurn; turns != 0 && turns >= least && off >= -day && off < 2*day {
		return date + turns*weekTurn
	}
	return date
}

// guess takes the date from a clock; shift is how far what was marked before
// has to be moved.
func (c *calendar) guess(now time.Time) (shift int64) {
	midnight := nearestMidnight(c.last, now)
	shift = (midnight - c.midnight) * second
	c.guessed, c.midnight = true, midnight
	return shift
}

// nearestMidnight is the midnight after which a time of day is nearest to now.
func nearestMidnight(timeOfDay int64, now time.Time) int64 {
	days := now.Add(12*time.Hour-time.Duration(timeOfDay)).Unix() / day // since 1970; clocks are past it
	return days * day
}
