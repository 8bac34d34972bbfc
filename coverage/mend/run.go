package mend

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Lane is one drive over a skip, in the direction it is to be driven.
type Lane struct {
	Skips     []int         // indices into Map.Skips, the largest first: more than one where only the headland's edge parts them
	Place     int           // which of the plan's places it is at, counted from 0
	Lane, Of  int           // 1 of 2 where the skip is wider than the bar; 1 of 1 else
	Line      []plane.Point // where the bar's centre goes, from the end to enter
	LineUp    plane.Point   // where to come in line with it; the line's first point where there is no room
	Heading   geo.Bearing   // on entering
	Bends     bool          // it turns on the way
	Length    plane.Distance
	Need      plane.Distance // across the line, what the skip takes
	Open      []bool         // the sections that work, from left to right
	OpenWidth plane.Length   // of the open sections together
	OpenLeft  plane.Length   // the left edge of the open sections, from the bar's centre
	Again     plane.Area     // about how much ground the open sections work that is not this skip
	Misses    plane.Area     // about how much of the skip lies beside the run: a foot not worth opening sections for
	Enter     string         // the end to enter, a point of the compass: "north"
}

// A course is a run as it can be driven: along its guide, and from the other end.
type course struct{ ways [2]Lane }

// A strip is a skip, or one lane of a skip, as seen from a guide.
type strip struct {
	guide       *guide
	from, to    plane.Distance // along
	left, right plane.Distance // across
	misses      float64        // square ticks of the skip beside it
}

func (s *strip) need() plane.Distance { return s.right - s.left }

// missing is how many times worse it is to miss ground that a run is for than
// to work other ground again: else the best line over a skip would be a short
// one across its middle. Judgement. No test holds it closely.
const missing = 4

// lays lays the runs over a patch, by the line that needs the fewest of them,
// and of those the one that works the least ground.
func (g *drivable) lays(m *coverage.Map, skips []int, im *machine.Implement) laid {
	out := laid{patch: patchOf(m, skips)}
	for _, guide := range guides(m, &out.patch) {
		g.try(&out, guide, im)
	}
	if out.courses == nil || !out.fills() {
		out.bent = out.courses != nil
		out.courses = nil
		for _, guide := range edges(m, &out.patch) {
			g.try(&out, guide, im)
		}
	}
	share(out.courses, out.area)
	return out
}

// try lays the runs over a patch along a guide, and keeps them if they are
// better than what it has: fewer, or as many that work and miss less ground.
func (g *drivable) try(out *laid, guide *guide, im *machine.Implement) {
	// A later line must be better by more than rounding. Judgement: at 1.0 no
	// drive of samples and cases changes; at 0.95 that of samples/long-meadow works 3 ft more.
	const gain = 0.98
	lanes := lanesOf(guide, out.shells, im)
	best := out.courses
	if len(lanes) == 0 || best != nil && len(lanes) > len(best) {
		return
	}
	found := make([]course, len(lanes))
	cost := 0.0
	for i := range lanes {
		var ok bool
		if found[i].ways[0], ok = g.lay(&lanes[i], im); !ok {
			return
		}
		cost += float64(found[i].ways[0].Length)*float64(found[i].ways[0].OpenWidth) + missing*lanes[i].misses
	}
	if best != nil && len(found) == len(best) && !(cost < gain*out.cost) {
		return // from which end it is entered makes it no better
	}
	for i := range lanes {
		back := lanes[i].reversed()
		var ok bool
		if found[i].ways[1], ok = g.lay(&back, im); !ok {
			return
		}
		for k := range found[i].ways {
			found[i].ways[k].Skips, found[i].ways[k].Lane, found[i].ways[k].Of = out.skips, i+1, len(lanes)
		}
	}
	out.courses, out.cost = found, cost
}

// share works out how much ground that is not the skip the runs over it work.
func share(cs []course, skip plane.Area) {
	var swept plane.Area
	for i := range cs {
		swept += sweptBy(&cs[i].ways[0])
	}
	for i := range cs {
		for k := range cs[i].ways {
			r := &cs[i].ways[k]
			if mine := sweptBy(r); swept > 0 {
				r.Again = max(0, mine-plane.Area(float64(skip)*float64(mine)/float64(swept)))
			}
		}
	}
}

func sweptBy(r *Lane) plane.Area { return plane.Area(2 * float64(r.Length) * float64(r.OpenWidth)) } // half square ticks

