package stance

import (
	"math"
	"slices"

	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A machine that backs up leaves a cusp in its way where it changes gear: it
// goes back over the place it came from. A machine that drives forward leaves none,
// for its turns have a radius. Between two cusps it travels against its heading.
//
//	>--o------o--+   in: from far to near before the turning back
//	   o<-----o--+   on: from near to far after it, in nearly the opposite direction
//
// Positions alone do not say whether the bar was in the ground on the way back. The
// logged working state is believed. The figures are judgement. TestFollowerBacksUp fails
// where cuspNear is doubled, and where cuspFar, cuspNet or mostBacked is halved or
// doubled. No test of the package fails where cuspTurn is halved, or cuspBeside halved or
// doubled: each of the two tells turns from cusps without the other.
const (
	// cuspNear and cuspFar bound, in metres of way from a cusp, the two places on
	// either side by which directions there are told. Nearer than that the noise
	// of a receiver turns them; farther away a machine that backs up by 3 m has
	// changed gear again.
	cuspNear = 0.3
	cuspFar  = 1.3
	// cuspNet is how far apart the two are at least, in metres: the way of a fix
	// that wanders about a machine that stands is long, and leads nowhere.
	cuspNet = 0.6
	// cuspTurn is by how much the two directions differ at least. A turn of 2 m
	// radius, tighter than any tractor's, turns them by 100 degrees.
	cuspTurn = 150 * math.Pi / 180
	// cuspBeside is how far beside the way in the way out begins at most. A
	// machine that turned between two fixes comes out farther away.
	cuspBeside = 1.0 // m
	// mostBacked is how far a machine backs up at most. One that goes farther has
	// turned round without a trace in the log.
	mostBacked = 60.0 // m
)

// cusps returns the stations at which the machine changed from forward to
// reverse or back, for stations that continue from one another; way is how far
// it went to each. The directions at a station are those between others, so an
// error in its own place makes no cusp.
func cusps(st []track.Station, way []float64) []int {
	var out []int
	var a0, a1, b0, b1 int // stations: far and near before i, near and far after it
	best := -1             // of the stations about one cusp, the one farthest along into
	var into plane.Vector  // the direction of travel before the cusp
	step := func(from, to int) plane.Vector {
		return plane.Vector{X: st[to].X - st[from].X, Y: st[to].Y - st[from].Y}
	}
	for i := 1; i < len(st); i++ {
		for way[i]-way[a1+1] >= cuspNear {
			a1++
		}
		for a0 < a1-1 && way[i]-way[a0+1] >= cuspFar {
			a0++
		}
		for b0 < len(st) && way[b0]-way[i] < cuspNear {
			b0++
		}
		for b1 < len(st) && (b1 <= b0 || way[b1]-way[i] < cuspFar) {
			b1++
		}
		if b1 >= len(st) {
			break
		}
		if way[i]-way[a0] < cuspFar || a0 >= a1 {
			continue
		}
		in, on := step(a0, a1), step(b0, b1)
		is := false
		if dot := in.Dot(on); dot < 0 { // it turns by more than a quarter: seldom
			went, back, across := math.Hypot(in.X, in.Y), math.Hypot(on.X, on.Y), step(a1, b0)
			is = min(went, back) > cuspNet && dot < math.Cos(cuspTurn)*went*back &&
				math.Abs(across.X*in.Y-across.Y*in.X) < cuspBeside*went
		}
		switch {
		case is && best < 0:
			best, into = i, in
		case is:
			if at := step(best, i); at.X*into.X+at.Y*into.Y > 0 {
				best = i
			}
		case best >= 0:
			out, best = append(out, best), -1
		}
	}
	if best >= 0 {
		out = append(out, best)
	}
	return out
}

// gears tells which of the stretches between cusps were driven in reverse: every
// other one. A stretch of more than mostBacked was driven forward, and the count
// begins anew there. Whether the log begins in reverse is chosen so that fewer such
// stretches contradict the count, and then so that less way is in reverse.
func gears(cusps []int, way []float64) []bool {
	ends := append(slices.Clone(cusps), len(way)-1)
	count := func(reverse bool) (back []bool, odd int, sum float64) {
		from := 0
		for _, to := range ends {
			length := way[to] - way[from]
			if reverse && length > mostBacked {
				reverse = false
				odd++
			}
			if reverse {
				sum += length
			}
			back = append(back, reverse)
			reverse, from = !reverse, to
		}
		return back, odd, sum
	}
	ahead, oddAhead, sumAhead := count(false)
	back, oddBack, sumBack := count(true)
	if oddBack < oddAhead || oddBack == oddAhead && sumBack < sumAhead {
		return back
	}
	return ahead
}

// isCourse reports whether logged headings are the direction of travel and not
// the machine's heading: most turn round where the machine changes gear.
func isCourse(path *smoothedPath, heading []geo.Bearing) bool {
	if !path.geared {
		return false
	}
	turned, kept := 0, 0
	for i := 1; i < path.count; i++ {
		if path.at(i).back == path.at(i-1).back {
			continue
		}
		before, after := max(0, i-2), min(path.count-1, i+1)
		switch d := heading[after].Apart(heading[before]); {
		case d > 90:
			turned++
		case d <= 90: // false for NaN
			kept++
		}
	}
	return turned > 0 && turned >= kept
}

// faced returns logged headings that are the direction of travel as those of the
// machine: those in reverse are dropped.
func faced(path *smoothedPath, heading []geo.Bearing) []geo.Bearing {
	out := slices.Clone(heading)
	for i := range path.count {
		p := path.at(i)
		x, y := heading[i].Angle().Sincos()
		if p.back || p.tx*x+p.ty*y < 0 { // a course comes late
			out[i] = geo.Bearing(math.NaN())
		}
	}
	return out
}
