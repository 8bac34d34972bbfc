package geojson

import (
	"slices"

	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// crossed returns the meridian on which parts must be cut, 180 degrees east or
// west in longitudes that run on from the field's centre.
func crossed(parts []plane.Polygon) (meridian plane.Length, crosses bool) {
	for _, p := range parts {
		for _, at := range p.Shell {
			switch {
			case at.X > nanoHalf:
				return nanoHalf, true
			case at.X < -nanoHalf:
				return -nanoHalf, true
			}
		}
	}
	return 0, false
}

// cut cuts polygons along a meridian (RFC 7946 section 3.1.9) and takes the
// longitudes of what lies past the antimeridian back within 180 degrees.
func cut(parts []plane.Polygon, meridian plane.Length) (out []plane.Polygon) {
	for _, p := range parts {
		west, east := repair.Halves(p, meridian)
		past := east
		if meridian < 0 {
			past = west
		}
		for _, p := range past {
			for _, r := range p.Rings() {
				for i := range r {
					r[i].X -= 2 * meridian
				}
			}
		}
		out = append(append(out, west...), east...)
	}
	return out
}

// cutLine cuts a line in the same way.
func cutLine(line []plane.Point) [][]plane.Point {
	var out [][]plane.Point
	var part []plane.Point
	var by plane.Length
	for i, p := range line {
		if i > 0 {
			before := line[i-1]
			for _, meridian := range [2]plane.Length{-nanoHalf, nanoHalf} {
				if (before.X <= meridian) != (p.X <= meridian) && before.X != meridian {
					t := float64(meridian-before.X) / float64(p.X-before.X)
					end := plane.Point{X: meridian + by, Y: before.Y + plane.Round(t*float64(p.Y-before.Y))}
					part = append(part, end)
					out = append(out, part)
					part = []plane.Point{{X: -end.X, Y: end.Y}}
				}
			}
		}
		by = 0
		switch {
		case p.X > nanoHalf:
			by = -2 * nanoHalf
		case p.X < -nanoHalf:
			by = 2 * nanoHalf
		}
		part = append(part, plane.Point{X: p.X + by, Y: p.Y})
	}
	out = append(out, part)
	for i := range out {
		out[i] = slices.Compact(out[i])
	}
	return slices.DeleteFunc(out, func(l []plane.Point) bool { return len(l) < 2 })
}
