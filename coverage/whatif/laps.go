package whatif

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"sync"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// What the laps between neighbours tell of the receiver's error.
//
// A log holds its own noise once. Laps measured from it are scattered by the
// driving and by the noise together, so skips and overlaps come out too large
// on the whole. Were noise added to the log as it is, they would come out
// larger yet. So the noise that is likely in the log is taken away instead.
//
// Let e be the error at all nodes, normal with covariance C (nodes.go), and y
// the laps of all stretches of neighbouring passes. With H saying by how much
// an error changes a lap,
//
//	y = μ + r + H e
//
// where μ is the lap driven on average and r, with covariance R, how far the driver
// strayed from it: partly for a whole pass, partly from stretch to stretch, and at
// every end by itself. A driver who follows lines strays from each line, so that
// what one lap gains the next loses; one who follows the last pass strays from that,
// lap by lap. Given y, e is normal too. A sample of it is drawn by conditional
// simulation of a Gaussian process (Matheron's rule, from geostatistics): draw e'
// and the y' that it makes, and correct e' by the difference of y and y',
//
//	e = e' + C Hᵀ (H C Hᵀ + R)⁻¹ (y - y')
//
// If the driver strays far more than the receiver errs, e is nearly e'; if the
// receiver errs far more, most of what y shows is error. Neither the deviations of the
// driver's steering are known nor how the error changes (receiver.go): each cell of a grid
// of both is weighed by the likelihood of y in it, by Bayes' rule with equal priors. What
// tells a short memory from a long one is that the laps between two passes that were
// driven soon after one another, as near a turn, are then as scattered as those between
// places that were passed long after one another.
type lapFit struct {
	nodes *nodes
	seen  []seenLap
	y     []float64
	cells []*likelyCell // from which runs draw; a likely one is there more than once

	steadier float64 // log of how much likelier y is if no error shows in it
}

// A seenLap is the lap of one stretch, or of one end of a pass.
type seenLap struct {
	terms [4]share     // the parts of the errors at some nodes, towards dir, that add to the lap
	dir   plane.Vector // of length 1
	group int          // one of the groups below
	side  int          // of ends: which side of the field, or of another pass, they meet
	own   int          // index of the pass
	other int          // index of its neighbour; -1 for the field's edge

	along, theirs float64 // m along the pass, and along its neighbour
}

// end reports whether it is the lap of a pass's start or end.
func (s *seenLap) end() bool { return s.group >= endLaps }

// The groups of laps. All laps of a group have the same unknown average.
const (
	interiorLaps = iota
	roundLaps    // between headland passes
	betweenLaps  // of interior passes with headland ones
	edgeLaps
	endLaps     // of starts and ends on other passes
	endEdgeLaps // of starts and ends on the field's edge
	lapGroups
)

// A cell is one kind of error and one way a driver strays, in metres.
type cell struct {
	kind          int // of the receiver's error, an index into the nodes' kinds
	how           how
	pass, stretch float64
	edge, end     float64 // headland passes from the field's edge, and starts and ends by themselves
}

// A how is what a driver follows, and with what kind of hand.
type how struct {
	byLine bool // strays from a line, not from the last pass
	smooth bool // along a pass without a jerk, as a heavy machine does
}

var hows = []how{{false, false}, {true, false}, {false, true}, {true, true}}

// wanders is the correlation of how a driver strays at two places of a pass.
func (h how) wanders(apart float64) float64 { return memory{wanderOver, h.smooth}.correlation(apart) }

// A likelyCell is a cell that runs draw from.
type likelyCell struct {
	cell
	once    sync.Once
	factor  lower // of the covariance of y
	strayed lower // and of the part that is not the receiver's
}

// strays are the standard deviations, in metres, that drivers may stray by: from a
// centimetre, better than any steering does, to most of a metre, in steps fine
// enough that what lies between two of them is not taken for error. Judgement.
var strays = []float64{0.01, 0.03, 0.06, 0.12, 0.25, 0.6}

