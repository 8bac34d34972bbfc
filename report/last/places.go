package last

import (
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/words"
)

// A place is somewhere to go, or to know of: an opening of the headland or a skip
// beside a pass. It has one label on the map, on the charts and in the list.
type place struct {
	label string // "E1" of an opening, "2" of skip 2
	key   string // of its shape on the map
	at    plane.Point
	says  func(u quantity.Units) string
}

// places are what is worth driving for, in the order of the findings: openings, the
// longest first, then skips in driving order.
func (d *Document) places() []place {
	var out []place
	v := &d.Verdict
	for i := range v.Openings {
		o := &v.Openings[i]
		out = append(out, place{
			chart.OpeningLabel(o.Opening), chart.OpeningKey(o.Opening), o.At,
			func(u quantity.Units) string { return words.Capital(d.openingWords(u, o)) },
		})
	}
	if v.Back == nil {
		return out
	}
	numbers, told := d.SkipNumbers(), make([]bool, len(v.Back.Plan.Places))
	for i := range v.Back.Plan.Stops {
		at := v.Back.Plan.Stops[i].Run.Place
		if told[at] {
			continue
		}
		told[at] = true
		largest := v.Back.Plan.Places[at][0]
		out = append(out, place{
			fmt.Sprint(numbers[largest]), chart.SkipKey(numbers[largest]), d.Map.Skips[largest].At,
			func(u quantity.Units) string { return d.skipWords(u, at) },
		})
	}
	return out
}

// skipWords tell of the skips at a place: their size, where along the pass they are, and
// how to get there: "Skip 2, 0.02 ac: 145 ft back, right-hand end: 8 in bare; 495 ft to
// the north-west, about 3 min".
func (d *Document) skipWords(u quantity.Units, at int) string {
	plan, numbers := d.Verdict.Back.Plan, d.SkipNumbers()
	skips := plan.Places[at]
	var area plane.Area
	names := make([]string, len(skips))
	for i, k := range skips {
		area += d.Map.Skips[k].Area
		names[i] = fmt.Sprint(numbers[k])
	}
	noun := "Skip"
	if len(names) > 1 {
		noun = "Skips"
	}
	largest := &d.Map.Skips[skips[0]]
	where := d.Place(u, largest.Place, largest.At)
	if g := d.gapOf(largest); g != nil {
		where = gapWords(u, g.pass.Pass, g.gap, g.side)
	}
	return fmt.Sprintf("%s %s, %s: %s; %s, about %s", noun, strings.Join(names, ", "), u.Area(area), where,
		d.wayTo(u, largest.At), words.Minutes(plan.PlaceTime(at, d.Map.MeanSpeed())))
}

// gapOf returns the gap of a pass asked about that lies in a skip; nil where none does.
func (d *Document) gapOf(s *cause.Skip) *gap {
	gaps := d.gaps()
	for i := range gaps {
		if d.Map.Regions[s.Region].Shape.Contains(gaps[i].gap.At) {
			return &gaps[i]
		}
	}
	return nil
}

// labelAt is the label of the skip that a gap lies in; "" where it is too small for one.
func (d *Document) labelAt(g *beside.SeamGap) string {
	for number, i := range d.Skips().Each() {
		if d.Map.Regions[d.Map.Skips[i].Region].Shape.Contains(g.At) {
			return fmt.Sprint(number)
		}
	}
	return ""
}

// Beyond says in a sentence what is not worth driving for: openings and gaps, counted.
// "" where there is none.
func (d *Document) Beyond(u quantity.Units) string {
	v := &d.Verdict
	n := 0
	open := -v.NotWorkedYet
	outlined := d.Map.Headland.Outlined
	for i, o := range d.openings() {
		if i < len(outlined) && outlined[i] {
			continue // told as how the edge fits
		}
		if open += o.Length; !slices.ContainsFunc(v.Openings, func(s assess.OpenStretch) bool { return s.Opening == i }) {
			n++
		}
	}
	for _, o := range v.Openings {
		if o.Opening >= len(outlined) || !outlined[o.Opening] {
			open -= o.Length
		}
	}
	var s string
	if v.NotWorkedYet > 0 {
		s += u.Length(v.NotWorkedYet) + " of the boundary is not worked yet. "
	}
	if n > 0 && open > plane.Distance(plane.Metre) {
		s += fmt.Sprintf("%s of the headland shorter than the bar or within a row, %s in all. ", words.Capital(words.Count(n, "opening")), u.Length(open))
	}
	gaps := 0
	for _, g := range d.gaps() {
		if v.Back == nil || !slices.ContainsFunc(v.Back.Skips(), func(k int) bool {
			return d.Map.Regions[d.Map.Skips[k].Region].Shape.Contains(g.gap.At)
		}) {
			gaps++
		}
	}
	if gaps > 0 {
		s += fmt.Sprintf("%s beside the pass too small to go back for. ", words.Capital(words.Count(gaps, "gap")))
	}
	if s == "" {
		return ""
	}
	return s[:len(s)-1]
}

// openingWords say where the headland is open, as seen from where a machine
// stands: "220 ft open, 310 ft to the north-east: 3.9 ft bare at most".
func (d *Document) openingWords(u quantity.Units, o *assess.OpenStretch) string {
	what := "open"
	e := &d.Map.Headland.Edge
	if ring := e.Openings[o.Opening].Ring; ring < len(e.Profile) && e.Profile[ring].Hole {
		what = "open round a hole"
	}
	return fmt.Sprintf("%s %s, %s: %s bare at most", u.Length(o.Length), what, d.wayTo(u, o.At), u.Length(o.Max))
}