// guides lists the lines a run over a patch may follow, the simplest first: its
// long axis, the direction of the pass it lies along, the passes beside it.
func guides(m *coverage.Map, p *patch) []*guide {
	sin, cos := longAxis(p.points())
	out := []*guide{straight(p.main.At, sin, cos)}
	if id := p.main.Place.Pass; id > 0 {
		if sin, cos, ok := heading(&m.Passes[id-1], p.main.At); ok {
			out = append(out, straight(p.main.At, sin, cos))
		}
	}
	// A skip in a corner has many passes beside it. Judgement: with two of them the drive of
	// the oats of 2017 takes a minute longer, and with eight no drive tried changes.
	const most = 4
	for i, id := range p.passes {
		if i == most {
			break
		}
		if g := bordering(&m.Passes[id-1]); g != nil {
			out = append(out, g)
		}
	}
	return out
}

// edges lists the rings of the boundary that run along a patch, as guides. In
// their corners a bar sweeps less than the strip, so that they are tried only where
// no other guide serves: for a strip left round a corner of the field.
func edges(m *coverage.Map, p *patch) []*guide {
	var out []*guide
	for _, part := range m.Field.Boundary {
		for _, ring := range part.Rings() {
			if !touches(ring, p) {
				continue
			}
			if g := alongRing(ring, p.main.At); g != nil {
				out = append(out, g)
			}
		}
	}
	return out
}

// heading returns the bar's heading on a pass where it was nearest to a place.
func heading(p *coverage.Pass, at plane.Point) (sin, cos float64, ok bool) {
	least := plane.Distance(math.Inf(1))
	for i := range p.Poses {
		if d := p.Poses[i].Bar.Distance(at); d < least {
			least, ok = d, true
			sin, cos = p.Poses[i].Heading.Sincos()
		}
	}
	return sin, cos, ok
}

// usualRow is the row spacing of an implement whose rows are not known: about the 6 in
// of a grain drill (common practice, no source).
// TestSectionsToKeepOpen fails where it is halved.
const usualRow = 15 * plane.Centimetre

// slack is how much wider than the open sections a skip may be: one row spacing. Half
// of that left on either side widens the gap between two rows by no more than half.
func slack(im *machine.Implement) plane.Distance {
	if im.RowSpacing > 0 {
		return plane.Distance(im.RowSpacing)
	}
	return plane.Distance(usualRow)
}

// mostLanes is how many lanes a patch may take: a guide that makes more of it does not
// go along it. Judgement. No test holds it closely.
const mostLanes = 50

// lanesOf cuts a patch as seen from a guide into strips no wider than the bar.
func lanesOf(g *guide, shells []plane.Ring, im *machine.Implement) []strip {
	rings := make([][]locate.Offset, len(shells))
	for i, shell := range shells {
		rings[i] = g.follow(shell, plane.Distance(im.Width))
	}
	all := profileOf(rings).strip()
	all.guide = g
	bar := plane.Distance(im.Sections[len(im.Sections)-1].Right - im.Sections[0].Left)
	n := max(1, math.Ceil(float64((all.need()-slack(im))/bar)))
	if n > mostLanes {
		return nil
	}
	out := make([]strip, int(n))
	for i := range out {
		out[i] = all
		out[i].left = all.left + plane.Distance(i)*all.need()/plane.Distance(n)
		out[i].right = all.left + plane.Distance(i+1)*all.need()/plane.Distance(n)
		out[i].misses = all.misses / n
	}
	return out
}

// A choice is a stretch of neighbouring sections to keep open, and where the
// bar's centre goes with them over a strip.
type choice struct {
	first, last int
	width       plane.Length
	centre      plane.Distance // across
	flush       bool           // with one side of the strip, not over its middle
}

// choices lists the stretches of sections wide enough for a strip: the
// narrowest first, of equal ones those over its middle, and of those the ones
// nearest the middle of the bar.
func (s *strip) choices(im *machine.Implement) []choice {
	var out []choice
	n := len(im.Sections)
	for i := range n {
		for j := i; j < n; j++ {
			left, right := im.Sections[i].Left, im.Sections[j].Right
			w := right - left
			if plane.Distance(w)+slack(im) < s.need() && w < im.Sections[n-1].Right-im.Sections[0].Left {
				continue
			}
			out = append(out, choice{i, j, w, (s.left+s.right)/2 - plane.Distance(left+right)/2, false})
			if plane.Distance(w) > s.need() {
				out = append(out, choice{i, j, w, s.left - plane.Distance(left), true}, choice{i, j, w, s.right - plane.Distance(right), true})
			}
			break // more sections would only work more
		}
	}
	middle := (s.left + s.right) / 2
	slices.SortStableFunc(out, func(a, b choice) int {
		switch d := a.width - b.width; {
		case d < -plane.Millimetre, d > plane.Millimetre: // those that differ by a tick or two are equal by design
			return cmp.Compare(a.width, b.width)
		case a.flush != b.flush && a.flush:
			return 1
		case a.flush != b.flush:
			return -1
		}
		return cmp.Compare((a.centre - middle).Abs(), (b.centre - middle).Abs())
	})
	return out
}