// edgeStrays are the standard deviations, in metres, that headland passes may stray
// by from the boundary as drawn. Four sides of a field are too few to tell it, so the
// range is narrow: a boundary is followed no better than a line, nor much worse, and
// is seldom surveyed to less than a decimetre. Judgement.
var edgeStrays = []float64{0.06, 0.12, 0.25, 0.6}

// How laps are gathered and modelled, in figures. Judgement. No
// test holds mostLaps, wanderOver, usualLap, averageLap or farLap closely. With one of the
// others halved or doubled the ends of the intervals of samples/tern-bank move by a quarter
// of the interval at most, and by most with lapOff doubled; with anySlope they do not.
const (
	mostLaps   = 350  // stretches; more take seconds and tell little more
	wanderOver = 40.0 // m along a pass over which the correlation of a driver's wandering falls to 1/e, or smoothly to a half
	lapOff     = 0.02 // m; how far off the lap of a stretch is by itself: passes are thinned, and bends are taken for straight
	leastLap   = 5.0  // m; a shorter stretch is left out
	usualLap   = 15.0 // m of a stretch, where mostLaps allows it
	averageLap = 2.0  // m; the prior standard deviation of a group's average lap
	anyLap     = 4.0  // m; likewise of one pass with the headland, which takes what width is left over: only changes along it tell,
	anySlope   = 0.3  // and of these none that grow with the metres along it: the headland may lie at a slant
	farLap     = 4.0  // robust standard deviations from the median: a lap farther off is a blunder, and left out
	leastScale = 0.01 // m; the median absolute deviation is taken to be no smaller

	// madToStdDev turns a median absolute deviation into the standard deviation of a
	// normal distribution: 1 / its 0.75 quantile.
	madToStdDev = 1.4826
)

// fitLaps looks at the laps of a map.
func fitLaps(m *coverage.Map, n *nodes) *lapFit {
	f := &lapFit{nodes: n}
	f.see(m)
	f.dropBlunders()
	f.keep(3 * mostLaps / 2) // passes in short pieces have more
	if len(f.seen) == 0 {
		return f
	}
	var cells []cell
	for kind := range n.kinds {
		for _, how := range hows {
			for _, pass := range strays {
				for _, stretch := range strays {
					cells = append(cells, cell{kind: kind, how: how, pass: pass, stretch: stretch})
				}
			}
		}
	}
	neighbours := 0 // they come first
	for neighbours < len(f.seen) && f.seen[neighbours].group < edgeLaps {
		neighbours++
	}
	// First the neighbours alone; then, with the edge and the ends, cells drawn by
	// how likely they are.
	few := spread(neighbours, fewLaps)
	first := f.weigh(cells, few, true)
	f.steadier = slices.Max(f.weigh(cells[:len(cells)/len(n.kinds)], few, false)) - slices.Max(first)
	var more []cell
	var likely []float64 // how much likelier the cells are by all laps than by the few
	for _, i := range drawn(first, mostCells) {
		for _, edge := range edgeStrays {
			if edge < cells[i].pass || edge > 4*max(cells[i].pass, edgeStrays[0]/4) {
				continue
			}
			for _, end := range strays {
				c := cells[i]
				c.edge, c.end = edge, end
				more, likely = append(more, c), append(likely, -first[i])
			}
		}
	}
	for _, i := range spread(len(f.seen)-neighbours, fewLaps/2) {
		few = append(few, neighbours+i)
	}
	for i, l := range f.weigh(more, few, true) {
		likely[i] += l
	}
	chosen := map[int]*likelyCell{}
	for _, i := range drawn(likely, drawnFrom) {
		if chosen[i] == nil {
			chosen[i] = &likelyCell{cell: more[i]}
		}
		f.cells = append(f.cells, chosen[i])
	}
	return f
}

