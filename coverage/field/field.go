package field

import (
	"fmt"
	"math"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// Room is how much farther the grid reaches than boundaries and fixes may lie:
// an implement and a headland must fit into it. None is near as large.
const Room = plane.Kilometre

// A Field is the ground to work: its boundary on the plane of its own frame.
// Holes are ground not to be worked.
type Field struct {
	Name     string
	Frame    geo.Frame
	Boundary []plane.Polygon
	// Worked says that no boundary was given and that the outer edge of the
	// worked ground stands in for it. Stand-off and over-reach have no meaning
	// then.
	Worked bool
}

// NewField lays the parts of a boundary flat around their middle. It fails if
// a part reaches farther from there than the grid does, and if none holds
// ground.
func NewField(name string, parts []geo.Polygon) (Field, error) {
	west, east := math.Inf(1), math.Inf(-1)
	south, north := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		for _, at := range p.Shell {
			west, east = min(west, at.Lon), max(east, at.Lon)
			south, north = min(south, at.Lat), max(north, at.Lat)
		}
	}
	if math.IsInf(west, 0) {
		return Field{}, fmt.Errorf("the boundary has no ring")
	}
	f := Field{Name: name, Frame: geo.NewFrame(geo.LonLat{Lon: (west + east) / 2, Lat: (south + north) / 2})}
	var area plane.Area
	for _, p := range parts {
		shell, err := f.ring(p.Shell)
		if err != nil {
			return Field{}, err
		}
		poly := plane.Polygon{Shell: shell}
		for _, h := range p.Holes {
			hole, err := f.ring(h)
			if err != nil {
				return Field{}, err
			}
			poly.Holes = append(poly.Holes, hole)
		}
		f.Boundary = append(f.Boundary, poly)
		area += poly.Area()
	}
	if area <= 0 {
		return Field{}, fmt.Errorf("the boundary encloses no ground")
	}
	return f, nil
}

// ring lays one ring flat, on the grid.
func (f *Field) ring(places []geo.LonLat) (plane.Ring, error) {
	ring := make(plane.Ring, 0, len(places))
	for _, at := range places {
		p, ok := f.Frame.ToPlane(at)
		const reach = plane.Reach - Room
		if !ok || max(p.X, -p.X, p.Y, -p.Y) > reach {
			return nil, fmt.Errorf("the boundary reaches more than %d km from its middle, at longitude %.6f, latitude %.6f",
				reach/plane.Kilometre, at.Lon, at.Lat)
		}
		if n := len(ring); n == 0 || ring[n-1] != p {
			ring = append(ring, p)
		}
	}
	for len(ring) > 1 && ring[0] == ring[len(ring)-1] {
		ring = ring[:len(ring)-1]
	}
	return ring, nil
}

// Corners returns how many corners the boundary has, holes included.
func (f *Field) Corners() int {
	n := 0
	for _, p := range f.Boundary {
		for _, r := range p.Rings() {
			n += len(r)
		}
	}
	return n
}

// Perimeter returns the length of the boundary, holes included.
func (f *Field) Perimeter() plane.Distance {
	var sum plane.Distance
	for _, p := range f.Boundary {
		for _, r := range p.Rings() {
			sum += r.Length()
		}
	}
	return sum
}
