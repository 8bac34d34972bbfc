package agronomy

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// GoingBack is what it takes to go back to a skip. The zero value knows no
// cost.
type GoingBack struct {
	Cost     float64 // money by second, of machine, tractor and driver; 0 where nobody said
	Currency string
	Speed    float64 // m/s at work; zero means the mean speed of the field's passes
	There    float64 // s to get to a skip, set in, and away again; zero means usualThere
}

// usualThere is ten minutes: judgement, no source.
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
	Low, High *float64 // what mending brings: the crop, less the product put there; nil where not known
	Time      float64  // s
	Doubled   float64  // m² worked again on the way over it, by the whole bar
	Drive     *float64 // the time's cost
	Again     *float64 // the product's on the doubled ground
}

// neighbours is the largest part of a skip's yield that its neighbours might
// make up, where the job does not say: nothing is published for drilled grain,
// so half is the far end of what is weighed.
const neighbours = 0.5

// farSure is the share of runs below which a skip may be none at all.
const farSure = 0.5

// Worths weighs each skip that is a mistake, in the order of Map.Skips. Sure
// says of some, by their index, in how many runs they stay skips, from 0 to 1.
func (a *Assessment) Worths(crop *Crop, back GoingBack, sure map[int]float64) []Worth {
	costs := a.StripCosts(crop)
	speed := back.Speed
	if speed == 0 {
		speed = meanSpeed(a.Map)
	}
	there := back.There
	if there == 0 {
		there = usualThere
	}
	var out []Worth
	for i := range a.Map.Skips {
		s := &a.Map.Skips[i]
		if s.Cause == cause.Unworked {
			continue
		}
		w := Worth{Skip: i}
		width := barOver(a.Map, s)
		w.Time = there + s.Length/float64(plane.Metre)/speed
		w.Doubled = max(0, width*s.Length/float64(plane.Metre)-s.Area.SquareMetres())
		if back.Cost > 0 {
			drive := w.Time * back.Cost
			w.Drive = &drive
		}
		if costs.Doubled > 0 {
			again := w.Doubled * costs.Doubled
			w.Again = &again
		}
		if crop != nil && crop.Price != nil {
			whole := crop.Yield * crop.Price.PerKilogram * s.Area.SquareMetres()
			spent := costs.Doubled * s.Area.SquareMetres()
			most, least := 1-crop.Compensation, 1-crop.Compensation
			if crop.Compensation == 0 {
				least = 1 - neighbours
			}
			low, high := whole*least-spent, whole*most-spent
			w.Low, w.High = &low, &high
		}
		w.judge(back, costs)
		if share, looked := sure[i]; looked && share <= farSure && w.Verdict == Go {
			w.Verdict, w.Reason = NotSure, "the receiver's error alone may have made it: look first"
		}
		out = append(out, w)
	}
	return out
}

// judge compares what mending brings with what it takes.
func (w *Worth) judge(back GoingBack, costs StripCosts) {
	switch {
	case w.High == nil:
		w.Verdict, w.Reason = NotSure, costs.Unsaid[0]
		return
	case w.Drive == nil:
		w.Verdict, w.Reason = NotSure, "the job does not say what going back costs by the hour"
		return
	case back.Currency != costs.Currency:
		w.Verdict, w.Reason = NotSure, "going back is priced in "+back.Currency+", the crop in "+costs.Currency
		return
	}
	takes := *w.Drive
	if w.Again != nil {
		takes += *w.Again
	}
	switch {
	case *w.Low > takes:
		w.Verdict, w.Reason = Go, "the crop brings more than going back takes"
		if *w.Low < *w.High {
			w.Reason += ", even if its neighbours make up half"
		}
	case *w.High < takes:
		w.Verdict, w.Reason = Leave, "going back takes more than the crop brings"
	default:
		w.Verdict, w.Reason = NotSure, "it pays only if the neighbours make up little of the yield"
	}
}

// barOver is the width, in metres, of as many sections of the narrowest bar
// beside a skip as it takes to cover it, or of the bar.
func barOver(m *coverage.Map, s *cause.Skip) float64 {
	best := math.Inf(1)
	for _, k := range s.Machines {
		im := &m.Machines[k].Implement
		section := im.Width.Metres() / float64(max(1, len(im.Sections)))
		need := math.Ceil(s.Width/float64(plane.Metre)/section) * section
		best = min(best, min(need, im.Width.Metres()))
	}
	if math.IsInf(best, 1) {
		for k := range m.Machines {
			best = min(best, m.Machines[k].Implement.Width.Metres())
		}
	}
	return best
}

// meanSpeed is the mean speed of all passes at work; an air drill's where no
// log has times.
func meanSpeed(m *coverage.Map) float64 {
	var way, time float64
	for i := range m.Passes {
		p := &m.Passes[i]
		if t := p.End.Sub(p.Start).Seconds(); t > 0 {
			way, time = way+p.Length/float64(plane.Metre), time+t
		}
	}
	if way == 0 || time == 0 {
		return 2.5
	}
	return way / time
}
