package agronomy

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// GoingBack is what it takes to go back to a skip. In the zero value the cost
// is not known.
type GoingBack struct {
	Cost     float64 // money by second, of machine, tractor and driver; 0 where the job does not say
	Currency string
	Speed    float64 // m/s at work; zero means the mean speed of the field's passes
	There    float64 // s to get to a skip, set in, and away again; zero means Drive's
	// Drive is how long each skip takes on the drive that mends them, in seconds by
	// its index into Map.Skips; one that is missing there takes usualThere, and its
	// length.
	Drive map[int]float64
}

// usualThere is the seconds to get to a skip, set in, and away again, where
// neither the job nor a drive says. Judgement: ten minutes. TestWorths fails where it is doubled.
const usualThere = 600

// A Verdict is whether a skip is worth going back for.
type Verdict string

// The verdicts.
const (
	Go      Verdict = "go"
	Leave   Verdict = "leave"
	NotSure Verdict = "not sure"
)

// A Worth weighs one skip: what the crop on it would bring, against going
// back for it. Money is in the crop's currency.
type Worth struct {
	Skip      int // index into Map.Skips
	Verdict   Verdict
	Reason    string
	Weighed   bool     // in money: both sides are known, in one currency
	Low, High *float64 // what mending brings: the crop, less the product put there; nil where not known
	Time      float64  // s
	Doubled   float64  // m² worked again on the way over it, by the whole bar
	Drive     *float64 // the time's cost
	Again     *float64 // the product's on the doubled ground
}

// mostCompensation is the largest part of a skip's yield that the plants beside
// it might make up, where the job does not say. Judgement: nothing is published
// for drilled grain, so half is the far end of what is weighed. TestWorths fails where
// it is halved or doubled.
const mostCompensation = 0.5

// rareSkip is the share of runs up to which a skip is one that the receiver's
// error may have made. Judgement: it is then as likely none as one. TestWorths fails
// where it is halved.
const rareSkip = 0.5

// Worths weighs each skip that is a mistake, in the order of Map.Skips. Sure
// holds, by the index of a skip, the share of runs in which it stayed a skip,
// from 0 to 1; a skip that no run looked into is missing there.
func (a *Reckoning) Worths(back GoingBack, sure map[int]float64) []Worth {
	costs := a.StripCosts()
	speed := back.Speed
	if speed == 0 {
		speed = a.Map.MeanSpeed()
	}
	var out []Worth
	for i := range a.Map.Skips {
		s := &a.Map.Skips[i]
		if !s.Mistake() {
			continue
		}
		w := Worth{
			Skip:    i,
			Time:    back.time(i, s.Length.Metres()/speed),
			Doubled: max(0, barOver(a.Map, s)*float64(s.Length)/float64(plane.Metre)-s.Area.SquareMetres()),
		}
		if back.Cost > 0 {
			drive := w.Time * back.Cost
			w.Drive = &drive
		}
		if costs.Doubled > 0 {
			again := w.Doubled * costs.Doubled
			w.Again = &again
		}
		w.Low, w.High = a.Crop.brings(s.Area, costs.Doubled)
		share, looked := sure[i]
		w.Verdict, w.Reason = w.verdict(back, costs, looked && share <= rareSkip)
		out = append(out, w)
	}
	return out
}

// time returns the seconds that going back to a skip takes that is worked in so many.
func (b *GoingBack) time(skip int, work float64) float64 {
	if b.There > 0 {
		return b.There + work
	}
	if drive, ok := b.Drive[skip]; ok {
		return drive
	}
	return usualThere + work
}

// Takes is what going back takes, in money: the drive and the product put down
// again. It is nil where the drive's cost is not known.
func (w *Worth) Takes() *float64 {
	if w.Drive == nil {
		return nil
	}
	return both(w.Drive, orZero(w.Again))
}

func orZero(v *float64) *float64 {
	if v == nil {
		return new(float64)
	}
	return v
}

// brings returns what mending a skip brings, at least and at most: its crop,
// less the product put there, which costs so much a square metre. Both are nil
// without a crop or its price.
func (c *Crop) brings(skip plane.Area, product float64) (low, high *float64) {
	if c == nil || c.Price == nil {
		return nil, nil
	}
	m2 := skip.SquareMetres()
	whole, spent := *c.Price.Of(&c.Yield, nil)*m2, product*m2
	most, least := 1-c.Compensation, 1-c.Compensation
	if c.Compensation == 0 {
		least = 1 - mostCompensation
	}
	atLeast, atMost := whole*least-spent, whole*most-spent
	return &atLeast, &atMost
}

// verdict compares what mending brings with what it takes. Rare says that the
// skip was there in no more than a share rareSkip of the runs.
func (w *Worth) verdict(back GoingBack, costs StripCosts, rare bool) (Verdict, string) {
	switch {
	case w.High == nil:
		return NotSure, costs.Unsaid[0]
	case w.Drive == nil:
		return NotSure, "the job does not say what going back costs by the hour"
	case back.Currency != costs.Currency:
		return NotSure, "going back is priced in " + back.Currency + ", the crop in " + costs.Currency
	}
	w.Weighed = true
	takes := *w.Takes()
	switch {
	case *w.Low > takes && rare:
		return NotSure, "the receiver's error alone may have made it: look first"
	case *w.Low > takes && *w.Low < *w.High:
		return Go, "the crop brings more than going back takes, even if its neighbours make up half"
	case *w.Low > takes:
		return Go, "the crop brings more than going back takes"
	case *w.High < takes:
		return Leave, "going back takes more than the crop brings"
	}
	return NotSure, "it pays only if the neighbours make up little of the yield"
}

// barOver is the width, in metres, of as many sections of the narrowest bar
// beside a skip as it takes to cover it, or of the bar.
func barOver(m *coverage.Map, s *cause.Skip) float64 {
	best := math.Inf(1)
	for _, k := range s.Machines {
		im := &m.Machines[k].Implement
		section := im.Width.Metres() / float64(max(1, len(im.Sections)))
		need := math.Ceil(s.Width.Metres()/section) * section
		best = min(best, min(need, im.Width.Metres()))
	}
	if math.IsInf(best, 1) {
		for k := range m.Machines {
			best = min(best, m.Machines[k].Implement.Width.Metres())
		}
	}
	return best
}
