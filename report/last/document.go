package last

import (
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/edge"
	"lapwing/coverage/quantity"
	"lapwing/geo"
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

// verdict is the answer in a sentence or two: the headland first where it was
// just worked, else the seams.
func (d *Document) verdict(u quantity.Units) []string {
	if len(d.Passes) == 0 {
		return []string{"No pass yet."}
	}
	var seams []string
	for i := range d.Passes {
		seams = append(seams, d.seamVerdict(u, &d.Passes[i]))
	}
	if d.headlandJust() {
		return append([]string{words.Headland(u, d.Map)}, seams...)
	}
	return append(seams, words.Headland(u, d.Map))
}

// seamVerdict says in one sentence whether a pass joined its neighbours.
func (d *Document) seamVerdict(u quantity.Units, p *Pass) string {
	name := fmt.Sprintf("Pass %d", p.Pass.ID)
	if len(d.Map.Machines) > 1 {
		name += " of " + words.Short(d.MachineName(p.Pass.Machine), 30)
	}
	open := p.Left.Open + p.Right.Open
	switch beside := p.Left.Beside + p.Right.Beside; {
	case open > 0:
		return fmt.Sprintf("%s is open along %s, in %s.", name, u.Length(open), words.Count(len(p.Left.Gaps)+len(p.Right.Gaps), "place"))
	case beside == 0 && (p.Left.AtEdge > p.Left.Alone || p.Right.AtEdge > p.Right.Alone):
		return name + " ran along the boundary; no other pass is beside it."
	case beside == 0:
		return name + " has no neighbour yet."
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
		parts = append(parts, fmt.Sprintf("open along %s of %s, %s at most", u.Length(s.Open), u.Length(s.Beside), u.Length(s.WidestGap)))
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
// "from 460 ft to 310 ft back, right-hand end: 8 in left".
func gapWords(u quantity.Units, p *coverage.Pass, g *beside.SeamGap, side string) string {
	far, near := p.Length-g.From, p.Length-g.To
	where := u.Length(far) + " back"
	switch {
	case near < 2*plane.Distance(plane.Metre):
		where = "from " + u.Length(far) + " back to where the pass ended"
	case far-near > 10*plane.Distance(plane.Metre):
		where = fmt.Sprintf("from %s to %s back", u.Length(far), u.Length(near))
	}
	return fmt.Sprintf("%s, %s-hand end: %s left", where, side, u.Length(g.Widest))
}

// openingWords say where the headland is open, as seen from where a machine
// stands: "220 ft open, 310 ft to the north-east: 3.9 ft left at most".
func (d *Document) openingWords(u quantity.Units, o *edge.Opening) string {
	stands := d.Passes[0].Stands
	distance, bearing := beside.Bearing(stands, o.At)
	where := fmt.Sprintf("%s to the %s", u.Length(distance), geo.Compass(bearing.Angle()))
	if distance < plane.Distance(plane.Metre) {
		where = "where the machine stands"
	}
	what := "open"
	if e := d.Map.Headland.Edge; o.Ring < len(e.Profile) && e.Profile[o.Ring].Hole {
		what = "open round a hole"
	}
	if o.Max >= 0.99*plane.Distance(d.Map.Headland.Width) {
		return fmt.Sprintf("%s %s, %s: not worked yet", u.Length(o.Length), what, where)
	}
	return fmt.Sprintf("%s %s, %s: %s left at most", u.Length(o.Length), what, where, u.Length(o.Max))
}

// headlandTitle heads the list of openings.
func (d *Document) headlandTitle() string {
	if len(d.Passes) == 0 {
		return "Headland open"
	}
	return fmt.Sprintf("Headland open, as seen from where %s stands", words.Short(d.MachineName(d.Passes[0].Pass.Machine), 30))
}

// leftWords say what is left to do.
func (d *Document) leftWords(u quantity.Units) string {
	g := d.Map.Totals
	s := "Nothing left to work."
	if g.Remainder > 0 {
		s = u.Area(g.Remainder) + " left to work."
	}
	n := len(d.Mistakes())
	if skipped := g.Skip - g.Remainder; n > 0 {
		s += fmt.Sprintf(" %s so far, %s: lapwing mend plans the way back.", words.Capital(words.Count(n, "skip")), u.Area(skipped))
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
