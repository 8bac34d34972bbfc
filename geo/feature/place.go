package feature

import (
	"errors"

	"lapwing/geo"
	"lapwing/geo/projection"
)

// PointAt is a feature that is a point with the coordinates p in a system.
func PointAt(s *projection.System, p projection.XY) Point {
	at, ok := s.ToEarth(p.X, p.Y)
	if !ok && s.Projected() {
		return Point{Placed: true, Beyond: p.String()}
	}
	return Point{At: at, Placed: true}
}

// RingAt is a ring of coordinates in a system, at where; lines are those of the
// coordinates, nil where the format has none. An error is a [*geo.Fault].
func RingAt(s *projection.System, where string, at []projection.XY, lines []int32) (Ring, error) {
	places, from, err := s.Ring(at)
	var fault *geo.Fault
	if errors.As(err, &fault) {
		fault.Where = where
	}
	if err != nil {
		return Ring{}, err
	}
	r := Ring{Where: where, At: places}
	for _, corner := range from {
		if int(corner) < len(lines) {
			r.Lines = append(r.Lines, lines[corner])
		}
	}
	return r, nil
}
