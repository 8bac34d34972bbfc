package track

import (
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Record is what is kept of a machine's logs when their fixes are gone.
type Record struct {
	Files     []string           // the names of its tracks
	Qualities [geo.NoFix + 1]int // how many fixes are of each quality
	End       plane.Point        // where the antenna was at the last fix; the field's centre where the log has none
}

// Quality returns the quality that most fixes have.
func (r *Record) Quality() geo.Quality {
	best := geo.QualityUnknown
	for q, n := range r.Qualities {
		if n > r.Qualities[best] {
			best = geo.Quality(q)
		}
	}
	return best
}

// Records returns the records of machines, by their index in logged.
func Records(logged []machine.Logged, logs []Log, frame *geo.Frame) []Record {
	out := make([]Record, len(logged))
	for i := range logged {
		for k := range logged[i].Tracks {
			out[i].Files = append(out[i].Files, logged[i].Tracks[k].File)
		}
	}
	last := make([]geo.Instant, len(logged))
	found := make([]bool, len(logged))
	for i := range logs {
		l := &logs[i]
		r := &out[l.Machine]
		for q, n := range l.Qualities {
			r.Qualities[q] += n
		}
		for k := range l.Paths {
			p := &l.Paths[k]
			end := p.Fixes[len(p.Fixes)-1].Time
			if found[l.Machine] && !l.NoClock && end < last[l.Machine] {
				continue
			}
			if at, near := frame.ToPlane(p.Last); near {
				r.End, last[l.Machine], found[l.Machine] = at, end, true
			}
		}
	}
	return out
}