// How many laps and cells are weighed: so many that it takes a fraction of a second.
// Fewer laps leave more kinds of error and of driving likely. Judgement. No test holds them closely.
const (
	fewLaps   = 110
	mostCells = 16
	drawnFrom = 20
)

// spread returns numbers below n, most at most, evenly.
func spread(n, most int) []int {
	k := min(n, most)
	out := make([]int, k)
	for i := range out {
		out[i] = i * n / k
	}
	return out
}

// keep leaves out laps, spread over all, so that no more than so many remain.
func (f *lapFit) keep(most int) {
	for i, k := range spread(len(f.seen), most) {
		f.seen[i], f.y[i] = f.seen[k], f.y[k]
	}
	most = min(most, len(f.seen))
	f.seen, f.y = f.seen[:most], f.y[:most]
}

// drawn draws so many indices, each as often as its log likelihood asks for: at even
// steps of the running sum of the likelihoods (systematic resampling).
func drawn(likely []float64, n int) []int {
	most, sum := slices.Max(likely), 0.0
	for _, l := range likely {
		sum += math.Exp(l - most)
	}
	var out []int
	k, so := 0, math.Exp(likely[0]-most)
	for i := range n {
		for so < (float64(i)+0.5)/float64(n)*sum && k+1 < len(likely) {
			k++
			so += math.Exp(likely[k] - most)
		}
		out = append(out, k)
	}
	return out
}

// weigh returns the log likelihood of some laps in each cell, as far as the receiver's
// error shows in them or does not.
func (f *lapFit) weigh(cells []cell, which []int, shown bool) []float64 {
	covariance := make([][]float64, len(f.nodes.kinds))
	if shown {
		parallel.Each(len(covariance), func(kind int) { covariance[kind] = f.covariances(kind, which) })
	}
	y := make([]float64, len(which))
	for i, k := range which {
		y[i] = f.y[k]
	}
	parts := map[how][]strayParts{}
	for _, h := range hows {
		for i := range which {
			for j := range i + 1 {
				parts[h] = append(parts[h], f.parts(h, which[i], which[j]))
			}
		}
	}
	out := make([]float64, len(cells))
	parallel.Each(len(cells), func(k int) {
		c := &cells[k]
		parts := parts[c.how]
		out[k] = factor(len(which), func(i, j int) float64 {
			s := c.strayed(&parts[i*(i+1)/2+j])
			if shown {
				s += covariance[c.kind][i*(i+1)/2+j]
			}
			return s
		}).likelihood(y)
	})
	return out
}

// see gathers the laps of all passes with earlier ones and with the edge, and those
// of starts and ends: about mostLaps, of which ends are half at most.
func (f *lapFit) see(m *coverage.Map) {
	f.seeEnds(m)
	all := m.AllNeighbours()
	total := 0.0
	for _, besides := range all {
		for _, b := range besides {
			total += b.Length.Metres()
		}
	}
	most := max(usualLap, total/float64(mostLaps-len(f.seen)))
	for i, besides := range all {
		for _, side := range []struct {
			sign float64
			lap  func(*beside.Stretch) *beside.Lap
		}{{-1, func(b *beside.Stretch) *beside.Lap { return &b.Left }}, {1, func(b *beside.Stretch) *beside.Lap { return &b.Right }}} {
			for from := 0; from < len(besides); {
				to := from + 1
				a := side.lap(&besides[from])
				for to < len(besides) && side.lap(&besides[to]).Pass == a.Pass && side.lap(&besides[to]).Edge == a.Edge &&
					besides[to].Along-besides[from].Along < plane.DistanceOf(most) &&
					(side.lap(&besides[to]).Along-a.Along).Abs() < plane.DistanceOf(2*most) {
					to++
				}
				if a.Edge || a.Pass > 0 && earlier(a, i+1, besides[from].Along) {
					f.add(m, i, besides[from:to], side.sign, side.lap)
				}
				from = to
			}
		}
	}
}