// reversed returns the strip as seen from the guide run the other way.
func (s *strip) reversed() strip {
	g := s.guide
	x, y := slices.Clone(g.x), slices.Clone(g.y)
	slices.Reverse(x)
	slices.Reverse(y)
	length := g.along[len(g.along)-1]
	return strip{newGuide(x, y), length - s.to, length - s.from, -s.right, -s.left, s.misses}
}

// lay lays one run over a strip, as driven along its guide. It keeps the fewest
// sections open with which the bar's centre stays on the ground; of those equally
// wide the ones with which most of the bar does. It fails where there are none.
func (g *drivable) lay(s *strip, im *machine.Implement) (best Lane, ok bool) {
	least := math.Inf(1)
	for _, c := range s.choices(im) {
		if ok && (c.width > best.OpenWidth+plane.Millimetre || least == 0) {
			break // no other keeps fewer open, or more of the bar on the ground
		}
		line, lost := g.onGround(s.line(c.centre))
		if line == nil {
			continue
		}
		if out := g.sticksOut(line, im); out < least {
			best, least, ok = s.run(line, lost, c, im), out, true
		}
	}
	if ok {
		best.LineUp = g.lineUp(best.Line, im)
	}
	return best, ok
}

// nearly is how far the end of the bar may be off the ground and count as on it.
// Judgement: steering is no more accurate. No test holds it closely.
const nearly = 5 * plane.Centimetre

// How a line is looked at. Judgement: with each of the first three halved or doubled no
// drive of samples, cases and the oats of 2017 changes. A longer runUp makes each drive
// longer, by 230 ft in samples/long-meadow from half as much to this; a shorter one leaves
// a towed bar askew where it goes down.
const (
	sampled  = 10 * plane.Metre // how far apart sticksOut looks at the bar
	entering = 10 * plane.Metre // how much of the line its heading on entering is taken over
	bending  = 30.0             // degrees off that heading from which the line counts as bent
	runUp    = 3 * plane.Metre  // the way to come in line, beside the length of the hitch
)

// sticksOut returns how much of the bar is off the ground along a line, from 0
// to 1: of the edges of its sections, at some places.
func (g *drivable) sticksOut(line []plane.Point, im *machine.Implement) float64 {
	edges := []plane.Length{im.Sections[0].Left + nearly}
	for _, s := range im.Sections {
		edges = append(edges, s.Right-nearly)
	}
	out, all := 0, 0
	places := make([]plane.Point, len(edges))
	for i := 1; i < len(line); i++ {
		sin, cos := unit(line[i-1], line[i])
		n := math.Ceil(float64(line[i-1].Distance(line[i]) / plane.Distance(sampled)))
		for k := 0.5; k < n; k++ {
			t := k / n
			for l, e := range edges {
				x := float64(line[i-1].X) + t*float64(line[i].X-line[i-1].X) + float64(e)*cos
				y := float64(line[i-1].Y) + t*float64(line[i].Y-line[i-1].Y) - float64(e)*sin
				places[l] = plane.Point{X: plane.Round(x), Y: plane.Round(y)}
			}
			all += len(places)
			on, same := g.holdsAll(places)
			for _, p := range places {
				if same && !on || !same && !g.holds(p) {
					out++
				}
			}
		}
	}
	return float64(out) / float64(max(1, all))
}

func (s *strip) run(line []plane.Point, lost plane.Distance, c choice, im *machine.Implement) Lane {
	first, last := line[0], line[len(line)-1]
	r := Lane{
		Line: line, Length: lengthOf(line), Need: s.need(), Misses: plane.Area(2 * (s.misses + float64(lost)*float64(s.need()))),
		Open: make([]bool, len(im.Sections)), OpenWidth: c.width, OpenLeft: im.Sections[c.first].Left,
	}
	for k := c.first; k <= c.last; k++ {
		r.Open[k] = true
	}
	r.Heading = headingOf(first, ahead(line, plane.Distance(entering)))
	r.Enter = geo.Compass((headingOf(first, last) + 180).Angle())
	for i := 1; i < len(line); i++ {
		if off := headingOf(line[i-1], line[i]).Apart(r.Heading); off > bending && line[i-1].Distance(line[i]) > plane.Distance(plane.Metre) {
			r.Bends = true
		}
	}
	return r
}

// lineUp returns the place before a line where the machine comes in line with
// it, so far off that the bar has followed; nearer where the ground ends.
func (g *drivable) lineUp(line []plane.Point, im *machine.Implement) plane.Point {
	x, y := unit(line[0], line[1])
	lead := float64(runUp)
	if im.Towed {
		lead += float64(im.HitchToBar)
	}
	for _, share := range []float64{1, 0.5} {
		at := plane.Point{X: line[0].X - plane.Round(share*lead*x), Y: line[0].Y - plane.Round(share*lead*y)}
		if g.sees(at, line[0]) {
			return at
		}
	}
	return line[0]
}
