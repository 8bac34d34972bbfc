package assess

import (
	"errors"
	"slices"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/mend"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// ErrFar says that a place to start from is more than 50 km from the field.
var ErrFar = errors.New("the start is more than 50 km from the field")

// A MendQuestion asks for the drive that mends the listed skips.
type MendQuestion struct {
	Machine int          // who mends, an index into Map.Machines; -1 for the one that worked last
	Radius  plane.Length // how tight it turns; 0 for the usual, see [mend.Options]
	Start   *geo.LonLat  // where it stands; nil for where its log ends
	All     bool         // small skips too, and those that are not worth it
	Only    []int        // of these skips, indices into Map.Skips; nil for all
	// GoingBack is what going back costs, to weigh each skip against the crop; without
	// a cost, or a crop with a price, none is weighed in money.
	GoingBack agronomy.GoingBack
}

// A Mending is whether to go back, and the drive that does it.
type Mending struct {
	Plan *mend.Plan
	// Worths weigh every skip that is a mistake. Weighed says that they were weighed
	// in money; else a skip is worth it from [mend.LeastArea] and [mend.LeastWidth].
	Worths  []agronomy.Worth
	Weighed bool
	All     bool // small ones too, whether worth it or not
	// NotWorth are indices into Map.Skips of those left because going back
	// takes more than their crop brings.
	NotWorth []int
	// Given says that the place to start from was named; else it is
	// where the machine's log ends.
	Given bool
}

// Skips are the skips that are gone back for, indices into Map.Skips, the largest
// first.
func (m *Mending) Skips() []int {
	out := slices.Concat(m.Plan.Places...)
	slices.Sort(out)
	return out
}

// A Balance is what going back brings and takes, in the crop's currency.
type Balance struct {
	Low, High float64 // the crop on the ground, less the product put there
	Takes     float64 // the drive, and the product put down again
}

// Balance adds up what going back brings and takes; nil where it was not weighed.
func (m *Mending) Balance() *Balance {
	if !m.Weighed {
		return nil
	}
	b := &Balance{}
	skips := m.Skips()
	for i := range m.Worths {
		if w := &m.Worths[i]; slices.Contains(skips, w.Skip) {
			b.Low, b.High, b.Takes = b.Low+*w.Low, b.High+*w.High, b.Takes+*w.Takes()
		}
	}
	return b
}

// PlanDrive plans the drive that a question asks for. Which skips are worth it is
// decided for the whole field at once, see [Assessment.weigh], so that a question about some
// of them, and one that asks what if, get the same answer.
func (a *Assessment) PlanDrive(q MendQuestion) (*Mending, error) {
	opt, err := a.drive(q)
	if err != nil {
		return nil, err
	}
	out := &Mending{Given: q.Start != nil, All: q.All}
	var whole *mend.Plan
	out.Worths, whole = a.weigh(opt, q.GoingBack, nil)
	verdicts := map[int]agronomy.Verdict{}
	for i := range out.Worths {
		w := &out.Worths[i]
		out.Weighed = out.Weighed || w.Weighed
		verdicts[w.Skip] = w.Verdict
	}
	for _, i := range a.Mistakes() {
		switch {
		case q.Only != nil && !slices.Contains(q.Only, i):
			continue
		case verdicts[i] == agronomy.Leave && !q.All:
			out.NotWorth = append(out.NotWorth, i)
			continue
		case verdicts[i] == agronomy.Go:
			opt.Must = append(opt.Must, i)
		}
		opt.Skips = append(opt.Skips, i)
	}
	if q.Only == nil && !q.All && len(opt.Must) == 0 && len(out.NotWorth) == 0 {
		out.Plan = whole // nothing was chosen
	} else {
		out.Plan = mend.New(a.Map, opt)
	}
	return out, nil
}

// drive says who mends, and where from.
func (a *Assessment) drive(q MendQuestion) (mend.Options, error) {
	m := a.Map
	opt := mend.Options{All: q.All, Machine: q.Machine, Radius: q.Radius}
	if opt.Machine < 0 {
		opt.Machine = m.LastAtWork()
	}
	opt.Start = m.Stopped(opt.Machine)
	if q.Start != nil {
		var near bool
		if opt.Start, near = m.Field.Frame.ToPlane(*q.Start); !near {
			return opt, ErrFar
		}
	}
	return opt, nil
}

// weigh weighs each skip that is a mistake. How long each takes is its part of the
// drive that mends all of a size for it, which is returned too.
func (a *Assessment) weigh(opt mend.Options, back agronomy.GoingBack, sure map[int]float64) ([]agronomy.Worth, *mend.Plan) {
	opt.Skips, opt.Must, opt.All = a.Mistakes(), nil, false
	plan := mend.New(a.Map, opt)
	speed := back.Speed
	if speed == 0 {
		speed = a.Map.MeanSpeed()
	}
	back.Drive = a.parts(plan, speed)
	return a.Worths(back, sure), plan
}

// parts are the seconds that each skip of a drive takes at so many metres a second, by its
// index into Map.Skips: its part of the drive. A stop for several is shared by their
// ground.
func (a *Assessment) parts(plan *mend.Plan, speed float64) map[int]float64 {
	out := map[int]float64{}
	for i := range plan.Stops {
		skips := plan.Stops[i].Run.Skips
		var area plane.Area
		for _, k := range skips {
			area += a.Map.Skips[k].Area
		}
		for _, k := range skips {
			out[k] += plan.StopTime(i, speed).Seconds() * float64(a.Map.Skips[k].Area) / float64(area)
		}
	}
	return out
}

// Detours are how long each skip takes that the planned drive goes back for, by its index
// into Map.Skips: together they are the drive. There are none where none was planned.
func (a *Assessment) Detours() map[int]time.Duration {
	out := map[int]time.Duration{}
	if a.Mend == nil {
		return out
	}
	for i, seconds := range a.parts(a.Mend.Plan, a.Map.MeanSpeed()) {
		out[i] = time.Duration(seconds * float64(time.Second))
	}
	return out
}
