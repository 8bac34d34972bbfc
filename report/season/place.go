package season

import (
	"math"

	"lapwing/geo"
)

// A LonLatBox is the smallest box of longitudes and latitudes around a
// boundary. Longitudes run on from the first past the antimeridian.
type LonLatBox struct {
	West  float64 `json:"west"`
	South float64 `json:"south"`
	East  float64 `json:"east"`
	North float64 `json:"north"`
}

func boxOf(parts []geo.Polygon) LonLatBox {
	b := LonLatBox{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range parts {
		for _, at := range p.Shell {
			if !math.IsInf(b.West, 0) {
				at.Lon = b.West + math.Remainder(at.Lon-b.West, 360)
			}
			b.West, b.South = min(b.West, at.Lon), min(b.South, at.Lat)
			b.East, b.North = max(b.East, at.Lon), max(b.North, at.Lat)
		}
	}
	return b
}

func (b LonLatBox) meets(c LonLatBox) bool {
	if b.West > b.East || c.West > c.East {
		return false
	}
	apart := math.Abs(math.Remainder((b.West+b.East-c.West-c.East)/2, 360)) // of their middles
	return b.South <= c.North && c.South <= b.North && 2*apart <= (b.East-b.West)+(c.East-c.West)
}

// Near reports whether the boxes around two boundaries meet.
func (s *Entry) Near(o *Entry) bool { return s.sketch.Box.meets(o.sketch.Box) }
