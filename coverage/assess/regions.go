package assess

import (
	"lapwing/coverage"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

// Causes returns the cause of each region that has one.
func (a *Assessment) Causes() map[int]string {
	causes := make(map[int]string, len(a.Map.Skips)+len(a.Map.Overlaps))
	for _, s := range a.Map.Skips {
		causes[s.Region] = string(s.Cause)
	}
	for _, o := range a.Map.Overlaps {
		causes[o.Region] = string(o.Cause)
	}
	return causes
}

// PassesOver returns the numbers of the passes over a region, each once.
func (a *Assessment) PassesOver(reg *region.Region) []int {
	out := make([]int, 0, len(reg.Swaths))
	last := -1
	for _, s := range reg.Swaths {
		if p := a.Map.Swaths[s].Pass; p != last { // a pass's swaths follow one another
			out = append(out, a.Map.Passes[p].ID)
			last = p
		}
	}
	return out
}

// CentreLine is the path of the bar's centre, thinned.
func CentreLine(p *coverage.Pass, tolerance plane.Distance) []plane.Point {
	line := make([]plane.Point, len(p.Poses))
	for i := range p.Poses {
		line[i] = p.Poses[i].Bar
	}
	return plane.Thinned(line, tolerance)
}
