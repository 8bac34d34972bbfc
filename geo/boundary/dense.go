package boundary

import (
	"math"

	"lapwing/geo"
)

const (
	// maxBend is how far an edge, straight in longitude and latitude, may bend
	// away from its chord on a field's plane: a quarter of the 0.1 mm grid's
	// tick, so that it is lost in the rounding to ticks.
	maxBend = 0.025e-3 // metres

	// maxEdge is the longest edge that is cut, in degrees of latitude: 222 km.
	// A longer one reaches beyond any field's plane and is refused there.
	maxEdge = 2

	// maxCuts is the most points put into one edge. maxPoints is the most put into
	// one file, 1,700 km of edges, and cornerPoints how many more for each of its
	// corners, as many as an edge of a mile takes. With more, a few lines of a file
	// make millions of corners.
	maxCuts      = 10_000
	maxPoints    = 50_000
	cornerPoints = 50
)

// dense returns the ring c with points put into its edges so that each piece
// is as good as straight on a plane.
func (d *draft) dense(c []corner) ([]geo.LonLat, error) {
	out := make([]geo.LonLat, 0, len(c))
	d.points += cornerPoints * len(c)
	for i, p := range c {
		a, b := p.at, c[(i+1)%len(c)].at
		out = append(out, a)
		n := pieces(a, b)
		if d.points -= n - 1; d.points < 0 {
			return nil, d.fault(int(p.line), "", "too many long edges", "a field boundary")
		}
		for k := 1; k < n; k++ {
			t := float64(k) / float64(n)
			out = append(out, geo.LonLat{Lon: a.Lon + t*(b.Lon-a.Lon), Lat: a.Lat + t*(b.Lat-a.Lat)})
		}
	}
	return out, nil
}

// pieces is the number of pieces to cut the edge ab into.
//
// A curve r(t), 0 <= t <= 1, stays within max|r"|/8 of its chord, and n pieces
// within 1/n² of that. Along the edge longitude and latitude change evenly, by
// u and v radians. On a sphere of radius R at latitude p the curve's turning,
// the part of r" that shows on the ground, is
//
//	R u² sin p cos p    to the north,
//	2 R u v sin p       to the east,
//
// which for an east-west edge of length L is a bend of L² tan p/(8 R). The
// ellipsoid's radii of curvature lie within 6,400 km. The plane turns straight
// lines a little as well: an equal-area one centred on the field by no more
// than about D/R² for each metre, D the distance from the centre, 71 km at the
// corner of a plane's reach.
func pieces(a, b geo.LonLat) int {
	const (
		radius = 6_400_000.0
		far    = 71_000.0
		rad    = math.Pi / 180
	)
	u, v := math.Abs(b.Lon-a.Lon)*rad, math.Abs(b.Lat-a.Lat)*rad
	low, high := math.Abs(a.Lat), math.Abs(b.Lat)
	if low > high {
		low, high = high, low
	}
	if a.Lat*b.Lat < 0 { // crosses the equator
		low = 0
	}
	sin, cos := math.Sin(high*rad), math.Cos(low*rad)
	length := radius * math.Hypot(u*cos, v)
	if length > radius*maxEdge*rad {
		return 1
	}
	turn := radius*math.Hypot(u*u*sin*cos, 2*u*v*sin) + length*length*far/(radius*radius)
	return min(maxCuts+1, max(1, int(math.Ceil(math.Sqrt(turn/8/maxBend)))))
}
