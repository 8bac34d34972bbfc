package last

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/edge"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/words"
)

// Files are the files of a document.
var Files = report.Table[*Document]{{"last.html", (*Document).Page}, {"last.json", (*Document).JSON}}

// A Document answers the question in the cab right after a pass: did it join its
// neighbour, is the headland closed, what is left.
type Document struct {
	*assess.Assessment
	Passes []Pass // one a machine
}

// A Pass is one pass with its two sides.
type Pass struct {
	Pass        *coverage.Pass
	Left, Right beside.Seam
	Stands      plane.Point // where the machine's log ends
}

// New tells of the passes that an assessment was asked about.
func New(a *assess.Assessment) *Document {
	l := &Document{Assessment: a}
	for _, p := range a.Last {
		l.Passes = append(l.Passes, Pass{&a.Map.Passes[p.ID-1], p.Left, p.Right, p.Stands})
	}
	return l
}

// headlandJust reports whether the latest pass asked about, the first, is a
// headland pass: then the question is whether the headland closed.
func (d *Document) headlandJust() bool { return len(d.Passes) > 0 && d.Passes[0].Pass.Headland }

// Headline is what to do, in a few words.
func (d *Document) Headline(u quantity.Units) string {
	if d.Verdict.First() == "" {
		return "No pass yet"
	}
	return d.findingWords(u, d.Verdict.First())
}

// Also are the sentences under the headline: what else was found, then how each pass
// joined.
func (d *Document) Also(u quantity.Units) []string {
	var out []string
	for i, f := range d.Verdict.Findings {
		if i > 0 {
			out = append(out, d.findingWords(u, f)+".")
		}
		if f == assess.GoBack {
			out = append(out, words.Weighed(u, d.Verdict.Back, d.CropCurrency()))
		}
	}
	out = append(out, words.Fit(u, d.Map)...)
	var seams []string
	for i := range d.Passes {
		seams = append(seams, d.seamVerdict(u, &d.Passes[i]))
	}
	if d.headlandJust() {
		return append(append(out, words.Headland(u, d.Map)), seams...)
	}
	if len(d.Passes) > 0 {
		seams = append(seams, words.Headland(u, d.Map))
	}
	return append(out, seams...)
}

// findingWords tell a finding by its size.
func (d *Document) findingWords(u quantity.Units, f assess.Finding) string {
	v := &d.Verdict
	switch f {
	case assess.HeadlandOpen:
		first := &v.Openings[0]
		if len(v.Openings) == 1 {
			return "Headland open: " + u.Length(first.Length) + ", " + d.wayTo(u, first.At)
		}
		var all plane.Distance
		for i := range v.Openings {
			all += v.Openings[i].Length
		}
		return fmt.Sprintf("Headland open: %s, %s; the longest %s, %s", words.Count(len(v.Openings), "place"), u.Length(all), u.Length(first.Length), d.wayTo(u, first.At))
	case assess.GoBack:
		return fmt.Sprintf("Go back: %s, about %s", words.Count(len(v.Back.Plan.Places), "place"), words.Minutes(v.Back.Plan.Time(d.Map.MeanSpeed())))
	case assess.CannotSay:
		worst := slices.MaxFunc(v.Alone, func(a, b assess.LonePass) int { return cmp.Compare(a.Alone, b.Alone) })
		return "Cannot say: no neighbour along " + words.Of(u, worst.Alone, worst.Length) + d.ofPass(worst.ID)
	case assess.WideLap:
		worst := slices.MaxFunc(v.Wide, func(a, b assess.WidePass) int { return cmp.Compare(a.Mean*a.Along, b.Mean*b.Along) })
		side := "left"
		if worst.Right {
			side = "right"
		}
		return fmt.Sprintf("Wide lap: %s along %s, %s side", u.Length(worst.Mean), u.Length(worst.Along), side) + d.ofPass(worst.ID)
	}
	return "Carry on"
}

// ofPass names a pass where several were asked about.
func (d *Document) ofPass(id int) string {
	if len(d.Passes) < 2 {
		return ""
	}
	return fmt.Sprintf(" of pass %d", id)
}

// wayTo says where a place is as seen from where the machine stands.
func (d *Document) wayTo(u quantity.Units, at plane.Point) string {
	return words.WayTo(u, d.Passes[0].Stands, at)
}

