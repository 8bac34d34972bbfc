package covertest

import (
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/machine"
)

// Round drives once round a shape, anticlockwise, corners rounded off with a
// radius, the product on. It begins and ends in the middle of the first edge
// and goes on for another extra metres. The path gets there with the product
// off.
func (p *Path) Round(shape Shape, radius, extra float64) *Path {
	mid := XY{(shape[0].X + shape[1].X) / 2, (shape[0].Y + shape[1].Y) / 2}
	p.Off().TurnTo(Stance{mid, direction(shape[0], shape[1])}).On()
	p.corners(shape, radius)
	return p.Straight(Distance(p.end.XY, mid) + extra).Off()
}

// corners drives from the first edge of a shape round all its corners back to
// it.
func (p *Path) corners(shape Shape, radius float64) {
	n := len(shape)
	for i := range n {
		corner, after := shape[(i+1)%n], shape[(i+2)%n]
		h := direction(shape[i], corner)
		turn := turnLeft(h, direction(corner, after))
		p.Straight(Distance(p.end.XY, corner) - radius*math.Tan(turn/2))
		p.Arc(radius, -turn)
	}
}

// SquareRound works once round the ground of a shape's edges, a width w deep,
// anticlockwise, side by side: each side begins at the inner edge of the last
// side's swath and runs up to the shape's edge, and the bar is lifted while
// the machine turns to the next. In a rectangle that leaves nothing out and
// laps nothing. Each side is begun runIn metres before it works.
func (p *Path) SquareRound(shape Shape, w, runIn float64) *Path {
	return p.SquareRoundBy(shape, w, runIn, func(_ int, length float64) { p.Straight(length) })
}

// SquareRoundBy is [Path.SquareRound] with sides that side drives: side i is
// so long, and the product is on as it begins.
func (p *Path) SquareRoundBy(shape Shape, w, runIn float64, side func(i int, length float64)) *Path {
	n := len(shape)
	for i := range n {
		before, a, b, after := shape[(i+n-1)%n], shape[i], shape[(i+1)%n], shape[(i+2)%n]
		h := direction(a, b)
		// Where the bar's centre crosses the last side's inner edge, and the next edge.
		first := turnLeft(direction(before, a), h)
		last := turnLeft(h, direction(b, after))
		line := a.plus(-w/2, right(h))
		from := line.plus(w/math.Sin(first)-w/2/math.Tan(first), ahead(h))
		to := line.plus(Distance(a, b)+w/2/math.Tan(last), ahead(h))
		p.Off().TurnTo(Stance{from.plus(-runIn, ahead(h)), h}).Straight(runIn)
		p.On()
		side(i, Distance(from, to))
		p.Off().Straight(runIn)
	}
	return p
}

// RoundAndRound works a shape from outside inward without lifting: so many
// rounds, anticlockwise, each spacing metres inside the last, the first one's
// centre on the shape itself. It begins and ends in the middle of the first edge,
// where the bar comes onto worked ground, and changes from round to round on the
// bend metres before it. The bend must lie on the straight of each round and leave
// room for the turns there and back.
func (p *Path) RoundAndRound(shape Shape, spacing, radius, bend float64, rounds int) *Path {
	for k := range rounds {
		ring := shape.Inset(float64(k) * spacing)
		mid := XY{(ring[0].X + ring[1].X) / 2, (ring[0].Y + ring[1].Y) / 2}
		start := Stance{mid, direction(ring[0], ring[1])}
		if k == 0 {
			p.Off()
		}
		p.TurnTo(start).On()
		p.corners(ring, radius)
		left := Distance(p.end.XY, mid)
		if left < bend-1e-6 {
			panic(fmt.Sprintf("covertest: round %d has %.1f m of straight before it closes, less than the bend of %.1f m", k, left, bend))
		}
		if k < rounds-1 {
			left = max(0, left-bend)
		}
		p.Straight(left)
	}
	return p.Off()
}

