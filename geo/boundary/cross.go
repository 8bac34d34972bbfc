package boundary

import (
	"fmt"
	"math"

	"lapwing/geo"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// What a ring that is meant not to cross itself may cross by: rounding carries each of
// two corners by half a unit of the last digit each way, and a file that was turned
// from a map's coordinates was rounded there, to centimetres or so. Judgement, but
// for the units. TestGeoJSONRepairs fails where barely is halved or doubled.
const (
	barely     = 0.05 // m, however many digits a ring has
	mostBarely = 2.5  // m, however few
)

// metresPerDegree is that of a meridian, to a hundredth.
const metresPerDegree = 111_000

// uncrossed is the ground of a ring that crosses itself, where it does so barely: by
// less than the rounding of its corners makes of one that does not.
func (d *draft) uncrossed(r ring, c []corner) (outer, inner [][]corner, ok bool) {
	within := min(mostBarely, max(barely, 2*metresPerDegree*lastDigit(c)))
	east := metresPerDegree * math.Cos(c[0].at.Lat*math.Pi/180) / perDegree
	const north = metresPerDegree / float64(perDegree)
	// No circle in a polygon is wider than four times its area by its perimeter.
	thin := func(p plane.Polygon) bool {
		var area, round float64
		for _, ring := range p.Rings() {
			for i, a := range ring {
				b := ring[(i+1)%len(ring)]
				// From the first corner, so that few digits are lost.
				ax, ay := float64(a.X-p.Shell[0].X)*east, float64(a.Y-p.Shell[0].Y)*north
				bx, by := float64(b.X-p.Shell[0].X)*east, float64(b.Y-p.Shell[0].Y)*north
				area += (ax*by - bx*ay) / 2
				round += math.Hypot(bx-ax, by-ay)
			}
		}
		return 4*math.Abs(area) <= within*round
	}
	ground, ok := repair.Uncross(flat(c), thin, arrange.NewBudget(crossingsAtLeast+len(c)))
	if !ok {
		return nil, nil, false
	}
	d.note(r.line, "ring crosses itself by less than %s, as rounding makes it; repaired", rounded(within))
	known := map[plane.Point]corner{}
	for _, one := range c {
		known[one.Point] = one
	}
	for _, p := range ground {
		outer = append(outer, cornersOf(p.Shell, known, r.line))
		for _, h := range p.Holes {
			inner = append(inner, cornersOf(h, known, r.line))
		}
	}
	return outer, inner, true
}

// rounded is a short length in metres for a note, rounded up.
func rounded(m float64) string {
	if m < 1 {
		return fmt.Sprintf("%.0f cm", math.Ceil(100*m-1e-9))
	}
	return fmt.Sprintf("%.1f m", math.Ceil(10*m)/10)
}

// lastDigit is the unit, in degrees, of the last digit that a ring's corners have.
func lastDigit(c []corner) float64 {
	unit := plane.Length(perDegree)
	for _, one := range c {
		for unit > 1 && (one.X%unit != 0 || one.Y%unit != 0) {
			unit /= 10
		}
	}
	return float64(unit) / perDegree
}

// cornersOf are the corners of a ring by their places; known are those that the file
// has, others are where edges cross.
func cornersOf(r plane.Ring, known map[plane.Point]corner, line int) []corner {
	out := make([]corner, len(r))
	for i, p := range r {
		c, ok := known[p]
		if !ok {
			c = corner{p, geo.LonLat{Lon: float64(p.X) / perDegree, Lat: float64(p.Y) / perDegree}, int32(line)}
		}
		out[i] = c
	}
	return out
}
