package rain

import (
	"time"

	"lapwing/geo"
)

// A Day is from when to when a crew works on one day, as times after its midnight: past
// 24 hours where work goes on into the night. The zero Day has no end: work goes on.
type Day struct{ From, To time.Duration }

// Hours are a crew's working hours from a time on.
type Hours struct {
	Now  geo.Instant
	Zone *time.Location
	Day  Day
}

// mostDays is how many days ahead work is followed: no forecast reaches so far.
const mostDays = 60

// spans calls do with the spans of work in order until it says false.
func (h Hours) spans(do func(from, to geo.Instant) bool) {
	if h.Day == (Day{}) {
		do(h.Now, h.Now+geo.Instant(mostDays*24*time.Hour))
		return
	}
	local := h.Now.Time().In(h.Zone)
	for day := -1; day < mostDays; day++ { // yesterday may end after midnight
		at := func(of time.Duration) geo.Instant { // as clocks show it, summer time or not
			return geo.InstantOf(time.Date(local.Year(), local.Month(), local.Day()+day, 0, int(of/time.Minute), 0, 0, h.Zone))
		}
		from, to := max(h.Now, at(h.Day.From)), at(h.Day.To)
		if from < to && !do(from, to) {
			return
		}
	}
}

// Until is how long work goes on up to a time.
func (h Hours) Until(t geo.Instant) (sum time.Duration) {
	h.spans(func(from, to geo.Instant) bool {
		sum += max(0, min(to, t).Sub(from))
		return to < t
	})
	return sum
}

// After is when so much work is done; mostDays ahead at the most.
func (h Hours) After(worked time.Duration) geo.Instant {
	end := h.Now
	h.spans(func(from, to geo.Instant) bool {
		if worked <= 0 && end > h.Now {
			return false
		}
		end = min(to, from+geo.Instant(worked))
		worked -= end.Sub(from)
		return worked > 0
	})
	return end
}

// Begun is when work begins after so much is done: at the end of one day that is the
// morning of the next.
func (h Hours) Begun(worked time.Duration) geo.Instant {
	start := h.Now
	h.spans(func(from, to geo.Instant) bool {
		start = from + geo.Instant(worked)
		worked -= to.Sub(from)
		return worked >= 0
	})
	return start
}
