package agronomy

import (
	"math"

	"lapwing/geo/plane"
)

// A Portion is ground that took a product. Its area is exact; how much of the
// product went there is counted in square metres at the product's own rate, so
// that portions add up before anything is multiplied or rounded.
type Portion struct {
	Area plane.Area
	// Beyond is how much more than Area the logs say was put down, in m² at
	// the product's rate: 100 m² at 1.5 times the rate have 50 beyond, at half
	// the rate -50. Zero where no log tells the rate.
	Beyond float64
}

func (x *Portion) add(y Portion) { x.Area, x.Beyond = x.Area+y.Area, x.Beyond+y.Beyond }

// An Amount is what a piece of ground takes of a product. A nil means "not
// known": a mass or a volume needs a density where the rate is by the other, a
// nutrient needs an analysis and the mass, a cost needs a price.
type Amount struct {
	Area         plane.Area
	Mass         *float64 // kg of product
	Volume       *float64 // m³ of product
	N, Phosphate *float64 // kg of N and of P2O5 in it
	Potash       *float64 // kg of K2O in it
	Cost         *float64 // at the product's price
}

// On returns what an area takes of p at its rate.
func (p *Product) On(area plane.Area) Amount { return p.Over(Portion{Area: area}) }

// Over returns what x takes of p. All products of a rate and a piece of ground are
// reckoned here.
func (p *Product) Over(x Portion) Amount {
	atRate := x.Area.SquareMetres() + x.Beyond
	a := Amount{Area: x.Area, Mass: times(p.MassRate, atRate), Volume: times(p.VolumeRate, atRate)}
	if p.Analysis != nil {
		a.N, a.Phosphate, a.Potash = times(a.Mass, p.Analysis.N), times(a.Mass, p.Analysis.P2O5), times(a.Mass, p.Analysis.K2O)
	}
	a.Cost = p.Price.Of(a.Mass, a.Volume)
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

// scaled returns the part of a on a share of its ground.
func (a Amount) scaled(by float64) Amount {
	return Amount{
		Area: plane.Area(math.Round(float64(a.Area) * by)),
		Mass: times(a.Mass, by), Volume: times(a.Volume, by),
		N: times(a.N, by), Phosphate: times(a.Phosphate, by), Potash: times(a.Potash, by),
		Cost: times(a.Cost, by),
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

// times returns x × by, or nil where x is not known.
func times(x *float64, by float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x * by
	return &y
}
