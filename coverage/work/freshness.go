package work

import (
	"math"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/geo/plane"
	"lapwing/geo/plane/raster"
)

// A freshness tells which ground is still unworked: what lies inside of, or
// anywhere if that is nil, and in none of taken.
type freshness struct {
	of    *raster.Bitmap
	taken []ground
}

// Ground is asked place by place.
type ground interface {
	Has(plane.Point) bool
}

// has reports whether a place is still unworked.
func (f *freshness) has(p plane.Point) bool {
	for _, g := range f.taken {
		if g.Has(p) {
			return false
		}
	}
	return f.of == nil || f.of.Has(p)
}

// width returns how many metres of the bar of an implement at b are over unworked
// ground. It samples the bar at the given spacing.
func (f *freshness) width(b stance.Bar, im *machine.Implement, every plane.Length) float64 {
	return f.widthUpTo(math.Inf(1), b, im, every)
}

// atLeast reports whether so many metres of the bar are, as width counts them.
func (f *freshness) atLeast(least float64, b stance.Bar, im *machine.Implement, every plane.Length) bool {
	return f.widthUpTo(least, b, im, every) >= least
}

// widthUpTo is width, which is counted no further once it has come to enough.
func (f *freshness) widthUpTo(enough float64, b stance.Bar, im *machine.Implement, every plane.Length) (w float64) {
	left := im.Sections[0].Left
	width := im.Sections[len(im.Sections)-1].Right - left
	points := max(1, width/every)
	fresh := plane.Length(0)
	for k := range points {
		if f.has(b.End(left + width*(2*k+1)/(2*points))) {
			fresh++
			if w = (width * fresh / points).Metres(); w >= enough {
				break
			}
		}
	}
	return w
}
