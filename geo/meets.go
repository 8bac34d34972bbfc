package geo

// MeetsGround reports whether the box and polygons have a place in common. Edges are
// straight in longitude and latitude, and longitudes are within 180 degrees in both.
func (x Extent) MeetsGround(polygons []Polygon) bool {
	for _, p := range polygons {
		inside := false
		for _, ring := range append([][]LonLat{p.Shell}, p.Holes...) {
			if x.meetsLine(ring) {
				return true
			}
			inside = inside != around(ring, LonLat{x.West, x.South})
		}
		// No edge comes into the box: all of it is inside or none.
		if inside {
			return true
		}
	}
	return false
}

// MeetsLines is [Extent.MeetsGround] for lines.
func (x Extent) MeetsLines(lines [][]LonLat) bool {
	for _, l := range lines {
		if x.meetsLine(l) {
			return true
		}
	}
	return false
}

func (x Extent) meetsLine(l []LonLat) bool {
	for i := 1; i < len(l); i++ {
		if x.meetsEdge(l[i-1], l[i]) {
			return true
		}
	}
	return len(l) == 1 && x.meetsEdge(l[0], l[0])
}

// meetsEdge cuts an edge with the box's four sides: Y.-D. Liang and B. A. Barsky, "A New
// Concept and Method for Line Clipping", 1984.
func (x Extent) meetsEdge(a, b LonLat) bool {
	from, to := 0., 1.
	for _, side := range [4]struct{ towards, left float64 }{
		{a.Lon - b.Lon, a.Lon - x.West}, {b.Lon - a.Lon, x.East - a.Lon},
		{a.Lat - b.Lat, a.Lat - x.South}, {b.Lat - a.Lat, x.North - a.Lat},
	} {
		switch {
		case side.towards == 0:
			if side.left < 0 {
				return false
			}
		case side.towards < 0: // it comes in here
			from = max(from, side.left/side.towards)
		default:
			to = min(to, side.left/side.towards)
		}
	}
	return from <= to
}

// around reports whether a closed ring goes around a place.
func around(ring []LonLat, p LonLat) (inside bool) {
	for i := 1; i < len(ring); i++ {
		a, b := ring[i-1], ring[i]
		if (a.Lat > p.Lat) != (b.Lat > p.Lat) && p.Lon < a.Lon+(p.Lat-a.Lat)/(b.Lat-a.Lat)*(b.Lon-a.Lon) {
			inside = !inside
		}
	}
	return inside
}
