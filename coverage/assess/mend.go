package assess

import (
	"errors"

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
	// GoingBack is what going back costs, to weigh each skip against the crop; nil
	// weighs none.
	GoingBack *agronomy.GoingBack
}

// A Mending is the drive that mends skips.
type Mending struct {
	Plan *mend.Plan
	// NotWorth are indices into Map.Skips of those left because going back
	// takes more than their crop brings.
	NotWorth []int
	// Given says that the place to start from was named; else it is
	// where the machine's log ends.
	Given bool
}

// PlanDrive plans the drive that a question asks for.
func (a *Assessment) PlanDrive(q MendQuestion) (*Mending, error) {
	m := a.Map
	opt := mend.Options{All: q.All, Machine: q.Machine, Radius: q.Radius}
	if opt.Machine < 0 {
		opt.Machine = m.LastAtWork()
	}
	opt.Start = m.Stopped(opt.Machine)
	if q.Start != nil {
		var near bool
		if opt.Start, near = m.Field.Frame.ToPlane(*q.Start); !near {
			return nil, ErrFar
		}
	}
	verdicts := map[int]agronomy.Verdict{}
	if q.GoingBack != nil {
		for _, w := range a.Worths(*q.GoingBack, nil) {
			verdicts[w.Skip] = w.Verdict
		}
	}
	out := &Mending{Given: q.Start != nil}
	for _, i := range a.Mistakes() {
		switch {
		case verdicts[i] == agronomy.Leave && !q.All:
			out.NotWorth = append(out.NotWorth, i)
			continue
		case verdicts[i] == agronomy.Go:
			opt.Must = append(opt.Must, i)
		}
		opt.Skips = append(opt.Skips, i)
	}
	out.Plan = mend.New(m, opt)
	return out, nil
}
