package season

import (
	"math"

	"lapwing/geo"
)

// A lonLatBox is the smallest box of longitudes and latitudes around a
// boundary. Longitudes run on from the first past the antimeridian.
type lonLatBox struct{ west, south, east, north float64 }

func boxOf(parts []geo.Polygon) lonLatBox {
	b := lonLatBox{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range parts {
		for _, at := range p.Shell {
			if !math.IsInf(b.west, 0) {
				at.Lon = b.west + math.Remainder(at.Lon-b.west, 360)
			}
			b.west, b.south = min(b.west, at.Lon), min(b.south, at.Lat)
			b.east, b.north = max(b.east, at.Lon), max(b.north, at.Lat)
		}
	}
	return b
}

func (b lonLatBox) meets(c lonLatBox) bool {
	if b.west > b.east || c.west > c.east {
		return false
	}
	apart := math.Abs(math.Remainder((b.west+b.east-c.west-c.east)/2, 360)) // of their middles
	return b.south <= c.north && c.south <= b.north && 2*apart <= (b.east-b.west)+(c.east-c.west)
}

// Near reports whether the boxes around two boundaries meet.
func (s *Sheet) Near(o *Sheet) bool { return s.box.meets(o.box) }
