package feature

import (
	"bytes"
	"errors"
	"strings"

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

// SystemBeside is the coordinate system that stands beside a file, in the .prj that
// belongs to it; nil where there is none, or an empty one. beside finds the files that
// belong to a file, by their ending; nil finds none. An error of what stands in it is a
// [*geo.Fault].
func SystemBeside(beside func(ending string) ([]byte, error)) (*projection.System, error) {
	if beside == nil {
		return nil, nil
	}
	prj, err := beside(".prj")
	if err != nil || len(bytes.TrimSpace(prj)) == 0 {
		return nil, err
	}
	system, err := projection.Parse(string(prj))
	var fault *geo.Fault
	if errors.As(err, &fault) {
		inside := *fault
		inside.Where = strings.TrimSuffix(".prj: "+fault.Where, ": ")
		return nil, &inside
	}
	return system, err
}
