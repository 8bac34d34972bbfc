package field

import (
	"fmt"

	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// answer is what the reader came to ask, in sentences: is the headland shut,
// what was skipped, what was worked twice.
func (d *Document) answer(u quantity.Units) []string {
	g := d.Map.Totals
	if g.Covered == 0 {
		if u.SomeArea(g.Unlogged) {
			return []string{"Nothing covered that the log tells of; it is silent over " + u.Area(g.Unlogged) + "."}
		}
		return []string{"Nothing covered yet."}
	}
	out := append([]string{words.Headland(u, d.Map)}, d.skipSentences(u)...)
	if u.SomeArea(g.Overlap) {
		out = append(out, fmt.Sprintf("Overlap %s, %s of the field.", u.Area(g.Overlap), words.Share(float64(g.Overlap), float64(g.Field))))
	} else {
		out = append(out, "No overlap.")
	}
	if u.SomeArea(g.OverReach) {
		out = append(out, u.Area(g.OverReach)+" worked outside the boundary.")
	}
	if u.SomeArea(g.Unlogged) {
		out = append(out, "The log is silent over "+u.Area(g.Unlogged)+".")
	}
	return out
}

// skipSentences leave ground that is simply not worked yet out of the skips.
func (d *Document) skipSentences(u quantity.Units) []string {
	g := d.Map.Totals
	skipped := g.Skip - g.Remainder - g.Outlined
	mistakes := d.Mistakes()
	n := len(mistakes)
	var out []string
	switch {
	case !u.SomeArea(skipped):
		out = append(out, "No skips.")
	case n == 0:
		out = append(out, fmt.Sprintf("No skips large enough to list; specks come to %s.", u.Area(skipped)))
	default:
		first := &d.Map.Skips[mistakes[0]]
		where := d.Place(u, first.Place, first.At)
		if n == 1 {
			out = append(out, fmt.Sprintf("1 skip, %s, %s.", u.Area(skipped), where))
		} else {
			out = append(out, fmt.Sprintf("%s, %s; the largest %s, %s.", words.Count(n, "skip"), u.Area(skipped), u.Area(first.Area), where))
		}
	}
	out = append(out, words.Fit(u, d.Map)...)
	if left := g.Remainder - g.Yards; u.SomeArea(left) {
		out = append(out, u.Area(left)+" not worked yet.")
	}
	if u.SomeArea(g.Yards) {
		out = append(out, u.Area(g.Yards)+" inside the boundary that the work goes round: likely a yard, a pond or the like, and not counted as ground still to work.")
	}
	if s := d.finish(u); s != "" {
		out = append(out, s)
	}
	return out
}
