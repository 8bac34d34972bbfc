package agronomy

import (
	"math"

	"lapwing/geo/plane"
)

// A Interval is what a waste truly was, nine times in ten between Low and High:
// receivers err, and so do the places of laps. Middle is as likely too small
// as too large.
type Interval struct{ Low, Middle, High Amount }

// Interval turns an interval of the ground that a product was wasted on, in m²,
// into amounts of it.
func (a *Account) Interval(low, middle, high float64) Interval {
	of := func(m2 float64) Amount {
		ground := plane.Area(math.Round(m2 * float64(plane.SquareMetre)))
		if a.Waste.Total.Area == 0 {
			return a.Product.On(ground)
		}
		return a.Waste.Total.scaled(float64(ground) / float64(a.Waste.Total.Area))
	}
	return Interval{of(low), of(middle), of(high)}
}

// Plus returns two spans together. The errors on two fields have nothing to do
// with one another: what the ends stand off the middle adds by its squares.
func (s Interval) Plus(t Interval) Interval {
	out := Interval{Middle: s.Middle.Plus(t.Middle)}
	out.Low = beside(out.Middle, s.Middle, s.Low, t.Middle, t.Low, -1)
	out.High = beside(out.Middle, s.Middle, s.High, t.Middle, t.High, 1)
	return out
}

// beside returns the end of the sum of two spans with middles m and n and ends
// a and b; what is not known of the middle stays so.
func beside(middle, m, a, n, b Amount, way float64) Amount {
	end := func(middle, m, a, n, b *float64) *float64 {
		if middle == nil {
			return nil
		}
		off := math.Hypot(apart(m, a), apart(n, b))
		v := max(0, *middle+way*off)
		return &v
	}
	ground := float64(middle.Area) + way*math.Hypot(float64(a.Area-m.Area), float64(b.Area-n.Area))
	return Amount{
		Area: plane.Area(math.Round(max(0, ground))),
		Mass: end(middle.Mass, m.Mass, a.Mass, n.Mass, b.Mass), Volume: end(middle.Volume, m.Volume, a.Volume, n.Volume, b.Volume),
		N:         end(middle.N, m.N, a.N, n.N, b.N),
		Phosphate: end(middle.Phosphate, m.Phosphate, a.Phosphate, n.Phosphate, b.Phosphate),
		Potash:    end(middle.Potash, m.Potash, a.Potash, n.Potash, b.Potash),
		Cost:      end(middle.Cost, m.Cost, a.Cost, n.Cost, b.Cost),
	}
}

// apart is how far y is from x; nothing where either is not known.
func apart(x, y *float64) float64 {
	if x == nil || y == nil {
		return 0
	}
	return *y - *x
}
