package report

import (
	"fmt"
	"math"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// placeText says where a patch is so that a person can walk to it: "410 ft from
// the north end of pass 14, left side"; where no pass is near, its longitude
// and latitude.
func placeText(u quantity.Units, frame *geo.Frame, p coverage.Place, at plane.Point) string {
	if p.Pass == 0 {
		e := frame.ToEarth(at)
		return "at " + lonLat(e.Lon, e.Lat)
	}
	s := fmt.Sprintf("%s along pass %d", u.Length(p.Along), p.Pass)
	switch {
	case p.From != "" && p.Along < float64(plane.Metre): // nearer than anyone paces
		s = fmt.Sprintf("at the %s end of pass %d", p.From, p.Pass)
	case p.From != "":
		s = fmt.Sprintf("%s from the %s end of pass %d", u.Length(p.Along), p.From, p.Pass)
	}
	if p.Side != "" {
		s += ", " + p.Side + " side"
	}
	return s
}

func (r *Assessment) place(u quantity.Units, p coverage.Place, at plane.Point) string {
	return placeText(u, &r.Map.Field.Frame, p, at)
}

// lonLat writes a place on the Earth to a metre.
func lonLat(lon, lat float64) string {
	ns, ew := "N", "E"
	if lat < 0 {
		ns = "S"
	}
	if lon < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.5f %s, %.5f %s", math.Abs(lat), ns, math.Abs(lon), ew)
}

// answer is what the reader came to ask, in sentences: is the headland shut,
// what was skipped, what was worked twice.
func (r *Report) answer(u quantity.Units) []string {
	g := r.Map.Ground
	if g.Covered == 0 {
		if g.Unlogged > 0 {
			return []string{"Nothing covered that the log tells of; it is silent over " + u.Area(g.Unlogged) + "."}
		}
		return []string{"Nothing covered yet."}
	}
	out := append([]string{words.Headland(u, r.Map)}, r.skipSentences(u)...)
	if g.Overlap > 0 {
		out = append(out, fmt.Sprintf("Overlap %s, %s of the field.", u.Area(g.Overlap), words.Share(float64(g.Overlap), float64(g.Field))))
	} else {
		out = append(out, "No overlap.")
	}
	if g.OverReach > 0 {
		out = append(out, u.Area(g.OverReach)+" worked outside the boundary.")
	}
	if g.Unlogged > 0 {
		out = append(out, "The log is silent over "+u.Area(g.Unlogged)+".")
	}
	return out
}

// skipSentences leave ground that is simply not worked yet out of the skips.
func (r *Report) skipSentences(u quantity.Units) []string {
	g := r.Map.Ground
	skipped := g.Skip - g.Remainder
	largest, n := r.mistakes()
	var out []string
	switch {
	case skipped == 0:
		out = append(out, "No skips.")
	case n == 0:
		out = append(out, fmt.Sprintf("No skips large enough to list; specks come to %s.", u.Area(skipped)))
	default:
		first := &r.Map.Skips[largest]
		where := r.place(u, first.Place, first.At)
		if n == 1 {
			out = append(out, fmt.Sprintf("1 skip, %s, %s.", u.Area(skipped), where))
		} else {
			out = append(out, fmt.Sprintf("%s, %s; the largest %s, %s.", words.Count(n, "skip"), u.Area(skipped), u.Area(first.Area), where))
		}
	}
	if g.Remainder > 0 {
		out = append(out, u.Area(g.Remainder)+" not worked yet.")
	}
	if s := r.finish(u); s != "" {
		out = append(out, s)
	}
	return out
}

// mistakes counts the listed skips that are not just ground still to be
// worked, and gives the index of the largest.
func (r *Assessment) mistakes() (largest, n int) {
	l := r.skips()
	largest = -1
	for _, i := range l.order[:l.listed] {
		if r.Map.Skips[i].Cause != coverage.Unworked {
			if n++; largest < 0 {
				largest = i
			}
		}
	}
	return largest, n
}
