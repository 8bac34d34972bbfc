package projection

import (
	"fmt"
	"math"

	"lapwing/geo"
)

// An XY is a place as a file has it: easting and northing, or longitude and
// latitude, in the unit of its coordinate system.
type XY struct{ X, Y float64 }

// An edge of a ring is straight on the map it was drawn on. On the Earth it is
// not, and between its ends in longitude and latitude it is a third way: of an
// edge of a mile at 45 degrees north the two are 5 cm apart in the middle.
const (
	// sameEdge is how far they may be apart, in degrees of latitude: 0.1 mm, the
	// grid that fields are measured on.
	sameEdge = 1e-9
	// shortEdge is the longest edge, in metres on the map, that is straight both
	// ways: at 80 degrees north 0.05 mm apart.
	shortEdge = 20
	// longestEdge is the longest that is cut; no field has a longer one.
	longestEdge = 200_000
	// Points put into a ring: ringPoints, and edgePoints more for each corner, as
	// many as an edge of a mile takes. With more, a few lines of a file would make
	// millions of them.
	ringPoints = 5_000
	edgePoints = 50
)

// Ring returns the places of a ring, closed or not, with points put into its
// edges so that each piece is as straight in longitude and latitude as it is on
// the map. from says which corner each place is, or comes after. A ring that s
// does not reach, or that would take too many points, is a [*geo.Fault].
func (s *System) Ring(at []XY) (places []geo.LonLat, from []int32, err error) {
	places, from = make([]geo.LonLat, 0, len(at)), make([]int32, 0, len(at))
	if s.projection == nil { // the caller judges longitudes and latitudes
		for i, p := range at {
			place, _ := s.ToEarth(p.X, p.Y)
			places, from = append(places, place), append(from, int32(i))
		}
		return places, from, nil
	}
	corners := make([]geo.LonLat, len(at))
	for i, p := range at {
		var ok bool
		if corners[i], ok = s.ToEarth(p.X, p.Y); !ok {
			return nil, nil, &geo.Fault{Found: p.String(), Want: s.Reached()}
		}
	}
	left := ringPoints + edgePoints*len(at)
	for i, p := range at {
		places, from = append(places, corners[i]), append(from, int32(i))
		next := (i + 1) % len(at)
		q := at[next]
		n := s.pieces(p, q, corners[i], corners[next])
		if left -= n - 1; left < 0 {
			return nil, nil, &geo.Fault{Found: "too many long edges", Want: "a field boundary"}
		}
		for k := 1; k < n; k++ {
			t := float64(k) / float64(n)
			if place, ok := s.ToEarth(p.X+t*(q.X-p.X), p.Y+t*(q.Y-p.Y)); ok {
				places, from = append(places, place), append(from, int32(i))
			}
		}
	}
	return places, from, nil
}

// pieces is into how many pieces the edge from p to q is cut, whose ends are a
// and b on the Earth. The way between the two lines grows with the square of the
// length, so that n pieces lie within 1/n² of what the whole edge does in its
// middle.
func (s *System) pieces(p, q XY, a, b geo.LonLat) int {
	length := math.Hypot(q.X-p.X, q.Y-p.Y) * s.Unit.Size
	if !(length > shortEdge && length < longestEdge) {
		return 1
	}
	middle, ok := s.ToEarth(p.X+(q.X-p.X)/2, p.Y+(q.Y-p.Y)/2)
	if !ok {
		return 1
	}
	east := math.Remainder(middle.Lon-a.Lon-math.Remainder(b.Lon-a.Lon, 360)/2, 360) * math.Cos(a.Lat*degree)
	return max(1, int(math.Ceil(math.Sqrt(math.Hypot(east, middle.Lat-(a.Lat+b.Lat)/2)/sameEdge))))
}

// String is the coordinates as they stand in messages.
func (p XY) String() string { return fmt.Sprintf("coordinates %.10g, %.10g", p.X, p.Y) }

// Reached is what coordinates must be to lie on the Earth, for messages.
func (s *System) Reached() string {
	if s.projection == nil {
		return "longitude and latitude"
	}
	return fmt.Sprintf("coordinates within reach of %.80s", s.Name)
}
