// Package outline makes boundaries of what a person drew: a ring is a field, or ground
// that is taken out of one.
package outline

import (
	"bytes"
	"fmt"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/geo"
	"lapwing/geo/arrange"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
	"lapwing/report/desk/draw"
)

// refused is the error for a line that makes no boundary.
func refused(found, want string) error { return &job.InputError{Found: found, Want: want} }

// Places are the corners of a ring as the page sends them: longitude, latitude.
func Places(ring [][2]float64) (places []geo.LonLat) {
	for _, at := range ring {
		places = append(places, geo.LonLat{Lon: at[0], Lat: at[1]})
	}
	return places
}

// CutOut takes ground out of a field: a yard, a slough.
func CutOut(f field.Field, places []geo.LonLat) (field.Field, error) {
	hole, err := ringOn(f.Frame, places)
	if err != nil {
		return f, err
	}
	var boundary arrange.Layer
	before := areaOf(f)
	for _, part := range f.Boundary {
		boundary = append(boundary, part.Rings()...)
	}
	f.Boundary = ground([]arrange.Layer{boundary, {hole}, {hole.Reversed()}}, func(under []int) bool {
		return slices.Contains(under, 0) && len(under) == 1
	})
	switch after := areaOf(f); {
	case after == 0:
		return f, refused("found a hole that leaves nothing of the field", "a smaller one")
	case after == before:
		return f, refused("found a hole beside the field", "one on it")
	}
	return f, nil
}

// Drawn is a field whose boundary a person drew, whichever way round. Where the line
// crosses itself the field is all that it goes round.
func Drawn(name string, places []geo.LonLat) (field.Field, error) {
	x := geo.NoExtent()
	for _, at := range places {
		x.Add(at)
	}
	frame, ok := draw.FrameAround(x)
	if !ok {
		return field.Field{}, refused("found a ring without corners", "three or more")
	}
	ring, err := ringOn(frame, places)
	if err != nil {
		return field.Field{}, err
	}
	f := field.Field{Name: name, Frame: frame}
	f.Boundary = ground([]arrange.Layer{{ring}, {ring.Reversed()}}, func(under []int) bool { return len(under) > 0 })
	if areaOf(f) == 0 {
		return f, refused("found a ring without ground in it", "one around the field")
	}
	return f, nil
}

// ringOn lays a drawn ring on the plane.
func ringOn(frame geo.Frame, places []geo.LonLat) (ring plane.Ring, err error) {
	for _, at := range places {
		p, ok := frame.ToPlane(at)
		if !ok || max(p.X, -p.X, p.Y, -p.Y) > plane.Reach-field.Room {
			return nil, refused("found a corner more than 49 km from the field", "one near it")
		}
		if len(ring) == 0 || ring[len(ring)-1] != p {
			ring = append(ring, p)
		}
	}
	if len(ring) > 1 && ring[0] == ring[len(ring)-1] {
		ring = ring[:len(ring)-1]
	}
	if len(ring) < 3 {
		return nil, refused(fmt.Sprintf("found a ring of %d corners", len(ring)), "three or more")
	}
	return ring, nil
}

// mostCrossings is how often the edges of a drawn ring may cross one another and those
// of the boundary: a line that a hand drew crosses itself a few times.
const mostCrossings = 100_000

// ground is what lies under layers as is wanted, in polygons; none where their edges
// cross too often.
func ground(layers []arrange.Layer, wanted func(under []int) bool) (polygons []plane.Polygon) {
	cut, err := arrange.NewBudget(mostCrossings).Cut(layers, func(under []int) arrange.Label {
		if wanted(under) {
			return 1
		}
		return arrange.None
	})
	if err != nil {
		return nil
	}
	for i := range cut.Faces {
		if face := &cut.Faces[i]; face.Label == 1 {
			polygons = append(polygons, face.Shape)
		}
	}
	return polygons
}

func areaOf(f field.Field) (sum plane.Area) {
	for i := range f.Boundary {
		sum += f.Boundary[i].Area()
	}
	return sum
}

// Written is a field as a boundary file.
func Written(f field.Field) ([]byte, error) {
	var b bytes.Buffer
	w := geojson.NewWriter(&b, f.Frame, func(m *geojson.Members) { m.Text("generator", "lapwing") })
	for _, part := range f.Boundary {
		w.Feature(w.Polygon(part), func(m *geojson.Members) { m.Text("name", f.Name) })
	}
	err := w.Close(nil)
	return b.Bytes(), err
}
