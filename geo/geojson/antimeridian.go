package geojson

import (
	"cmp"
	"slices"
)

// crossed returns the meridian on which parts must be cut, 180 degrees east or
// west in longitudes that run on from the field's centre.
func crossed(parts []nanoPolygon) (meridian int64, crosses bool) {
	for _, p := range parts {
		for _, at := range p[0] {
			switch {
			case at.lon > nanoHalf:
				return nanoHalf, true
			case at.lon < -nanoHalf:
				return -nanoHalf, true
			}
		}
	}
	return 0, false
}

// cut cuts polygons along a meridian (RFC 7946 section 3.1.9) and takes the
// longitudes of what lies past the antimeridian back within 180 degrees.
func cut(parts []nanoPolygon, meridian int64) (out []nanoPolygon, lost int) {
	for _, p := range parts {
		west, east := split(p, meridian)
		for side, edges := range [2][]nanoEdge{west, east} {
			pieces, n := trace(edges)
			lost += n
			for _, piece := range pieces {
				// The cut's corners are rounded too: once more.
				mended, n := mend(piece)
				lost += n
				for _, m := range mended {
					shift(m, meridian, side == 0)
				}
				out = append(out, mended...)
			}
		}
	}
	return out, lost
}

// split gives the edges west and east of the meridian, closed along it.
func split(p nanoPolygon, meridian int64) (west, east []nanoEdge) {
	for _, e := range edgesOf(p) {
		if (e.a.lon < meridian && e.b.lon > meridian) || (e.a.lon > meridian && e.b.lon < meridian) {
			at := e.atMeridian(meridian)
			west, east = sided(west, east, nanoEdge{e.a, at}, meridian)
			west, east = sided(west, east, nanoEdge{at, e.b}, meridian)
			continue
		}
		west, east = sided(west, east, e, meridian)
	}
	return closed(west, meridian, 1), closed(east, meridian, -1)
}

// sided adds e to the side it lies on. An edge along the meridian belongs to
// the side of its ground: to the west if it runs north.
func sided(west, east []nanoEdge, e nanoEdge, meridian int64) (w, x []nanoEdge) {
	along := e.a.lon == meridian && e.b.lon == meridian
	if along && e.b.lat > e.a.lat || !along && min(e.a.lon, e.b.lon) < meridian {
		return append(west, e), east
	}
	return west, append(east, e)
}

func (e nanoEdge) atMeridian(meridian int64) nano {
	t := float64(meridian-e.a.lon) / float64(e.b.lon-e.a.lon)
	return nano{meridian, e.a.lat + int64(roundHalfUp(t*float64(e.b.lat-e.a.lat)))}
}

// closed adds the edges along the meridian that lead from where the others
// arrive to where they leave: northward (1) for ground to the west of it,
// southward (-1) for ground to the east.
func closed(edges []nanoEdge, meridian int64, way int64) []nanoEdge {
	arriving := map[int64]int{} // by latitude, in the order of the way
	for _, e := range edges {
		if e.b.lon == meridian {
			arriving[way*e.b.lat]++
		}
		if e.a.lon == meridian {
			arriving[way*e.a.lat]--
		}
	}
	stops := make([]int64, 0, len(arriving))
	for s := range arriving {
		stops = append(stops, s)
	}
	slices.SortFunc(stops, cmp.Compare)
	open := 0
	for i := 0; i+1 < len(stops); i++ {
		open += arriving[stops[i]]
		for range open {
			edges = append(edges, nanoEdge{nano{meridian, way * stops[i]}, nano{meridian, way * stops[i+1]}})
		}
	}
	return edges
}

// shift brings a polygon on one side of the meridian back within 180 degrees.
func shift(p nanoPolygon, meridian int64, west bool) {
	var by int64
	switch {
	case meridian > 0 && !west:
		by = -2 * nanoHalf
	case meridian < 0 && west:
		by = 2 * nanoHalf
	default:
		return
	}
	for _, r := range p {
		for i := range r {
			r[i].lon += by
		}
	}
}

// cutLine cuts a line in the same way.
func cutLine(line []nano) [][]nano {
	var out [][]nano
	var part []nano
	var by int64
	for i, p := range line {
		if i > 0 {
			e := nanoEdge{line[i-1], p}
			for _, meridian := range [2]int64{-nanoHalf, nanoHalf} {
				if (e.a.lon <= meridian) != (p.lon <= meridian) && e.a.lon != meridian {
					at := e.atMeridian(meridian).lat
					end := nano{meridian + by, at}
					part = append(part, end)
					out = append(out, part)
					part = []nano{{-end.lon, at}}
				}
			}
		}
		by = 0
		switch {
		case p.lon > nanoHalf:
			by = -2 * nanoHalf
		case p.lon < -nanoHalf:
			by = 2 * nanoHalf
		}
		part = append(part, nano{p.lon + by, p.lat})
	}
	out = append(out, part)
	for i := range out {
		out[i] = slices.Compact(out[i])
	}
	return slices.DeleteFunc(out, func(l []nano) bool { return len(l) < 2 })
}