// seamVerdict says in one sentence whether a pass joined its neighbours, and never more
// than is known.
func (d *Document) seamVerdict(u quantity.Units, p *Pass) string {
	name := fmt.Sprintf("Pass %d", p.Pass.ID)
	if len(d.Map.Machines) > 1 {
		name += " of " + words.Short(d.MachineName(p.Pass.Machine), 30)
	}
	open := p.Left.Open + p.Right.Open
	known := &p.Left
	if p.Right.Alone < p.Left.Alone {
		known = &p.Right
	}
	switch beside := p.Left.Beside + p.Right.Beside; {
	case open > 0:
		return fmt.Sprintf("%s is open along %s, in %s.", name, u.Length(open), words.Count(len(p.Left.Gaps)+len(p.Right.Gaps), "place"))
	case beside == 0 && (p.Left.AtEdge > p.Left.Alone || p.Right.AtEdge > p.Right.Alone):
		return name + " ran along the boundary; no other pass is beside it."
	case beside == 0:
		return name + " has no neighbour yet."
	case slices.ContainsFunc(d.Verdict.Alone, func(l assess.LonePass) bool { return l.ID == p.Pass.ID }):
		return fmt.Sprintf("%s joined its neighbour along %s; beside the rest nothing is worked yet.", name, words.Of(u, known.Beside, p.Pass.Length))
	}
	return name + " joined its neighbour along its whole length."
}

// sideWords say how one side of a pass joined: "Left: joined along 1,240 ft,
// lap 3 in on average, 6 in at most".
func (d *Document) sideWords(u quantity.Units, s *beside.Seam) string {
	var parts []string
	switch {
	case s.Beside == 0 && s.AtEdge > s.Alone && s.EdgeGap > plane.Distance(d.Map.Headland.Edge.Tolerance):
		return fmt.Sprintf("the boundary, %s short of it at most", u.Length(s.EdgeGap))
	case s.Beside == 0 && s.AtEdge > s.Alone:
		return "the boundary, reached"
	case s.Beside == 0:
		return "no neighbour yet"
	case s.Open > 0:
		parts = append(parts, fmt.Sprintf("open along %s, %s bare at most", words.Of(u, s.Open, s.Beside), u.Length(s.WidestGap)))
	default:
		parts = append(parts, "joined along "+u.Length(s.Beside))
	}
	switch mean := u.Length(s.Mean.Abs()); {
	case s.Mean < 0 && s.Open == 0 || mean == "0 ft" || mean == "0 m":
		parts = append(parts, "no lap to speak of")
	case s.Mean < 0:
		parts = append(parts, "gap "+mean+" on average")
	default:
		parts = append(parts, fmt.Sprintf("lap %s on average, %s at most", mean, u.Length(s.WidestLap)))
	}
	if s.Alone > plane.Distance(d.Map.Headland.Width) && s.Alone > (s.Beside+s.AtEdge)/10 {
		parts = append(parts, "no neighbour along "+u.Length(s.Alone))
	}
	return strings.Join(parts, "; ")
}

// gapWords say where a gap is as seen from the end of the pass:
// "from 460 ft to 310 ft back, right-hand end: 8 in bare".
func gapWords(u quantity.Units, p *coverage.Pass, g *beside.SeamGap, side string) string {
	far, near := p.Length-g.From, p.Length-g.To
	where := u.Length(far) + " back"
	switch {
	case near < 2*plane.Distance(plane.Metre):
		where = "from " + u.Length(far) + " back to where the pass ended"
	case far-near > 10*plane.Distance(plane.Metre):
		where = fmt.Sprintf("from %s to %s back", u.Length(far), u.Length(near))
	}
	return fmt.Sprintf("%s, %s-hand end: %s bare", where, side, u.Length(g.Widest))
}

// placesTitle heads the list of places.
func (d *Document) placesTitle() string {
	if len(d.Passes) == 0 {
		return ""
	}
	return fmt.Sprintf("Where to go, as seen from where %s stands", words.Short(d.MachineName(d.Passes[0].Pass.Machine), 30))
}

// stillWords say what is still to do.
func (d *Document) stillWords(u quantity.Units) string {
	g := d.Map.Totals
	s := "Nothing more to work."
	if still := g.Remainder - g.Yards; u.SomeArea(still) {
		s = u.Area(still) + " still to work."
	}
	n := len(d.Mistakes())
	if skipped := g.Skip - g.Remainder - g.Outlined; n > 0 {
		s += fmt.Sprintf(" %s on the field so far, %s.", words.Capital(words.Count(n, "skip")), u.Area(skipped))
	}
	return s
}

// A gap is a gap with what is said of it.
type gap struct {
	pass *Pass
	side string
	gap  *beside.SeamGap
}

// gaps lists the gaps of all passes, the longest first.
func (d *Document) gaps() []gap {
	var out []gap
	for i := range d.Passes {
		p := &d.Passes[i]
		for _, s := range []struct {
			name string
			seam *beside.Seam
		}{{"left", &p.Left}, {"right", &p.Right}} {
			for k := range s.seam.Gaps {
				out = append(out, gap{p, s.name, &s.seam.Gaps[k]})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b gap) int {
		switch longer := (b.gap.To - b.gap.From) - (a.gap.To - a.gap.From); {
		case longer > 0:
			return 1
		case longer < 0:
			return -1
		}
		return 0
	})
	return out
}

// openings are the places where the headland is open, as seen from where the
// machine stands after the pass: none where no boundary was given, and none before
// the first pass.
func (d *Document) openings() []edge.Opening {
	if d.Map.Field.Worked || len(d.Passes) == 0 {
		return nil
	}
	return d.Map.Headland.Edge.Openings
}
