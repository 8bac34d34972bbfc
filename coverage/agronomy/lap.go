package agronomy

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/geo/plane"
)

// StripCosts are what a square metre costs that was skipped, and one that was
// worked twice.
type StripCosts struct {
	Skipped  float64 // the crop that does not grow, less the product not spent
	Doubled  float64 // the product spent again
	Currency string
	Unsaid   []string // what the costs leave out, and why; both are 0 where neither is known
}

// StripCosts reckons both costs from the prices of the job:
//
//	skipped = yield × price × (1 - compensation) - Σ rate × price
//	doubled = Σ rate × price
//
// over the products that have a cost in the crop's currency. That doubled
// seed and nitrogen also harm or help the crop is left out: trials find next
// to no further yield (Kansas Ag. Exp. Station Research Reports 9(4):20; 7(5):24).
func (a *Reckoning) StripCosts() StripCosts {
	crop := a.Crop
	var c StripCosts
	switch {
	case crop == nil:
		c.Unsaid = append(c.Unsaid, "the job has no crop, so what a skip loses is not known")
		return c
	case crop.Price == nil:
		c.Unsaid = append(c.Unsaid, "the crop has no price, so what a skip loses is not known")
		return c
	}
	c.Currency = crop.Price.Currency
	for i := range a.Accounts {
		p := &a.Accounts[i].Product
		cost := p.On(plane.SquareMetre).Cost
		switch {
		case cost == nil:
			c.Unsaid = append(c.Unsaid, fmt.Sprintf("%s has no cost and is left out", p.Name))
		case p.Price.Currency != c.Currency:
			c.Unsaid = append(c.Unsaid, fmt.Sprintf("%s is priced in %s, the crop in %s; it is left out", p.Name, p.Price.Currency, c.Currency))
		default:
			c.Doubled += *cost
		}
	}
	c.Skipped = *crop.Price.Of(&crop.Yield, nil)*(1-crop.Compensation) - c.Doubled
	switch {
	case c.Doubled == 0:
		c.Unsaid = append(c.Unsaid, "no product has a cost, so a doubled strip costs nothing that is known")
	case c.Skipped <= 0:
		c.Unsaid = append(c.Unsaid, "the crop is worth less than the product put on it, so a skip loses nothing")
	}
	return c
}

// Known reports whether both costs are above zero, so that they can be weighed
// against each other.
func (c StripCosts) Known() bool { return c.Skipped > 0 && c.Doubled > 0 }

// A LapStudy is how the laps between neighbouring passes are scattered, and
// which lap costs least.
//
// Each metre along two neighbours costs what it skips or doubles. If all laps
// were larger by the same, there would be less skipped and more doubled. The
// sum is least where the share of laps that leave a skip is
//
//	doubled / (skipped + doubled)
//
// whatever the distribution of the laps: the critical fractile of the
// newsvendor problem (S. Nahmias, "Production and Operations Analysis"; TestBestLap
// checks it). Only the ratio of the costs moves it.
type LapStudy struct {
	Headland bool    // between headland passes; else between interior ones
	Length   float64 // m of neighbouring passes
	Mean     float64 // m, the lap today; negative for a gap
	Spread   float64 // m, the laps' standard deviation, see [beside.Spread]
	Skipped  float64 // m², left between neighbours
	Doubled  float64 // m², lapped
	Best     float64 // m, the mean lap that costs least
	Cost     float64 // of Skipped and Doubled
	BestCost float64 // of the same at the best lap
	Curve    []LapCost
}

// A LapCost is what the field would have cost with another mean lap.
type LapCost struct {
	Lap              float64 // m
	Skipped, Doubled float64 // money
}

// Laps studies the laps of m, interior first. A kind of which there is too
// little to tell, less than leastLaps, is left out; without costs, none is studied.
func Laps(m *coverage.Map, c StripCosts) []LapStudy {
	if !c.Known() {
		return nil
	}
	var laps [2][]beside.Weighted
	for i, besides := range m.AllNeighbours() {
		for k := range besides {
			b := &besides[k]
			for _, l := range [2]*beside.Lap{&b.Left, &b.Right} {
				if l.Pass == 0 || l.Pass > i+1 || l.Pass == i+1 && l.Along > b.Along {
					continue // there is no neighbour, or the later of the two lists the lap
				}
				kind := 0
				switch mine, theirs := m.Passes[i].Headland, m.Passes[l.Pass-1].Headland; {
				case mine != theirs:
					continue // the lap on a headland is what the field's width leaves over, and no choice
				case mine:
					kind = 1
				}
				laps[kind] = append(laps[kind], beside.Weighted{Value: l.By.Metres(), Length: b.Length.Metres()})
			}
		}
	}
	var out []LapStudy
	for kind, ls := range laps {
		if s := studyLaps(ls, c); s.Length >= leastLaps {
			s.Headland = kind == 1
			out = append(out, s)
		}
	}
	return out
}

// leastLaps is how long neighbours must have run side by side, in metres, for
// their laps to be studied. Judgement: less is one pass or two, whose mean lap
// is chance. TestLaps fails where it is doubled.
const leastLaps = 200

// lapSteps is how many points a curve has on either side of its middle.
// Judgement: a chart's line looks smooth with them, and no other figure hangs on them.
const lapSteps = 40

// leastReach is the spread, in metres, for which a curve is drawn at least, so
// that laps without scatter have one. Judgement: halved or doubled, it changes no test,
// for laps of real machines scatter by more.
const leastReach = 0.05

func studyLaps(laps []beside.Weighted, c StripCosts) LapStudy {
	var s LapStudy
	for _, l := range laps {
		s.Length += l.Length
		s.Mean += l.Value * l.Length
	}
	if s.Length == 0 {
		return s
	}
	s.Mean /= s.Length
	slices.SortFunc(laps, func(a, b beside.Weighted) int { return cmp.Compare(a.Value, b.Value) })
	s.Spread = beside.Spread(laps, s.Length)
	// The best mean moves the quantile of the laps at the critical fractile to
	// zero: then just that share of them leaves a skip.
	s.Best = s.Mean - beside.Quantile(laps, s.Length, c.Doubled/(c.Skipped+c.Doubled))
	at := func(lap float64) (skipped, doubled float64) {
		for _, l := range laps {
			if by := l.Value + lap - s.Mean; by < 0 {
				skipped -= by * l.Length
			} else {
				doubled += by * l.Length
			}
		}
		return skipped, doubled
	}
	s.Skipped, s.Doubled = at(s.Mean)
	s.Cost = s.Skipped*c.Skipped + s.Doubled*c.Doubled
	skipped, doubled := at(s.Best)
	s.BestCost = skipped*c.Skipped + doubled*c.Doubled
	middle := (s.Mean + s.Best) / 2
	reach := math.Abs(s.Mean-s.Best)/2 + 2*max(s.Spread, leastReach)
	for k := -lapSteps; k <= lapSteps; k++ {
		lap := middle + reach*float64(k)/lapSteps
		skipped, doubled := at(lap)
		s.Curve = append(s.Curve, LapCost{lap, skipped * c.Skipped, doubled * c.Doubled})
	}
	return s
}
