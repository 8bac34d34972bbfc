package pace

import (
	"math"
	"time"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Forecast is when the ground left will be worked if the machines that work
// now go on as they have in this field, stops and turns included.
type Forecast struct {
	Left     plane.Area  // skip, ground not worked yet among it, and unlogged, but no yards, nor strips that are the outline's
	Now      geo.Instant // the end of the last pass of all
	Machines []int       // those that work now: indices into Map.Machines
	Capacity float64     // m²/s, their effective capacities together
	Finish   geo.Instant
	// Early and Late are the ends of an interval that holds the finish nine
	// times in ten, as far as the machines go on as they have; both zero where
	// there are too few passes to tell.
	Early, Late geo.Instant
}

// ninety is how many standard deviations on either side of the mean hold 90 % of a
// normal distribution: the 0.95 quantile of the standard one.
const ninety = 1.644854

// fewestCycles is how many passes a machine must have made for its pace to
// say how much it varies: two or three differ by chance. Judgement; TestForecast fails
// where it is doubled.
const fewestCycles = 5

// Finish tells when the ground left will be worked. The second result is
// false where no log has times, or no new ground was worked.
func Finish(m *coverage.Map) (Forecast, bool) {
	clocks := Clocks(m)
	f := Forecast{Left: m.Totals.Skip + m.Totals.Unlogged - m.Totals.Yards - m.Totals.Outlined}
	for i := range clocks {
		f.Now = max(f.Now, clocks[i].To)
	}
	var working []*Clock
	for i := range clocks {
		c := &clocks[i]
		if f.Now.Sub(c.To) <= stillWorking && c.Capacity() > 0 {
			working = append(working, c)
			f.Machines = append(f.Machines, c.Machine)
			f.Capacity += c.Capacity()
		}
	}
	if f.Capacity == 0 {
		return f, false
	}
	seconds := f.Left.SquareMetres() / f.Capacity
	f.Finish = f.Now + instants(seconds)
	if spread, ok := spreadOf(working, seconds); ok {
		off := ninety * spread / f.Capacity
		f.Early, f.Late = f.Now+instants(max(0, seconds-off)), f.Now+instants(seconds+off)
	}
	return f, true
}

// By returns the ground that will still be left at a time.
func (f *Forecast) By(t geo.Instant) plane.Area {
	done := f.Capacity * t.Sub(f.Now).Seconds() * float64(plane.SquareMetre)
	return max(0, f.Left-plane.Area(max(0, done)))
}

// instants turns seconds into nanoseconds, a century at most.
func instants(seconds float64) geo.Instant {
	return geo.Instant(min(seconds, 100*365*24*3600) * float64(time.Second))
}

// spreadOf returns the standard deviation, in m², of the ground that some
// machines will work in so many seconds.
//
// Passes with the time before them are taken to be drawn independently. A
// machine's capacity is then the ratio estimate Σ ground / Σ time, and the
// residuals e = ground - capacity × time of its n passes give the variance by
// second: s² = n/(n-1) Σ e² / Σ time. Over T seconds to come the ground varies
// by s² T of itself, and by s² T² / Σ time because the capacity is only an
// estimate (W. G. Cochran, "Sampling Techniques", chapter on ratio estimators; cited
// from memory).
func spreadOf(working []*Clock, seconds float64) (float64, bool) {
	variance := 0.0
	for _, c := range working {
		n := float64(len(c.Cycles))
		if n < fewestCycles {
			return 0, false
		}
		capacity := c.Capacity()
		squares, time := 0.0, 0.0
		for _, y := range c.Cycles {
			e := y.New - capacity*y.Seconds
			squares += e * e
			time += y.Seconds
		}
		variance += n / (n - 1) * squares / time * seconds * (1 + seconds/time)
	}
	return math.Sqrt(variance), true
}
