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

// Plus returns the interval of two fields together. Their errors are
// independent, so that the distances of an end from the middle add as variances
// do, by their squares.
func (s Interval) Plus(t Interval) Interval {
	middle := s.Middle.Plus(t.Middle)
	return Interval{
		Low:    endOfSum(middle, s.Middle, s.Low, t.Middle, t.Low, -1),
		Middle: middle,
		High:   endOfSum(middle, s.Middle, s.High, t.Middle, t.High, 1),
	}
}

// endOfSum returns the lower (way -1) or upper (way 1) end of the sum of two
// intervals with middles m and n and ends a and b. A figure that the middle lacks is
// nil in the end too; no end is below zero.
func endOfSum(middle, m, a, n, b Amount, way float64) Amount {
	end := func(middle, m, a, n, b *float64) *float64 {
		if middle == nil {
			return nil
		}
		off := math.Hypot(apart(m, a), apart(n, b))
		v := max(0, *middle+way*off)
		return &v
	}
	area := float64(middle.Area) + way*math.Hypot(float64(a.Area-m.Area), float64(b.Area-n.Area))
	return Amount{
		Area: plane.Area(math.Round(max(0, area))),
		Mass: end(middle.Mass, m.Mass, a.Mass, n.Mass, b.Mass), Volume: end(middle.Volume, m.Volume, a.Volume, n.Volume, b.Volume),
		N:         end(middle.N, m.N, a.N, n.N, b.N),
		Phosphate: end(middle.Phosphate, m.Phosphate, a.Phosphate, n.Phosphate, b.Phosphate),
		Potash:    end(middle.Potash, m.Potash, a.Potash, n.Potash, b.Potash),
		Cost:      end(middle.Cost, m.Cost, a.Cost, n.Cost, b.Cost),
	}
}

// apart returns y - x, or 0 where one is not known.
func apart(x, y *float64) float64 {
	if x == nil || y == nil {
		return 0
	}
	return *y - *x
}
