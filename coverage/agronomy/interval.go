package agronomy

import (
	"math"

	"lapwing/geo/plane"
)

// An Interval holds the true waste of a product in nine cases of ten: it lies
// between Low and High, since receivers err and with them the places of laps.
// Middle is the median.
type Interval struct{ Low, Middle, High Amount }

// Interval turns an interval of the wasted area, in m², into amounts of the
// product: at the mean rate of what was measured as wasted, or at the product's
// rate where nothing was.
func (a *Account) Interval(low, middle, high float64) Interval {
	of := func(m2 float64) Amount {
		area := plane.Area(math.Round(m2 * float64(plane.SquareMetre)))
		if a.Wasted.Area == 0 {
			return a.Product.On(area)
		}
		return a.Wasted.scaled(float64(area) / float64(a.Wasted.Area))
	}
	return Interval{of(low), of(middle), of(high)}
}

// shared is how much of what an interval is off by is the same on all fields, as a
// share of its half width: the receivers are of one kind on all of them, and how far
// they err, and how that changes, is guessed once for all. Judgement; package whatif tries
// it on made-up fields (TestIntervalsHoldElsewhereLong).
const shared = 0.5

// farTogether is how far the end of a sum lies from its middle where the ends of its
// parts lie so far: what the parts do not share adds as variances do, by its square,
// and what they share as it is.
func farTogether(off []float64) float64 {
	squares, sum := 0.0, 0.0
	for _, d := range off {
		squares += d * d
		sum += d
	}
	return math.Sqrt((1-shared*shared)*squares + shared*shared*sum*sum)
}

// SumOf returns the interval of several fields together; see shared.
func SumOf(fields []Interval) Interval {
	var out Interval
	for i := range fields {
		out.Middle = out.Middle.Plus(fields[i].Middle)
	}
	out.Low = endOfSum(out.Middle, fields, func(s *Interval) *Amount { return &s.Low }, -1)
	out.High = endOfSum(out.Middle, fields, func(s *Interval) *Amount { return &s.High }, 1)
	return out
}

// endOfSum returns the lower (way -1) or upper (way 1) end of the sum of intervals
// whose middles sum to middle. A figure that the middle lacks is nil in the end too;
// no end is below zero.
func endOfSum(middle Amount, fields []Interval, end func(*Interval) *Amount, way float64) Amount {
	off := make([]float64, len(fields))
	of := func(sum *float64, figure func(*Amount) *float64) *float64 {
		if sum == nil {
			return nil
		}
		for i := range fields {
			off[i] = apart(figure(&fields[i].Middle), figure(end(&fields[i])))
		}
		v := max(0, *sum+way*farTogether(off))
		return &v
	}
	area := float64(middle.Area)
	ground := of(&area, func(a *Amount) *float64 {
		v := float64(a.Area)
		return &v
	})
	return Amount{
		Area:      plane.Area(math.Round(*ground)),
		Mass:      of(middle.Mass, func(a *Amount) *float64 { return a.Mass }),
		Volume:    of(middle.Volume, func(a *Amount) *float64 { return a.Volume }),
		N:         of(middle.N, func(a *Amount) *float64 { return a.N }),
		Phosphate: of(middle.Phosphate, func(a *Amount) *float64 { return a.Phosphate }),
		Potash:    of(middle.Potash, func(a *Amount) *float64 { return a.Potash }),
		Cost:      of(middle.Cost, func(a *Amount) *float64 { return a.Cost }),
	}
}

// apart is how far y is from x; 0 where one is not known.
func apart(x, y *float64) float64 {
	if x == nil || y == nil {
		return 0
	}
	return math.Abs(*y - *x)
}
