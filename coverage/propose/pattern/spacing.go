// Package pattern tells how passes lie on a field: how far apart, and how many run
// round along its boundary.
//
//	spacing.go  passes -> how far neighbours lie apart
//	rounds.go   passes and a boundary -> rounds
package pattern

import (
	"math"
	"slices"

	"lapwing/coverage/worklog"
	"lapwing/geo"
)

// A Way is where a bar's middle was on one pass: places along it, some metres apart.
type Way struct {
	Places []geo.LonLat
	Metres float64 // along all of it
}

// A Spacing is how far neighbouring passes of one machine lie apart, in metres.
type Spacing struct {
	Passes            int     // that have a neighbour
	Low, Middle, High float64 // quartiles
}

// What a spacing must be to tell a width by: TestSpacedWidth in package propose holds
// both.
const (
	Fewest = 3    // passes
	uneven = 1.25 // ratio of the upper to the lower quartile
)

// Even reports whether the spacing is of one width of bar.
func (s Spacing) Even() bool { return s.High <= uneven*s.Low }

// Sure reports whether it tells the width of the bar.
func (s Spacing) Sure() bool { return s.Passes >= Fewest && s.Even() }

// SpacingOf measures how far the passes of one machine lie apart.
func SpacingOf(ways []Way) Spacing {
	lines := straights(ways)
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
		return Spacing{}
	}
	slices.Sort(apart)
	return Spacing{n, apart[n/4], apart[n/2], apart[3*n/4]}
}

// Between counts the passes of a machine that have one of another machine nearer to
// them than their own next.
func Between(mine, theirs []Way) (n int) {
	count := len(straights(mine))
	all := straights(slices.Concat(mine, theirs))
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

// A straight is a pass that runs straight, in metres.
type straight struct {
	plane          int     // which of several it lies on
	x, y, ux, uy   float64 // its start, and the way it goes
	length, middle float64
}

// straights are the straight ones of some passes, in their order. Those far from one
// another lie on planes of their own, so that none is stretched: within two degrees a
// plane stretches 12 m by 4 mm (computed, as in geo/frame.go).
func straights(ways []Way) (lines []straight) {
	const degrees = 2
	type patch struct {
		geo.Frame
		around geo.Extent
	}
	var patches []patch
	for _, w := range ways {
		if len(w.Places) < 2 {
			continue
		}
		first := w.Places[0]
		at := slices.IndexFunc(patches, func(one patch) bool { return one.around.Holds(first) })
		if at < 0 {
			at = len(patches)
			x := geo.NoExtent()
			x.Add(first)
			patches = append(patches, patch{geo.NewFrame(first), x.Around(degrees)})
		}
		if s, ok := w.straight(patches[at].Frame); ok {
			s.plane = at
			lines = append(lines, s)
		}
	}
	return lines
}

// straight returns a pass as its chord, if the path is hardly longer than that.
func (w *Way) straight(frame geo.Frame) (straight, bool) {
	const shortest, hardly = 20.0, 1.01 // m of chord, and ratio of path to chord; judgement, no test holds them closely
	ax, ay := frame.Metres(w.Places[0])
	bx, by := frame.Metres(w.Places[len(w.Places)-1])
	chord := math.Hypot(bx-ax, by-ay)
	if chord < shortest || w.Metres > hardly*chord {
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
