package gnsslog

import (
	"time"

	"lapwing/geo"
)

// A calendar gives times of day their date. GGA has none: it gets the one of
// the RMC before it, or after it at the beginning of a log, and the next day
// when the time falls back by more than half a day.
type calendar struct {
	dated    bool
	begun    bool
	midnight int64 // seconds since 1970; before the first date, from 0 on
	last     int64 // the time of day before, in nanoseconds
}

const halfDayNanos = int64(12 * time.Hour)

// mark gives the instant of a time of day. date is the date that came with
// it, or noDate. With the first date the fixes already in log are moved to
// theirs.
func (c *calendar) mark(timeOfDay, date int64, log *Log) geo.Instant {
	if c.begun {
		switch step := timeOfDay - c.last; {
		case step < -halfDayNanos:
			c.midnight += day
		case step > halfDayNanos:
			c.midnight -= day
		}
	}
	c.begun, c.last = true, timeOfDay
	if date != noDate {
		if !c.dated {
			shift := geo.Instant((date - c.midnight) * second)
			for i := range log.Fixes {
				log.Fixes[i].Time += shift
			}
		}
		c.dated, c.midnight = true, date
	}
	return geo.Instant(c.midnight*second + timeOfDay)
}

// dateNotes says where dates are missing.
func (r *nmeaReader) dateNotes() []geo.Note {
	if r.days.dated || len(r.log.Fixes) == 0 {
		return nil
	}
	return []geo.Note{{Line: int(r.log.Lines[0]), Count: 1, Text: "no sentence gives a date; times count from 1970-01-01"}}
}
