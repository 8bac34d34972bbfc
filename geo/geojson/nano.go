package geojson

import (
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// On their way to be written places are whole billionths of a degree: the
// ninth decimal, about the size of a tick, is the last that is written. They are
// held as points, X the longitude and Y the latitude. While a shape is being
// made ready its longitudes run on past 180 degrees.
const (
	nanoDegree plane.Length = 1_000_000_000
	nanoHalf                = 180 * nanoDegree // the antimeridian
)

// maxBow is how far an edge that is straight on the plane may lie from the
// one that is straight in longitude and latitude between the same two ends, in
// ticks. The field's long edges and the short ones of the regions along them
// part by this much at most. Larger shows at the scale of an opener; smaller
// cuts straight passes up for nothing.
const maxBow = float64(plane.Millimetre)

// pieces returns in how many parts an edge of the given length in ticks must
// be cut to stay within [maxBow].
//
// A line straight in longitude and latitude with azimuth θ bends on the ground
// by tan φ · cos θ (1 + sin² θ) / R, which is at most 1.09 tan φ / R; the plane
// itself bends straight lines by less than 0.02 / R within its reach, 71 km =
// 0.011 R at the corners. An arc of curvature k and length l stands k l² / 8
// above its chord.
func (f *lonLatFrame) pieces(length plane.Distance, lat float64) int {
	if length < f.uncut {
		return 1
	}
	return int(min(max(math.Ceil(float64(length/longest(lat))), 1), 1e6))
}

// longest is the length up to which an edge stays within [maxBow].
func longest(lat float64) plane.Distance {
	const radius = 6.33e6 * float64(plane.Metre) // the smallest radius of curvature is 6,335 km
	bend := (1.09*math.Abs(math.Tan(lat*math.Pi/180)) + 0.02) / radius
	return plane.Distance(math.Sqrt(8 * maxBow / bend))
}

// A lonLatFrame turns shapes on the plane into places on the Earth.
type lonLatFrame struct {
	geo.Frame
	grid   *geo.InverseGrid
	centre plane.Length   // its longitude: those of a shape run on from here
	uncut  plane.Distance // shorter edges need no cutting anywhere on the frame
}

func newLonLatFrame(f geo.Frame) *lonLatFrame {
	// The frame reaches less than a degree from its centre.
	steepest := min(math.Abs(f.Centre.Lat)+1, 90)
	return &lonLatFrame{Frame: f, grid: geo.NewInverseGrid(f), centre: toNano(f.Centre.Lon), uncut: longest(steepest)}
}

// toNano rounds halves upward, like the grid.
func toNano(degrees float64) plane.Length { return plane.Round(degrees * float64(nanoDegree)) }

// place rounds the place of p. Only where the grid cannot tell which way to
// round is the frame asked: two in a thousand.
func (f *lonLatFrame) place(p plane.Point) plane.Point {
	at := f.grid.ToEarth(p)
	lon, sureOfLon := sureNano(at.Lon)
	lat, sureOfLat := sureNano(at.Lat)
	if sureOfLon && sureOfLat {
		return plane.Point{X: lon, Y: lat}
	}
	return f.round(f.ToEarth(p))
}

// sureNano is toNano, and whether it would be the same for all degrees within
// [geo.InverseGridError].
func sureNano(degrees float64) (plane.Length, bool) {
	const doubt = geo.InverseGridError * float64(nanoDegree)
	up := degrees*float64(nanoDegree) + 0.5
	whole := math.Floor(up)
	return plane.Length(whole), up-whole > doubt && up-whole < 1-doubt
}

func (f *lonLatFrame) round(p geo.LonLat) plane.Point {
	at := plane.Point{X: toNano(p.Lon), Y: toNano(p.Lat)}
	switch { // the short way round from the centre
	case at.X-f.centre > nanoHalf:
		at.X -= 2 * nanoHalf
	case at.X-f.centre < -nanoHalf:
		at.X += 2 * nanoHalf
	}
	return at
}

// ring rounds a ring, long edges cut up and repeated places dropped. What is
// left may have collapsed: [repair.Polygons] looks into that.
func (f *lonLatFrame) ring(r plane.Ring) plane.Ring {
	out := make(plane.Ring, 0, len(r))
	for i, p := range r {
		out = f.edge(out, p, r[(i+1)%len(r)])
	}
	return slices.Compact(out)
}

// line rounds an open line in the same way.
func (f *lonLatFrame) line(l []plane.Point) []plane.Point {
	var out []plane.Point
	for i := 1; i < len(l); i++ {
		out = f.edge(out, l[i-1], l[i])
	}
	if len(l) > 0 {
		out = append(out, f.place(l[len(l)-1]))
	}
	return slices.Compact(out)
}

// edge appends a and the places between a and b.
func (f *lonLatFrame) edge(out []plane.Point, a, b plane.Point) []plane.Point {
	at := f.place(a)
	out = append(out, at)
	n := f.pieces(a.Distance(b), float64(at.Y)/float64(nanoDegree))
	for i := 1; i < n; i++ {
		// From the lesser end, so that both neighbours of an edge cut it alike.
		p, q, k := a, b, float64(i)/float64(n)
		if q.Less(p) {
			p, q, k = b, a, 1-k
		}
		out = append(out, f.round(f.FromMetres(
			p.X.Metres()+k*(q.X-p.X).Metres(), p.Y.Metres()+k*(q.Y-p.Y).Metres())))
	}
	return out
}

// polygon returns p as valid polygons in longitude and latitude, cut at the
// antimeridian, and how many rings were lost because they are narrower than
// the ninth decimal.
func (f *lonLatFrame) polygon(p plane.Polygon) (parts []plane.Polygon, lost int) {
	rings := make([]plane.Ring, 0, 1+len(p.Holes))
	rings = append(rings, turned(f.ring(p.Shell), p.Shell.Area() < 0))
	for _, h := range p.Holes {
		rings = append(rings, turned(f.ring(h), h.Area() > 0))
	}
	parts, lost = repair.Polygons(rings)
	if meridian, crosses := crossed(parts); crosses {
		parts = cut(parts, meridian)
	}
	return parts, lost
}

func turned(r plane.Ring, turn bool) plane.Ring {
	if turn {
		slices.Reverse(r)
	}
	return r
}
