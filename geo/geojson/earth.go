package geojson

import (
	"lapwing/geo"
	"lapwing/geo/plane"
)

// An Earth gives shapes on a frame's plane as places on the Earth, the same that a
// [Writer] writes: rounded to nine decimals, valid after that, cut at the antimeridian.
// Several may ask it at a time.
type Earth struct{ frame *lonLatFrame }

// NewEarth returns the Earth below a frame.
func NewEarth(frame geo.Frame) Earth { return Earth{newLonLatFrame(frame)} }

// Polygons returns polygons, which do not overlap, as polygons on the Earth. Their rings
// end where they begin. What is narrower than the ninth decimal is left out.
func (e Earth) Polygons(polygons ...plane.Polygon) (out []geo.Polygon) {
	for _, p := range polygons {
		parts, _ := e.frame.polygon(p)
		for _, part := range parts {
			one := geo.Polygon{Shell: degrees(part.Shell, true)}
			for _, hole := range part.Holes {
				one.Holes = append(one.Holes, degrees(hole, true))
			}
			out = append(out, one)
		}
	}
	return out
}

// Line returns a line on the Earth, in parts where the antimeridian cuts it.
func (e Earth) Line(line []plane.Point) (out [][]geo.LonLat) {
	for _, part := range cutLine(e.frame.line(line)) {
		out = append(out, degrees(part, false))
	}
	return out
}

func degrees(places []plane.Point, close bool) []geo.LonLat {
	out := make([]geo.LonLat, 0, len(places)+1)
	for _, p := range places {
		out = append(out, geo.LonLat{Lon: float64(p.X) / float64(nanoDegree), Lat: float64(p.Y) / float64(nanoDegree)})
	}
	if close {
		out = append(out, out[0])
	}
	return out
}