// HoleRound drives once round a shape from outside, clockwise, the bar's
// centre so far from it and turning about its corners, the product on. A bar
// of width w covers the ground from offset - w/2 to offset + w/2 from it.
func (p *Path) HoleRound(hole Shape, offset float64) *Path {
	n := len(hole)
	back := make(Shape, n)
	for i, c := range hole {
		back[n-1-i] = c
	}
	for i := range n {
		a, b, after := back[i], back[(i+1)%n], back[(i+2)%n]
		h := direction(a, b)
		if i == 0 {
			p.Off().TurnTo(Stance{a.plus(-offset, right(h)), h}).On()
		}
		p.Straight(Distance(a, b)).Arc(offset, -turnLeft(h, direction(b, after)))
	}
	return p.Off()
}

// An EndRule says when the bar is lowered and lifted where a pass meets the
// edge of the headland at an angle.
type EndRule int

// The rules.
const (
	Centre      EndRule = iota // when the bar's centre crosses
	FirstCorner                // so that nothing reaches onto the headland
	LastCorner                 // so that nothing is left out
)

// Lines is ground to be worked to and fro.
type Lines struct {
	Ground   Shape   // the inner edge of the headland
	Holes    []Shape // the outer edges of the headlands round the holes
	Heading  float64
	Width    float64
	Spacing  float64 // from line to line; zero means Width
	First    float64 // by how much the first line is moved to the right
	Ends     EndRule
	Sections []machine.Section // if given, each ends by itself
	RunIn    float64           // straight on before and after a line
	HoleRun  float64           // and before and after a hole
	TurnOn   bool              // the product stays on in turns
	// Adjust, if given, may change line i (from 0) before it is driven.
	Adjust func(i int, l *Line)
}

// A Line is one pass as planned.
type Line struct {
	Across float64 // of the bar's centre, to the right of the field's centre
	Back   bool    // driven against the heading
	Runs   []Run   // in the order of the heading
}

// A Run is a stretch of a line to be worked, as places along the heading.
type Run struct {
	From, To float64
	Open     Mask
}

// Lines works ground to and fro: from line to line, turning with the product
// off. Where a hole is in the way the machine goes round it, lifted.
func (p *Path) Lines(g Lines) *Path {
	if g.Spacing == 0 {
		g.Spacing = g.Width
	}
	left, far := g.Ground.reach(g.Heading)
	for i := 0; ; i++ {
		u := left + g.Width/2 + g.First + float64(i)*g.Spacing
		if done := u - g.Spacing + g.Width/2; u-g.Width/2 >= far-1e-9 || i > 0 && done >= far-1e-9 {
			return p
		}
		l := Line{Across: u, Back: i%2 == 1}
		l.Runs = g.runs(l)
		if g.Adjust != nil {
			g.Adjust(i, &l)
		}
		p.line(g, l)
	}
}

// line drives one line.
func (p *Path) line(g Lines, l Line) {
	runs, h, sign := slices.Clone(l.Runs), g.Heading, 1.0
	if l.Back {
		slices.Reverse(runs)
		for i := range runs {
			runs[i].From, runs[i].To = -runs[i].To, -runs[i].From
		}
		h, sign = h+math.Pi, -1
	}
	// In the direction driven, positions along are those of the turned line.
	at := func(along, across float64) XY {
		return XY{}.plus(along, ahead(h)).plus(sign*across, right(h))
	}
	for i, r := range runs {
		switch {
		case i > 0 && r.From-runs[i-1].To < 1e-9:
		case i > 0:
			p.Off().Straight(g.HoleRun).around(g, l, h, runs[i-1].To, r.From, at)
		default:
			if !g.TurnOn {
				p.Off()
			}
			p.TurnTo(Stance{at(r.From-g.RunIn, l.Across), h}).Straight(g.RunIn)
		}
		p.Open(r.Open).Straight(r.To - r.From)
	}
	if len(runs) > 0 {
		if !g.TurnOn {
			p.Off()
		}
		p.Straight(g.RunIn)
	}
}