// seeEnds gathers the laps of starts and ends.
func (f *lapFit) seeEnds(m *coverage.Map) {
	for i, ends := range m.EndLaps() {
		for _, e := range ends {
			s := seenLap{dir: plane.Vector{X: e.X, Y: e.Y}, group: endLaps, own: i, other: e.Pass - 1}
			if e.Edge {
				s.group = endEdgeLaps
			}
			f.link(&s, e.Own, e.Along)
			s.side = f.sideOf(&s)
			f.seen, f.y = append(f.seen, s), append(f.y, e.By.Metres())
		}
	}
	f.keep(mostLaps / 2)
}

// sameSide is how far the directions of two ends may lie apart, as the cosine of the
// angle, for them to meet the same side: 10 degrees. Judgement. No test holds it closely.
var sameSide = math.Cos(10 * math.Pi / 180)

// sideOf numbers the sides that ends meet. Where a driver lifts depends on the angle
// at which the side is met, by as much as half the bar: ends on one side have an
// average of their own.
func (f *lapFit) sideOf(s *seenLap) int {
	sides := 0
	for i := range f.seen {
		if o := &f.seen[i]; o.end() {
			if o.group == s.group && o.dir.Dot(s.dir) > sameSide {
				return o.side
			}
			sides = max(sides, o.side+1)
		}
	}
	return sides
}

// link sets which nodes, by which parts, add to the lap of s, by its place along the
// pass and along its neighbour.
func (f *lapFit) link(s *seenLap, along, theirs plane.Distance) {
	s.along, s.theirs = along.Metres(), theirs.Metres()
	own := f.nodes.at(s.own, along)
	s.terms[0], s.terms[1] = own[0], own[1]
	if s.other >= 0 {
		other := f.nodes.at(s.other, theirs)
		s.terms[2], s.terms[3] = share{other[0].node, -other[0].part}, share{other[1].node, -other[1].part}
	}
}

// earlier reports whether a lap is with an earlier pass, or an earlier round.
func earlier(l *beside.Lap, pass int, along plane.Distance) bool {
	return l.Pass < pass || l.Pass == pass && l.Along < along
}

// add notes the lap of one stretch of a pass.
func (f *lapFit) add(m *coverage.Map, pass int, stretch []beside.Stretch, sign float64, lap func(*beside.Stretch) *beside.Lap) {
	var by, along, length, theirs plane.Distance
	for i := range stretch {
		b := &stretch[i]
		by += b.Length * lap(b).By
		along += b.Length * b.Along
		theirs += b.Length * lap(b).Along
		length += b.Length
	}
	if length < leastLap*plane.Distance(plane.Metre) {
		return
	}
	by, along, theirs = by/length, along/length, theirs/length
	first := lap(&stretch[0])
	sin, cos := headingAt(&m.Passes[pass], along).Sincos()
	s := seenLap{dir: plane.Vector{X: sign * cos, Y: -sign * sin}, group: interiorLaps, own: pass, other: first.Pass - 1}
	switch {
	case first.Edge:
		s.group = edgeLaps
	case m.Passes[pass].Headland && m.Passes[first.Pass-1].Headland:
		s.group = roundLaps
	case m.Passes[pass].Headland || m.Passes[first.Pass-1].Headland:
		s.group = betweenLaps
	}
	f.link(&s, along, theirs)
	f.seen, f.y = append(f.seen, s), append(f.y, by.Metres())
}

// headingAt returns the bar's heading at a distance along a pass.
func headingAt(p *coverage.Pass, along plane.Distance) plane.Angle {
	i := sort.Search(len(p.Poses)-1, func(i int) bool { return p.Poses[i].Along >= along })
	return p.Poses[i].Heading
}

