package assess

import (
	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/whatif"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A KeptLap is how a pass kept to the lap aimed for, on the ground worked before it.
// What interior passes lap the headland by, the field's width decides, so only passes of
// one kind are neighbours here.
type KeptLap struct {
	Aimed   plane.Length // that the job plans; 0, bars edge to edge, where it plans none
	Planned bool         // the job says so
	beside.Kept
	// Receiver is one standard deviation of what the receivers alone move such a lap by:
	// where it is as large as Spread, the log cannot tell the driver's part.
	Receiver plane.Distance
}

// keptLaps reckons the laps of all passes.
func (a *Assessment) keptLaps(gnss spec.GNSS) []KeptLap {
	m := a.Map
	n := m.Neighbourhood()
	errors := make([]whatif.ReceiverError, len(m.Machines))
	for i := range errors {
		errors[i] = receiverError(whatif.QualityOf(m, i), gnss)
	}
	out := make([]KeptLap, len(m.Passes))
	parallel.Each(len(out), func(i int) {
		p, lap := &m.Passes[i], &out[i]
		lap.Aimed, lap.Planned = a.aimedFor(p)
		lap.Kept = n.Kept(i, lap.Aimed, func(other int) bool { return m.Passes[other].Headland == p.Headland })
		if lap.Along > 0 {
			seconds := lap.Apart
			if !a.HasClock(p) {
				seconds = minutesApart
			}
			lap.Receiver = plane.DistanceOf(errors[p.Machine].Between(seconds))
		}
	})
	return out
}

// minutesApart is how long ago the ground beside a pass was worked, in seconds, where
// the log has no clock: as when passes follow one another. Judgement.
const minutesApart = 10 * 60

// aimedFor is the lap that a pass is to have with its neighbour, and whether the job
// says so. Rounds of the headland have that of its plan.
func (a *Assessment) aimedFor(p *coverage.Pass) (lap plane.Length, planned bool) {
	if p.Headland {
		return a.HeadlandLap, a.HeadlandLap > 0
	}
	if by := a.Map.Machines[p.Machine].Lap; by != nil {
		return *by, true
	}
	return 0, false
}

// lapOf is the lap of a pass; with nothing kept where none was reckoned.
func (a *Assessment) lapOf(p *coverage.Pass) *KeptLap {
	if p.ID <= len(a.Laps) {
		return &a.Laps[p.ID-1]
	}
	lap := &KeptLap{}
	lap.Aimed, lap.Planned = a.aimedFor(p)
	return lap
}