// around passes a hole on its nearer side, the bar clear of it, and comes
// back onto the line; it goes straight on where no hole is in the way.
func (p *Path) around(g Lines, l Line, h, from, to float64, at func(along, across float64) XY) {
	for _, hole := range g.Holes {
		c, ok := hole.chord(g.Heading, l.Across)
		lo, hi := c.from, c.to
		if l.Back {
			lo, hi = -hi, -lo
		}
		if !ok || hi < from || lo > to {
			continue
		}
		left, far := hole.reach(g.Heading)
		side := left - g.Width/2
		if far-l.Across < l.Across-left {
			side = far + g.Width/2
		}
		p.TurnTo(Stance{at((from+to)/2, side), h})
	}
	p.TurnTo(Stance{at(to-g.HoleRun, l.Across), h}).Straight(g.HoleRun)
}

// runs returns the stretches to work on a line.
func (g Lines) runs(l Line) []Run {
	if g.Sections == nil {
		var out []Run
		for _, c := range g.spans(l.Across, l.Across-g.Width/2, l.Across+g.Width/2) {
			out = append(out, Run{c.from, c.to, All})
		}
		return out
	}
	type edge struct {
		at   float64
		flip Mask
	}
	var edges []edge
	for i, s := range g.Sections {
		a, b := s.Left.Metres(), s.Right.Metres()
		if l.Back {
			a, b = -b, -a
		}
		for _, c := range g.spans(l.Across+(a+b)/2, l.Across+a, l.Across+b) {
			edges = append(edges, edge{c.from, 1 << i}, edge{c.to, 1 << i})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	var out []Run
	var open Mask
	for i, e := range edges {
		open ^= e.flip
		if i+1 < len(edges) && open != 0 && edges[i+1].at-e.at > 1e-9 {
			out = append(out, Run{e.at, edges[i+1].at, open})
		}
	}
	return out
}

// spans returns where a part of the bar, from left to far with its middle at
// mid, works: the ground's chord less those of the holes.
func (g Lines) spans(mid, left, far float64) []chord {
	work, ok := g.Ground.span(g.Heading, mid, left, far, g.Ends)
	if !ok {
		return nil
	}
	// On a hole the corners swap their parts: what works longest leaves it last.
	rule := g.Ends
	switch rule {
	case FirstCorner:
		rule = LastCorner
	case LastCorner:
		rule = FirstCorner
	}
	var gaps []chord
	for _, hole := range g.Holes {
		if lo, hi := hole.reach(g.Heading); mid < lo || mid > hi {
			continue
		}
		if c, ok := hole.span(g.Heading, mid, left, far, rule); ok && c.to > c.from {
			gaps = append(gaps, c)
		}
	}
	slices.SortFunc(gaps, func(a, b chord) int {
		if a.from < b.from {
			return -1
		}
		return 1
	})
	var out []chord
	for _, c := range gaps {
		if c.from > work.from {
			out = append(out, chord{work.from, min(c.from, work.to)})
		}
		work.from = max(work.from, c.to)
	}
	if work.from < work.to {
		out = append(out, work)
	}
	return out
}

// span returns the chord of s for a part of the bar by a rule. Past the edge
// of s the part counts only as far as it lies over s.
func (s Shape) span(heading, mid, left, far float64, rule EndRule) (chord, bool) {
	if rule == Centre {
		lo, hi := s.reach(heading)
		return s.chord(heading, min(max(mid, lo), hi))
	}
	all := s.chords(heading, left, far)
	if len(all) == 0 {
		return chord{}, false
	}
	c := all[0]
	for _, o := range all[1:] {
		if rule == LastCorner {
			c = chord{min(c.from, o.from), max(c.to, o.to)}
		} else {
			c = chord{max(c.from, o.from), min(c.to, o.to)}
		}
	}
	return c, c.from < c.to
}
