package plane

import (
	"math"
	"slices"
)

// arcError is how far a chord of a round corner may lie inside its arc, of a radius
// up to farArc, deeper than headlands are. Beyond, it grows with the square of the
// radius, so that a corner takes no more than 350 points, and fewer the farther.
const (
	arcError = 1 * Millimetre
	farArc   = 100 * Metre
)

// Within returns anticlockwise rings whose union is the ground on the left of
// ring within distance d of it: the inner rim of a shell, the outer rim of a
// hole. The rim is round at corners that point away from it; rings overlap at
// the others. Ground on the left that is nearer to some place of the ring than
// d, but only across other ground, is in the rings of that place too.
//
//	b-----------------------a      each edge has a rectangle on its left,
//	|_______________________|      each corner that turns right a sector
//	|  |                 |  |
//	|  |                 |  |
//
// Beyond a d of 100 m, the rectangles of edges that turn hardly at all, one after the
// other, are one ring: the corners of a boundary of kilometres make no thousands of
// sides then that run side by side.
//
// Points are rounded to the tick, arcs are within a millimetre up to a d of 100 m.
func Within(ring Ring, d Length) []Ring {
	n := len(ring)
	if n < 2 || d <= 0 {
		return nil
	}
	arcOff := float64(min(arcError, d)) / float64(d) // as a share of d
	if d > farArc {
		arcOff *= float64(d) / float64(farArc) * float64(d) / float64(farArc)
	}
	type vec struct{ x, y float64 }
	normal := make([]vec, n) // of the edge that begins at each corner: to the left, d long
	for i, p := range ring {
		q := ring[(i+1)%n]
		l := float64(p.Distance(q))
		normal[i] = vec{-float64(q.Y-p.Y) / l * float64(d), float64(q.X-p.X) / l * float64(d)}
	}
	at := func(p Point, v vec) Point { return Point{p.X + Round(v.x), p.Y + Round(v.y)} }

	// Corners so flat that edges can share a side: it is then longer than d by
	// d θ²/8, at most half a tick.
	flat := math.Sqrt(4 / float64(d))
	join := make([]*Point, n)
	for i := range ring {
		a, b := normal[(i+n-1)%n], normal[i]
		dd := float64(d) * float64(d)
		sin, cos := (a.x*b.y-a.y*b.x)/dd, (a.x*b.x+a.y*b.y)/dd
		if cos > 0 && math.Abs(sin) < flat {
			k := 1 / (1 + cos) // the mitre is (a + b) / (1 + cos θ)
			m := at(ring[i], vec{(a.x + b.x) * k, (a.y + b.y) * k})
			join[i] = &m
		}
	}
	first := max(0, slices.Index(join, nil)) // where no edge shares a side with the one before
	var out []Ring
	var near, far Ring // of the rectangles that share sides so far
	end := func() {
		if len(near) > 1 {
			slices.Reverse(far)
			out = append(out, append(near, far...))
		}
		near, far = nil, nil
	}
	for k := range n {
		i := (first + k) % n
		p, j := ring[i], (i+1)%n
		q := ring[j]
		pn, qn := at(p, normal[i]), at(q, normal[i])
		if join[i] != nil {
			pn = *join[i]
		}
		if join[j] != nil {
			qn = *join[j]
		}
		if join[i] == nil || d <= farArc {
			end()
		}
		if (Ring{p, q, qn, pn}).Area() > 0 {
			if len(near) == 0 {
				near, far = append(near, p), append(far, pn)
			}
			near, far = append(near, q), append(far, qn)
		} else {
			end()
		}
		// The corner at q.
		a, b := normal[i], normal[j]
		if join[j] != nil || a.x*b.y-a.y*b.x > 0 {
			continue
		}
		from := math.Atan2(b.y, b.x)
		turn := math.Mod(math.Atan2(a.y, a.x)-from+4*math.Pi, 2*math.Pi)
		steps := math.Ceil(turn / (2 * math.Acos(1-arcOff)))
		sector := Ring{q}
		for k := 0.0; k <= steps; k++ {
			sin, cos := math.Sincos(from + turn*k/steps)
			sector = append(sector, at(q, vec{cos * float64(d), sin * float64(d)}))
		}
		if sector.Area() > 0 {
			out = append(out, sector)
		}
	}
	end()
	return out
}
