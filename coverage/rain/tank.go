package rain

import (
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Tank is one product's tank on one machine.
type Tank struct {
	Machine, Product string
	Ground           plane.Area // that a filled tank goes over, laps counted
	Left             plane.Area // that what is in it now goes over, as far as the log tells
}

// Fills are how often a tank is filled for a field, the first time before it is begun.
type Fills struct {
	Tank
	Count int
}

// mostFills bounds a count that a rate or an area of no meaning would make.
const mostFills = 10_000

// fillsFor counts the fills of each tank for ground of which each machine works its
// share.
func fillsFor(tanks []Tank, paces []Pace, shares []float64, area plane.Area) (out []Fills) {
	for _, t := range tanks {
		if every := t.every(paces, shares); every > 0 {
			count := math.Ceil(float64(area)/float64(every) - leastFill)
			out = append(out, Fills{t, int(min(max(count, 1), mostFills))})
		}
	}
	return out
}

// every is the ground of the field, worked by all machines, that goes by while one
// filling of the tank lasts; 0 where its machine has no share in it.
func (t *Tank) every(paces []Pace, shares []float64) plane.Area {
	i := slices.IndexFunc(paces, func(p Pace) bool { return p.Machine == t.Machine })
	if i < 0 || shares[i] <= 0 {
		return 0
	}
	return plane.Area(float64(t.Ground) / (shares[i] * paces[i].Lap()))
}

// standFor is where on the boundary the trailer stands best: where the ways to the
// places at which tanks run dry are least, added up, in a straight line. The second
// result is false where no tank runs dry.
func standFor(f *field.Field, tanks []Tank, paces []Pace, shares []float64) (geo.LonLat, bool) {
	var dry []plane.Point
	for _, t := range tanks {
		if every := t.every(paces, shares); every > 0 {
			i := slices.IndexFunc(paces, func(p Pace) bool { return p.Machine == t.Machine })
			dry = append(dry, dryPlaces(f, paces[i].Width, every)...)
		}
	}
	if len(dry) == 0 {
		return geo.LonLat{}, false
	}
	best, least := plane.Point{}, math.Inf(1)
	for _, at := range standsOf(f) {
		sum := 0.0
		for _, d := range dry {
			sum += float64(at.Distance(d))
		}
		if sum < least {
			best, least = at, sum
		}
	}
	return f.Frame.ToEarth(best), true
}

// Judgement, no source: how finely the boundary is looked along, and which and how
// many passes and places are followed. No test of the package fails where
// one of the first three is halved or doubled.
const (
	standStep = 20 * plane.Metre
	// leastStrip is the share of a width that a last strip must be to take a pass.
	leastStrip = 0.05
	// leastFill is the share of a filling that ground must take for it to be one.
	leastFill = 0.01
	mostLines = 5000
	mostDry   = 500
)

// standsOf are places along the outer edge of a field, none farther from the next than
// a step.
func standsOf(f *field.Field) (out []plane.Point) {
	edge := plane.Distance(0)
	for _, p := range f.Boundary {
		edge += p.Shell.Length()
	}
	step := max(plane.Distance(standStep), edge/2000)
	for _, p := range f.Boundary {
		for i, a := range p.Shell {
			b := p.Shell[(i+1)%len(p.Shell)]
			n := math.Ceil(float64(a.Distance(b) / step))
			for k := range int(n) {
				share := float64(k) / n
				out = append(out, plane.Point{X: a.X + plane.Round(share*float64(b.X-a.X)), Y: a.Y + plane.Round(share*float64(b.Y-a.Y))})
			}
		}
	}
	return out
}

// dryPlaces are the places where a tank runs dry that lasts over so much ground, on
// passes of a width driven to and fro across the field, the way that needs fewest. The
// end of the field is none.
//
//	+---------------------------+
//	| ------------------------> |
//	| <---------x-------------- |   x: dry
//	| --------------------x---> |
//	+---------------------------+
func dryPlaces(f *field.Field, width plane.Length, every plane.Area) (out []plane.Point) {
	if len(f.Boundary) == 0 || width <= 0 {
		return nil
	}
	var rings []plane.Ring
	largest := 0
	for i, p := range f.Boundary {
		rings = append(rings, p.Rings()...)
		if p.Area() > f.Boundary[largest].Area() {
			largest = i
		}
	}
	_, along := f.Boundary[largest].Shell.Breadth()
	sin, cos := along.Sincos()
	// u runs along the passes, v across them to the left.
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range rings {
		for _, p := range r {
			v := -cos*float64(p.X) + sin*float64(p.Y)
			low, high = min(low, v), max(high, v)
		}
	}
	lines := min(mostLines, math.Ceil((high-low)/float64(width)-leastStrip))
	apart := (high - low) / lines
	if float64(every)*mostDry < float64(GroundOf(f).Area) {
		return nil
	}
	left := float64(every)
	for k := range int(lines) {
		v := low + (float64(k)+0.5)*apart
		cuts := cutsAt(rings, sin, cos, v)
		forth := k%2 == 0
		for i := 0; i+1 < len(cuts); i += 2 {
			a, b := cuts[i], cuts[i+1]
			if !forth {
				a, b = cuts[len(cuts)-1-i], cuts[len(cuts)-2-i]
			}
			for at := a; ; {
				ground := math.Abs(b-at) * apart * 2 // in half square ticks
				if ground < left {
					left -= ground
					break
				}
				at += (b - at) * left / ground
				out = append(out, plane.Point{X: plane.Round(sin*at - cos*v), Y: plane.Round(cos*at + sin*v)})
				left = float64(every)
			}
		}
	}
	if n := len(out); n > 0 && left > (1-leastFill)*float64(every) { // the last ran dry as the field ended
		out = out[:n-1]
	}
	return out
}

// cutsAt are the places along a line where it crosses rings, in order: an even number.
func cutsAt(rings []plane.Ring, sin, cos, v float64) (cuts []float64) {
	turned := func(p plane.Point) (u, v float64) {
		return sin*float64(p.X) + cos*float64(p.Y), -cos*float64(p.X) + sin*float64(p.Y)
	}
	for _, r := range rings {
		for i, p := range r {
			au, av := turned(p)
			bu, bv := turned(r[(i+1)%len(r)])
			if av <= v != (bv <= v) {
				cuts = append(cuts, au+(bu-au)*(v-av)/(bv-av))
			}
		}
	}
	slices.Sort(cuts)
	return cuts
}