// dropBlunders leaves out laps far from the others of their group, takes the
// group's median away from the rest, and puts them in the order of the groups.
func (f *lapFit) dropBlunders() {
	var seen []seenLap
	var y []float64
	sides := 1
	for i := range f.seen {
		sides = max(sides, f.seen[i].side+1)
	}
	by := make([][]int, lapGroups*sides)
	for i := range f.seen {
		k := f.seen[i].group*sides + f.seen[i].side
		by[k] = append(by[k], i)
	}
	for _, laps := range by {
		if len(laps) == 0 {
			continue
		}
		values := make([]float64, len(laps))
		for i, k := range laps {
			values[i] = f.y[k]
		}
		slices.Sort(values)
		middle := values[len(values)/2]
		for i := range values {
			values[i] = math.Abs(values[i] - middle)
		}
		slices.Sort(values)
		most := farLap * madToStdDev * max(values[len(values)/2], leastScale)
		for _, k := range laps {
			if math.Abs(f.y[k]-middle) <= most {
				seen, y = append(seen, f.seen[k]), append(y, f.y[k]-middle)
			}
		}
	}
	f.seen, f.y = seen, y
}

// covariances returns H C Hᵀ of some laps, if the error is of a kind: a lower triangle
// row by row.
func (f *lapFit) covariances(kind int, which []int) []float64 {
	k := &f.nodes.kinds[kind]
	n := len(which)
	out := make([]float64, n*(n+1)/2)
	for i := range n {
		a := &f.seen[which[i]]
		for j := range i + 1 {
			b := &f.seen[which[j]]
			dot := a.dir.X*b.dir.X + a.dir.Y*b.dir.Y
			sum := 0.0
			for _, s := range a.terms {
				for _, t := range b.terms {
					if s.part != 0 && t.part != 0 {
						sum += s.part * t.part * k.between(s.node, t.node)
					}
				}
			}
			out[i*(i+1)/2+j] = dot * sum
		}
	}
	return out
}

// strayParts are what the covariance of two laps, but for the receiver's part, is made
// of: what does not depend on how far the driver strays, and how much of the squares
// of a cell's figures.
type strayParts struct{ fixed, pass, stretch, edge, end float64 }

// strayed is the covariance of two laps but for the receiver's part.
func (c *cell) strayed(p *strayParts) float64 {
	return p.fixed + c.pass*c.pass*p.pass + c.stretch*c.stretch*p.stretch + c.edge*c.edge*p.edge + c.end*c.end*p.end
}

// parts are those of two laps: of how the driver strayed, and of the averages that
// are not known.
func (f *lapFit) parts(h how, i, j int) (p strayParts) {
	a, b := &f.seen[i], &f.seen[j]
	if a.group == b.group && a.side == b.side {
		p.fixed += averageLap * averageLap
	}
	if i == j {
		p.fixed += lapOff * lapOff
		if a.end() {
			p.end = 1
		}
	}
	whole, near := h.common(a, b)
	followed := a.group <= betweenLaps && b.group <= betweenLaps
	same := a.own == b.own && a.other == b.other
	switch {
	case a.group >= edgeLaps && b.group >= edgeLaps:
		p.edge, p.stretch = whole, near
	case h.byLine:
		p.stretch = near
	case followed && same:
		p.stretch = h.wanders(a.along - b.along)
	}
	switch {
	case !followed || a.group != b.group:
	case a.group == betweenLaps && same:
		p.fixed += anyLap*anyLap + anySlope*anySlope*a.along*b.along
	case a.group == betweenLaps:
	case h.byLine:
		p.pass = whole
	case same:
		p.pass = 1
	}
	return p
}

// common is how much two laps share of the same passes' deviations from their lines,
// of those along the whole pass and of those nearby: 1 for each pass that adds to
// both alike. A pass's deviation to the side does not move its end.
func (h how) common(a, b *seenLap) (whole, near float64) {
	dot := a.dir.X*b.dir.X + a.dir.Y*b.dir.Y
	add := func(sign, apart float64) {
		whole += sign * dot
		near += sign * dot * h.wanders(apart)
	}
	if a.own == b.own && !a.end() && !b.end() {
		add(1, a.along-b.along)
	}
	if a.other >= 0 && a.other == b.other {
		add(1, a.theirs-b.theirs)
	}
	if a.own == b.other && !a.end() {
		add(-1, a.along-b.theirs)
	}
	if a.other >= 0 && a.other == b.own && !b.end() {
		add(-1, a.theirs-b.along)
	}
	return whole, near
}

