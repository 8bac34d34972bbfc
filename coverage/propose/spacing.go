package propose

import (
	"math"
	"slices"

	"lapwing/coverage/worklog"
	"lapwing/geo"
)

// spacings are how far neighbouring passes of one machine lie apart, in metres.
type spacings struct {
	passes            int     // that have a neighbour
	low, middle, high float64 // quartiles
}

// What spacings must be to tell a width by: TestSpacedWidth holds both.
const (
	fewestSpaced = 3    // passes
	unevenSpaced = 1.25 // ratio of the upper to the lower quartile
)

// even reports whether the spacings are of one width of bar.
func (s spacings) even() bool { return s.high <= unevenSpaced*s.low }

// sure reports whether they tell the width of the bar.
func (s spacings) sure() bool { return s.passes >= fewestSpaced && s.even() }

// spacingsOf measures how far the passes of some drives, which are of one machine,
// lie apart.
func spacingsOf(drives []*Drive) spacings {
	lines := straights(drives)
	var apart []float64
	for i, a := range lines {
		nearest := math.Inf(1)
		for j, b := range lines {
			if i != j {
				nearest = min(nearest, a.apart(b))
			}
		}
		if nearest < worklog.WidestBar {
			apart = append(apart, nearest)
		}
	}
	n := len(apart)
	if n == 0 {
		return spacings{}
	}
	slices.Sort(apart)
	return spacings{n, apart[n/4], apart[n/2], apart[3*n/4]}
}

// passesBetween counts the passes of a machine that have one of another machine
// nearer to them than their own next.
func (p *Proposal) passesBetween(m *Machine) (n int) {
	var mine, theirs []*Drive
	for _, d := range p.Drives {
		if d.machine == m {
			mine = append(mine, d)
		} else {
			theirs = append(theirs, d)
		}
	}
	if len(mine) == 0 || len(theirs) == 0 {
		return 0
	}
	all := straights(append(mine, theirs...))
	count := 0
	for _, d := range mine {
		count += d.straight()
	}
	const nearer = 0.75 // of its own next: a pass in the middle lies at half; judgement
	for i, a := range all[:count] {
		own, other := math.Inf(1), math.Inf(1)
		for j, b := range all {
			switch {
			case i == j:
			case j < count:
				own = min(own, a.apart(b))
			default:
				other = min(other, a.apart(b))
			}
		}
		if other < nearer*own && other < worklog.WidestBar {
			n++
		}
	}
	return n
}

// straight counts the passes of a drive that run straight.
func (d *Drive) straight() int {
	return len(straights([]*Drive{d}))
}

// A straight is a pass that runs straight, in metres.
type straight struct {
	plane          int     // which of several it lies on
	x, y, ux, uy   float64 // its start, and the way it goes
	length, middle float64
}

// straights are the straight passes of some drives, drive by drive. Those far from
// one another lie on planes of their own, so that none is stretched: within two
// degrees a plane stretches 12 m by 4 mm (computed, as in geo/frame.go).
func straights(drives []*Drive) (lines []straight) {
	const degrees = 2
	type patch struct {
		geo.Frame
		around geo.Extent
	}
	var patches []patch
	for _, d := range drives {
		for _, p := range d.passes {
			if len(p.way) < 2 {
				continue
			}
			at := slices.IndexFunc(patches, func(one patch) bool { return one.around.Holds(p.way[0]) })
			if at < 0 {
				at = len(patches)
				x := geo.NoExtent()
				x.Add(p.way[0])
				patches = append(patches, patch{geo.NewFrame(p.way[0]), x.Around(degrees)})
			}
			if s, ok := p.straight(patches[at].Frame); ok {
				s.plane = at
				lines = append(lines, s)
			}
		}
	}
	return lines
}

// straight returns a pass as its chord, if the path is hardly longer than that.
func (p *pass) straight(frame geo.Frame) (straight, bool) {
	const shortest, hardly = 20.0, 1.01 // m of chord, and ratio of path to chord; judgement, no test holds them closely
	ax, ay := frame.Metres(p.way[0])
	bx, by := frame.Metres(p.way[len(p.way)-1])
	chord := math.Hypot(bx-ax, by-ay)
	if chord < shortest || p.metres > hardly*chord {
		return straight{}, false
	}
	return straight{0, ax, ay, (bx - ax) / chord, (by - ay) / chord, chord, chord / 2}, true
}

// apart returns how far b lies from the middle of a, if it runs beside it within a
// few degrees, and no nearer than ground worked twice; else infinitely far.
func (a straight) apart(b straight) float64 {
	const parallel = 0.05 // radians; judgement, no test holds it closely
	none := math.Inf(1)
	if a.plane != b.plane || math.Abs(a.ux*b.uy-a.uy*b.ux) > parallel {
		return none
	}
	mx, my := a.x+a.ux*a.middle-b.x, a.y+a.uy*a.middle-b.y
	if along := mx*b.ux + my*b.uy; along < 0 || along > b.length {
		return none
	}
	if d := math.Abs(mx*b.uy - my*b.ux); d > worklog.NarrowestBar {
		return d
	}
	return none
}
