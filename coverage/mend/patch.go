package mend

import (
	"iter"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// A patch is ground to be mended in one go: a skip, or several that lie side
// by side and were told apart only because the headland's inner edge runs
// between them.
type patch struct {
	skips  []int // indices into Map.Skips, rising: from the largest down
	shells []plane.Ring
	area   plane.Area
	width  plane.Distance // of the widest circle in any of them
	passes []int          // IDs of the passes beside it, those of the largest first
	main   *cause.Skip
}

func patchOf(m *coverage.Map, skips []int) patch {
	p := patch{skips: skips, main: &m.Skips[skips[0]]}
	for _, i := range skips {
		s := &m.Skips[i]
		p.shells = append(p.shells, m.Regions[s.Region].Shape.Shell)
		p.area += s.Area
		p.width = max(p.width, s.Width)
		for _, id := range s.Passes {
			if !slices.Contains(p.passes, id) {
				p.passes = append(p.passes, id)
			}
		}
	}
	return p
}

// points are all corners of the patch.
func (p *patch) points() plane.Ring { return slices.Concat(p.shells...) }

// What a patch must have to be worth a drive of its own. Judgement, no source: the
// wedges where a pass ends at a slant are smaller, and so are single rows, which the
// crop beside them closes over. No test holds either
// closely.
const (
	LeastArea  = 20 * plane.SquareMetre // some 215 sq ft, 0.005 ac
	LeastWidth = 30 * plane.Centimetre  // one foot
)

func (p *patch) worth() bool { return p.area >= LeastArea && p.width >= plane.Distance(LeastWidth) }

// leastFill is the share of the strips that a patch's runs go over that the patch
// itself must fill. A strip fills all, a wedge half; a thin patch bent round a corner
// fills so little that to mend it would work many times its ground again.
// Judgement. No test holds it closely.
const leastFill = 0.15

// fills reports whether the runs over a patch are worth what they work again.
func (l *laid) fills() bool {
	swept := 0.0
	for i := range l.courses {
		swept += float64(l.courses[i].ways[0].Length) * float64(l.courses[i].ways[0].Need)
	}
	return float64(l.area)/2 >= leastFill*swept // an Area is in half square ticks
}

// Touching yields the pairs of skips that share an edge, once for each edge.
func Touching(m *coverage.Map, skips []int) iter.Seq2[int, int] {
	type way [2]plane.Point
	return func(yield func(i, other int) bool) {
		whose := map[way]int{} // an edge as run with the skip on its left
		for _, i := range skips {
			for _, ring := range m.Regions[m.Skips[i].Region].Shape.Rings() {
				for k, a := range ring {
					b := ring[(k+1)%len(ring)]
					whose[way{a, b}] = i
					if other, beside := whose[way{b, a}]; beside && !yield(i, other) {
						return
					}
				}
			}
		}
	}
}

// together groups skips, given by rising indices, that share an edge.
func together(m *coverage.Map, skips []int) [][]int {
	group := map[int]int{} // of each skip: the first of its group
	first := func(i int) int {
		for group[i] != i {
			i = group[i]
		}
		return i
	}
	for _, i := range skips {
		group[i] = i
	}
	for i, other := range Touching(m, skips) {
		x, y := first(other), first(i)
		group[max(x, y)] = min(x, y)
	}
	at := map[int]int{}
	var out [][]int
	for _, i := range skips {
		f := first(i)
		if _, known := at[f]; !known {
			at[f] = len(out)
			out = append(out, nil)
		}
		out[at[f]] = append(out[at[f]], i)
	}
	return out
}

// planned lays the runs over the skips of a group: over all of them as one
// patch where that is no worse than one by one.
func (g *drivable) planned(m *coverage.Map, group []int, im *machine.Implement) []laid {
	whole := g.lays(m, group, im)
	if len(group) == 1 {
		return []laid{whole}
	}
	var parts []laid
	cost := 0.0
	for _, i := range group {
		l := g.lays(m, []int{i}, im)
		if l.courses == nil {
			cost = -1
		}
		if cost >= 0 {
			cost += l.cost
		}
		parts = append(parts, l)
	}
	if whole.courses != nil && (cost < 0 || whole.cost <= cost) && len(whole.courses) < len(parts) {
		return []laid{whole}
	}
	return parts
}

// A laid is a patch with the runs over it; nil courses where no line along it
// stays on the ground.
type laid struct {
	patch
	courses []course
	cost    float64 // ground worked and missed, square ticks
	bent    bool    // runs went along it, but worked far more than it
}
