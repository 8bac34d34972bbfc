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
// receiver errs far more, most of what y shows is error. The deviations of the
// driver's steering are not known: each cell of a grid of them is weighed by the
// likelihood of y in it, by Bayes' rule with equal priors.
type lapFit struct {
	nodes  *nodes
	errors []ReceiverError
	seen   []seenLap
	y      []float64
	cells  []cell
	weight []float64 // of the cells, running sums up to 1

	steadier float64 // log of how much likelier y is if no error shows in it
}

// A seenLap is the lap of one stretch, or of one end of a pass.
type seenLap struct {
	terms [4]share     // the parts of the errors at some nodes, towards dir, that add to the lap
	dir   plane.Vector // of length 1
	group int          // one of the groups below
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

// A cell is one way a driver strays, in metres.
type cell struct {
	pass, stretch float64
	edge, end     float64 // headland passes from the field's edge, and starts and ends by themselves
	byLine        bool    // from a line, not from the last pass
	factor        lower   // of the covariance of y
	strayed       lower   // and of the part that is not the receiver's, once it is asked for
	once          *sync.Once
}

// strays are the standard deviations, in metres, that drivers may stray by: threefold
// steps from a centimetre, better than any steering does, to most of a metre.
// Judgement. No test holds them closely.
var strays = []float64{0.01, 0.03, 0.09, 0.27, 0.81}

// edgeStrays are the standard deviations, in metres, that headland passes may stray
// by from the boundary as drawn. Four sides of a field are too few to tell it, so the
// range is narrow: a boundary is followed no better than a line, nor much worse, and
// is seldom surveyed to less than a decimetre. Judgement.
var edgeStrays = []float64{0.09, 0.27, 0.81}

// How laps are gathered and modelled, in figures. Judgement. No
// test holds mostLaps, wanderOver, usualLap, averageLap or farLap closely.
const (
	mostLaps   = 350  // stretches; more take seconds and tell little more
	wanderOver = 40.0 // m along a pass over which the correlation of a driver's wandering falls to 1/e
	leastLap   = 5.0  // m; a shorter stretch is left out
	usualLap   = 40.0 // m of a stretch, where mostLaps allows it
	averageLap = 2.0  // m; the prior standard deviation of a group's average lap
	anyLap     = 4.0  // m; likewise of one pass with the headland, which takes what width is left over: only changes along it tell
	farLap     = 4.0  // robust standard deviations from the median: a lap farther off is a blunder, and left out
	leastScale = 0.01 // m; the median absolute deviation is taken to be no smaller

	// madToStdDev turns a median absolute deviation into the standard deviation of a
	// normal distribution: 1 / its 0.75 quantile.
	madToStdDev = 1.4826
)

// fitLaps looks at the laps of a map.
func fitLaps(m *coverage.Map, n *nodes, errors []ReceiverError) *lapFit {
	f := &lapFit{nodes: n, errors: errors}
	f.see(m)
	f.dropBlunders()
	if len(f.seen) == 0 {
		return f
	}
	var cells []cell
	for _, byLine := range []bool{false, true} {
		for _, pass := range strays {
			for _, stretch := range strays {
				cells = append(cells, cell{pass: pass, stretch: stretch, byLine: byLine})
			}
		}
	}
	f.thin(2 * len(cells)) // each is weighed twice
	covariance := f.covariances()
	laps := 0 // those of neighbours come first
	for laps < len(f.seen) && f.seen[laps].group < edgeLaps {
		laps++
	}
	// First the neighbours alone; then, with all, the cells that are likely at all.
	likely := f.weigh(cells, laps, covariance)
	f.steadier = slices.Max(f.weigh(slices.Clone(cells), laps, nil)) - slices.Max(likely)
	for i, l := range likely {
		if l < slices.Max(likely)-unlikely {
			continue
		}
		for _, edge := range edgeStrays {
			if edge < cells[i].pass || edge > 4*max(cells[i].pass, edgeStrays[0]/4) {
				continue
			}
			for _, end := range strays {
				c := cells[i]
				c.edge, c.end, c.once = edge, end, new(sync.Once)
				f.cells = append(f.cells, c)
			}
		}
	}
	if f.thin(len(f.cells)) {
		covariance = f.covariances()
	}
	likely = f.weigh(f.cells, len(f.seen), covariance)
	most, sum := slices.Max(likely), 0.0
	for _, l := range likely {
		sum += math.Exp(l - most)
		f.weight = append(f.weight, sum)
	}
	for i := range f.weight {
		f.weight[i] /= sum
	}
	return f
}

// mostWeighed is how much weighing the laps in all cells may take: the number of
// cells times the third power of the laps. That is 730 laps in a hundred cells, and
// some seconds: a harvest of 100 passes has 700, and laps enough to tell how a driver
// strays are far fewer. Only passes in short pieces have more.
const mostWeighed = 4e10

// thin leaves out laps, spread over all, so that weighing them in so many cells does
// not take too long, and reports whether it did.
func (f *lapFit) thin(cells int) bool {
	n, most := len(f.seen), int(math.Cbrt(mostWeighed/float64(cells)))
	if n <= most {
		return false
	}
	for i := range most {
		f.seen[i], f.y[i] = f.seen[i*n/most], f.y[i*n/most]
	}
	f.seen, f.y = f.seen[:most], f.y[:most]
	return true
}

// unlikely is how much less likely than the best, as a natural logarithm, a cell may
// be and still count: those beyond weigh a few in a hundred together.
// Judgement. No test holds it closely.
const unlikely = 4

// weigh factors the covariance of the first n laps in each cell, to which the
// receiver adds covariance (nil for none), and returns their log likelihood in each.
func (f *lapFit) weigh(cells []cell, n int, covariance []float64) []float64 {
	out := make([]float64, len(cells))
	parallel.Each(len(cells), func(k int) {
		c := &cells[k]
		c.factor = factor(n, func(i, j int) float64 {
			s := f.strayed(c, i, j)
			if covariance != nil {
				s += covariance[i*(i+1)/2+j]
			}
			return s
		})
		out[k] = c.factor.likelihood(f.y[:n])
	})
	return out
}

// see gathers the laps of all passes with earlier ones and with the edge.
func (f *lapFit) see(m *coverage.Map) {
	all := m.AllNeighbours()
	total := 0.0
	for _, besides := range all {
		for _, b := range besides {
			total += b.Length.Metres()
		}
	}
	most := max(usualLap, total/mostLaps)
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
	for i, ends := range m.EndLaps() {
		for _, e := range ends {
			s := seenLap{dir: plane.Vector{X: e.X, Y: e.Y}, group: endLaps, own: i, other: e.Pass - 1}
			if e.Edge {
				s.group = endEdgeLaps
			}
			f.link(&s, e.Own, e.Along)
			f.seen, f.y = append(f.seen, s), append(f.y, e.By.Metres())
		}
	}
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
	for g := range lapGroups {
		var by []float64
		for i := range f.seen {
			if f.seen[i].group == g {
				by = append(by, f.y[i])
			}
		}
		if len(by) == 0 {
			continue
		}
		slices.Sort(by)
		middle := by[len(by)/2]
		for i := range by {
			by[i] = math.Abs(by[i] - middle)
		}
		slices.Sort(by)
		most := farLap * madToStdDev * max(by[len(by)/2], leastScale)
		for i := range f.seen {
			if f.seen[i].group == g && math.Abs(f.y[i]-middle) <= most {
				seen, y = append(seen, f.seen[i]), append(y, f.y[i]-middle)
			}
		}
	}
	f.seen, f.y = seen, y
}

// covariances returns H C Hᵀ, its lower triangle row by row.
func (f *lapFit) covariances() []float64 {
	n := len(f.seen)
	out := make([]float64, n*(n+1)/2)
	parallel.Each(n, func(i int) {
		a := &f.seen[i]
		for j := range i + 1 {
			b := &f.seen[j]
			dot := a.dir.X*b.dir.X + a.dir.Y*b.dir.Y
			sum := 0.0
			for _, s := range a.terms {
				for _, t := range b.terms {
					if s.part != 0 && t.part != 0 {
						sum += s.part * t.part * f.nodes.together(f.errors, s.node, t.node)
					}
				}
			}
			out[i*(i+1)/2+j] = dot * sum
		}
	})
	return out
}

// strayed is the covariance of two laps but for the receiver's part: of how the
// driver strayed, and of the averages that are not known.
func (f *lapFit) strayed(c *cell, i, j int) float64 {
	a, b := &f.seen[i], &f.seen[j]
	sum := 0.0
	if a.group == b.group {
		sum += averageLap * averageLap
	}
	if i == j && a.end() {
		sum += c.end * c.end
	}
	whole, near := common(a, b)
	followed := a.group <= betweenLaps && b.group <= betweenLaps
	switch {
	case a.group >= edgeLaps && b.group >= edgeLaps:
		sum += c.edge*c.edge*whole + c.stretch*c.stretch*near
	case c.byLine:
		sum += c.stretch * c.stretch * near
	case followed && a.own == b.own && a.other == b.other:
		sum += c.stretch * c.stretch * math.Exp(-math.Abs(a.along-b.along)/wanderOver)
	}
	switch {
	case !followed || a.group != b.group:
	case a.group == betweenLaps && a.own == b.own && a.other == b.other:
		sum += anyLap * anyLap
	case a.group == betweenLaps:
	case c.byLine:
		sum += c.pass * c.pass * whole
	case a.own == b.own && a.other == b.other:
		sum += c.pass * c.pass
	}
	return sum
}

// common is how much two laps share of the same passes' deviations from their lines,
// of those along the whole pass and of those nearby: 1 for each pass that adds to
// both alike. A pass's deviation to the side does not move its end.
func common(a, b *seenLap) (whole, near float64) {
	dot := a.dir.X*b.dir.X + a.dir.Y*b.dir.Y
	add := func(sign, apart float64) {
		whole += sign * dot
		near += sign * dot * math.Exp(-math.Abs(apart)/wanderOver)
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

// draw returns an error for each node that fits the laps; u, from 0 to 1,
// chooses how far the driver strays.
func (f *lapFit) draw(r *rand.Rand, u float64) []plane.Vector {
	e := f.nodes.draw(r)
	if len(f.seen) == 0 {
		return e
	}
	i, _ := slices.BinarySearch(f.weight, u)
	c := &f.cells[min(i, len(f.cells)-1)]
	c.once.Do(func() {
		c.strayed = factor(len(f.seen), func(i, j int) float64 { return f.strayed(c, i, j) })
	})
	off := c.strayed.times(normals(r, len(f.seen)))
	for i := range f.seen {
		s := &f.seen[i]
		for _, t := range s.terms {
			off[i] += t.part * e[t.node].Dot(s.dir)
		}
		off[i] = f.y[i] - off[i]
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
	for k := range f.nodes.prior {
		p := &f.nodes.prior[k]
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
