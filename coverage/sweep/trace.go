package sweep

import (
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// A Trace is a pass thinned to the poses that matter to the shape of its ground.
// It can be moved before it is swept.
type Trace struct {
	im     *machine.Implement
	states []machine.State
	poses  []work.Pose
	parts  []visitPart
	keep   []int32 // the poses that matter to the way of the bar's ends
}

// NewTrace thins a pass within a tolerance, with a pose at each of some
// distances along it, rising.
func NewTrace(p *work.Pass, im *machine.Implement, tolerance plane.Distance, along []plane.Distance) *Trace {
	bars := work.BarsOf(p.Poses, nil)
	all, keep, parts := cutByVisit(p.Poses, bars, work.Keep(p.Poses, bars, im.Width/2, tolerance, nil), im.Width)
	var at, changes []int32
	for _, k := range along {
		at = append(at, work.PoseAt(all, k))
	}
	for i := 1; i < len(all); i++ {
		if all[i].State != all[i-1].State {
			changes = append(changes, int32(i))
		}
	}
	keep = merged(keep, at)
	known := merged(keep, changes)
	t := &Trace{im: im, states: p.States, poses: make([]work.Pose, len(known))}
	for i, k := range known {
		t.poses[i] = all[k]
	}
	for _, k := range keep {
		t.keep = append(t.keep, index(known, k))
	}
	for _, part := range parts {
		t.parts = append(t.parts, visitPart{part.visit, index(known, part.from), index(known, part.to)})
	}
	return t
}

// Along returns how far along the pass each pose of the trace is.
func (t *Trace) Along() []plane.Distance {
	out := make([]plane.Distance, len(t.poses))
	for i := range t.poses {
		out[i] = t.poses[i].Along
	}
	return out
}

// Rings returns the rings of each visit with every pose moved to the east
// and north.
func (t *Trace) Rings(moved func(pose int) (east, north plane.Distance)) [][]plane.Ring {
	s := sweeper{im: t.im, states: t.states, whole: t.im.Whole()}
	s.along(t.poses)
	for i := range s.bars {
		east, north := moved(i)
		s.bars[i].At = s.bars[i].At.Add(plane.Point{X: east.Length(), Y: north.Length()})
	}
	var out [][]plane.Ring
	for _, part := range t.parts {
		var rings []plane.Ring
		s.spells(part.of(t.keep), func(keep []int32, silent bool) {
			if !silent {
				rings = s.rings(rings, keep)
			}
		})
		if int(part.visit) == len(out) {
			out = append(out, nil)
		}
		out[part.visit] = append(out[part.visit], rings...)
	}
	return out
}