// laps returns the laps that an error makes.
func (f *lapFit) laps(e []plane.Vector) []float64 {
	out := make([]float64, len(f.seen))
	for i := range f.seen {
		s := &f.seen[i]
		for _, t := range s.terms {
			out[i] += t.part * e[t.node].Dot(s.dir)
		}
	}
	return out
}

// cell returns the cell to draw from, chosen by a number from 0 to 1; nil where no laps
// were seen.
func (f *lapFit) cell(u float64) *likelyCell {
	if len(f.seen) == 0 {
		return nil
	}
	return f.cells[int(u*float64(len(f.cells)))]
}

// kind is that of the error to draw, chosen by a number from 0 to 1.
func (f *lapFit) kind(u float64) int {
	if c := f.cell(u); c != nil {
		return c.kind
	}
	return int(u * float64(len(f.nodes.kinds)))
}

// draw returns an error for each node that fits laps y; u, from 0 to 1, chooses of
// which kind it is and how far the driver strays.
func (f *lapFit) draw(r *rand.Rand, u float64, y []float64) []plane.Vector {
	e := f.nodes.draw(r, f.kind(u))
	c := f.cell(u)
	if c == nil {
		return e
	}
	c.once.Do(func() {
		all := spread(len(f.seen), len(f.seen))
		covariance := f.covariances(c.kind, all)
		strayed := make([]float64, len(covariance))
		for i := range all {
			for j := range i + 1 {
				p := f.parts(c.how, i, j)
				strayed[i*(i+1)/2+j] = c.cell.strayed(&p)
			}
		}
		c.strayed = factor(len(all), func(i, j int) float64 { return strayed[i*(i+1)/2+j] })
		c.factor = factor(len(all), func(i, j int) float64 { return strayed[i*(i+1)/2+j] + covariance[i*(i+1)/2+j] })
	})
	off := c.strayed.times(normals(r, len(f.seen)))
	for i, lap := range f.laps(e) {
		off[i] = y[i] - off[i] - lap
	}
	// The correction C Hᵀ (H C Hᵀ + R)⁻¹ (y - y'): first as far as Hᵀ, a pull on each
	// node, then times C = L Lᵀ.
	pull := make([]plane.Vector, f.nodes.count)
	for i, a := range c.factor.solve(off) {
		s := &f.seen[i]
		for _, t := range s.terms {
			pull[t.node].X += a * t.part * s.dir.X
			pull[t.node].Y += a * t.part * s.dir.Y
		}
	}
	for _, p := range f.nodes.priors(c.kind) {
		x, y := make([]float64, len(p.order)), make([]float64, len(p.order))
		for i, node := range p.order {
			x[i], y[i] = pull[node].X, pull[node].Y
		}
		x, y = p.factor.times(p.factor.turned(x)), p.factor.times(p.factor.turned(y))
		for i, node := range p.order {
			e[node].X += x[i]
			e[node].Y += y[i]
		}
	}
	return e
}

// again returns an error that fits the laps of the field as it would have been logged
// another time: driven as it was if e is taken away, with another error drawn of the
// same kind. What it returns is to be taken away from the passes as logged.
func (f *lapFit) again(r *rand.Rand, u float64, e []plane.Vector) []plane.Vector {
	other := f.nodes.draw(r, f.kind(u))
	y, less, more := slices.Clone(f.y), f.laps(e), f.laps(other)
	for i := range y {
		y[i] += more[i] - less[i]
	}
	out := f.draw(r, u, y)
	for k := range out {
		out[k].X += e[k].X - other[k].X
		out[k].Y += e[k].Y - other[k].Y
	}
	return out
}
