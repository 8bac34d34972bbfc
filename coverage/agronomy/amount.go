package agronomy

import (
	"lapwing/geo/plane"
	"math"
)

// An Amount is what a product comes to on some ground at its rate. A nil means
// that it cannot be said: a mass needs a density where the rate is by volume,
// a nutrient an analysis, a cost a price.
type Amount struct {
	Area         plane.Area
	Mass         *float64 // kg of product
	Volume       *float64 // m³ of product
	N, Phosphate *float64 // kg of N and of P2O5 in it
	Potash       *float64 // kg of K2O in it
	Cost         *float64 // at the product's price
}

// On returns what p comes to on some ground: rate × area, and price × that.
func (p *Product) On(ground plane.Area) Amount { return p.of(put{ground: ground}) }

// A put is product on some ground: at its rate, and what the logs say was put
// down beyond that, in m² at the rate.
type put struct {
	ground plane.Area
	beyond float64
}

func (a *put) add(b put) { a.ground, a.beyond = a.ground+b.ground, a.beyond+b.beyond }

// of returns what p comes to.
func (p *Product) of(x put) Amount {
	m2 := x.ground.SquareMetres() + x.beyond
	a := Amount{Area: x.ground, Mass: times(p.MassRate, m2), Volume: times(p.VolumeRate, m2)}
	if p.Analysis != nil {
		a.N, a.Phosphate, a.Potash = times(a.Mass, p.Analysis.N), times(a.Mass, p.Analysis.P2O5), times(a.Mass, p.Analysis.K2O)
	}
	switch {
	case p.Price == nil:
	case p.Price.PerCubicMetre != 0:
		a.Cost = times(a.Volume, p.Price.PerCubicMetre)
	default:
		a.Cost = times(a.Mass, p.Price.PerKilogram)
	}
	return a
}

// Plus returns two amounts together. What is not known of one is not known of
// both, unless the other is of no ground at all.
func (a Amount) Plus(b Amount) Amount {
	switch {
	case a.Area == 0:
		return b
	case b.Area == 0:
		return a
	}
	return Amount{
		Area: a.Area + b.Area,
		Mass: both(a.Mass, b.Mass), Volume: both(a.Volume, b.Volume),
		N: both(a.N, b.N), Phosphate: both(a.Phosphate, b.Phosphate), Potash: both(a.Potash, b.Potash),
		Cost: both(a.Cost, b.Cost),
	}
}

// both returns x + y, or nil where one is not known.
func both(x, y *float64) *float64 {
	if x == nil || y == nil {
		return nil
	}
	sum := *x + *y
	return &sum
}

func (a Amount) scaled(by float64) Amount {
	return Amount{
		Area: plane.Area(math.Round(float64(a.Area) * by)),
		Mass: times(a.Mass, by), Volume: times(a.Volume, by),
		N: times(a.N, by), Phosphate: times(a.Phosphate, by), Potash: times(a.Potash, by),
		Cost: times(a.Cost, by),
	}
}

// times returns x × by, or nil where x is not known.
func times(x *float64, by float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x * by
	return &y
}
