package whatif

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// worked is a field with two rounds and lines inside them, some aslant, that lap.
func worked(t *testing.T) (*covertest.Scene, []work.Pass) {
	ground := covertest.Rectangle(0, 0, 160, 120)
	const w = 8.0
	s := covertest.NewScene("worked", ground)
	path := covertest.NewPath(8).SquareRound(ground, w, 8)
	path.SquareRound(ground.Inset(w-0.3), w, 8)
	path.Lines(covertest.Lines{Ground: ground.Inset(2*w - 0.6), Heading: 0.3, Width: w, Spacing: w - 0.25, RunIn: 5, Ends: covertest.LastCorner})
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(w, 0, 1), Path: path, Speed: 2, Rate: 1})
	return s, s.Passes()
}

func mapOf(t *testing.T, s *covertest.Scene, passes []work.Pass) *coverage.Map {
	machines := machine.Machines(s.Machines)
	m, err := coverage.Lay(s.Field, machines, sweep.Sweep(machines, passes), field.Options{Rounds: 2})
	require.NoError(t, err)
	return m
}

// A pass that the receiver shows a decimetre off laps the next by as much more or less.
// So what is said that an error adds to each lap is what the laps of a field grow by if
// its passes are logged with that error, whichever side the neighbour lies on, at starts
// and ends, and along the edge.
func TestErrorsAddToLaps(t *testing.T) {
	s, passes := worked(t)
	m := mapOf(t, s, passes)
	n := nodesOf(m, []ReceiverError{{}})
	seen := func(m *coverage.Map) *lapFit {
		f := &lapFit{nodes: n}
		f.see(m)
		return f
	}
	before := seen(m)
	require.Greater(t, len(before.seen), 40)
	groups := map[int]int{}
	for i := range before.seen {
		groups[before.seen[i].group]++
	}
	for group := range lapGroups {
		assert.Positive(t, groups[group], "group %d", group)
	}
	r := rand.New(rand.NewPCG(5, 6))
	for range 3 {
		// Each pass as a whole: what changes along a pass turns it too.
		e := make([]plane.Vector, n.count)
		moved := slices.Clone(passes)
		for i := range moved {
			off := plane.Vector{X: 0.06 * r.NormFloat64(), Y: 0.06 * r.NormFloat64()}
			for k := range n.passes[i].along {
				e[n.passes[i].first+k] = off
			}
			moved[i].Poses = slices.Clone(moved[i].Poses)
			for k := range moved[i].Poses {
				q := &moved[i].Poses[k]
				q.Bar = q.Bar.Add(plane.Point{X: plane.Metres(off.X), Y: plane.Metres(off.Y)})
			}
		}
		after := seen(mapOf(t, s, moved))
		want := before.laps(e)
		compared, far := 0, 0
		for i := range after.seen {
			a := &after.seen[i]
			k := slices.IndexFunc(before.seen, func(b seenLap) bool {
				return b.group == a.group && b.own == a.own && b.other == a.other && b.dir.Dot(a.dir) > 0.99 && math.Abs(b.along-a.along) < 2 && math.Abs(b.theirs-a.theirs) < 2
			})
			if k < 0 {
				continue
			}
			compared++
			if math.Abs(after.y[i]-before.y[k]-want[k]) > 0.02 {
				far++ // at a corner, where the neighbour is another
			}
		}
		assert.Greater(t, compared, len(before.seen)*2/3)
		assert.LessOrEqual(t, far, compared/10)
	}
}

// besides notes the lap of a pass with another at a place along both, to the east or the west;
// with the field's edge where other is -1.
func (f *lapFit) besides(group, own, other int, along, theirs, sign float64) {
	s := seenLap{group: group, own: own, other: other, dir: plane.Vector{X: sign}}
	f.link(&s, plane.DistanceOf(along), plane.DistanceOf(theirs))
	f.seen, f.y = append(f.seen, s), append(f.y, 0)
}

// someLaps are laps of all groups between five passes, to both sides, some with the same pass
// more than once.
func someLaps() *lapFit {
	f := &lapFit{nodes: nodesOf(timed(28, 28, 28, 28, 28), []ReceiverError{{ShortTerm: 0.3, Drift: 0.2}})}
	f.besides(interiorLaps, 3, 2, 10, 40, 1)
	f.besides(interiorLaps, 3, 2, 30, 20, 1)
	f.besides(interiorLaps, 4, 3, 10, 44, 1)
	f.besides(interiorLaps, 2, 4, 15, 33, -1)
	f.besides(roundLaps, 1, 0, 10, 10, 1)
	f.besides(roundLaps, 1, 1, 45, 5, 1) // a spiral's next round
	f.besides(betweenLaps, 2, 1, 10, 30, -1)
	f.besides(betweenLaps, 2, 1, 30, 10, -1)
	f.besides(betweenLaps, 3, 0, 10, 30, 1)
	f.besides(edgeLaps, 0, -1, 10, 0, -1)
	f.besides(edgeLaps, 0, -1, 40, 0, -1)
	f.besides(edgeLaps, 1, -1, 40, 0, 1)
	f.besides(endLaps, 2, 0, 0, 25, 1)
	f.besides(endLaps, 3, 0, 56, 35, 1)
	f.besides(endLaps, 3, 1, 0, 25, 1)
	f.besides(endEdgeLaps, 2, -1, 56, 0, -1)
	f.besides(endEdgeLaps, 4, -1, 56, 0, -1)
	return f
}

// The laps that an error makes are sums of parts of it. So how they go with one another
// follows from how the error does at the nodes, node by node and on both axes.
func TestCovariancesOfLaps(t *testing.T) {
	f := someLaps()
	for i := range f.seen { // none but the first lie east or west
		angle := float64(i)
		f.seen[i].dir = plane.Vector{X: math.Cos(angle), Y: math.Sin(angle)}
	}
	n := f.nodes.count
	var made [2][][]float64 // by axis and node: the laps that an error of a metre there makes
	for axis := range made {
		for k := range n {
			e := make([]plane.Vector, n)
			e[k] = []plane.Vector{{X: 1}, {Y: 1}}[axis]
			made[axis] = append(made[axis], f.laps(e))
		}
	}
	which := []int{0, 2, 3, 5, 9, 12, 13, 16}
	for kind := range f.nodes.kinds {
		got, at := f.covariances(kind, which), 0
		for i := range which {
			for j := range i + 1 {
				want := 0.0
				for axis := range made {
					for p := range n {
						for q := range n {
							want += made[axis][p][which[i]] * made[axis][q][which[j]] * f.nodes.kinds[kind].between(p, q)
						}
					}
				}
				assert.InDelta(t, want, got[at], 1e-9, "%d and %d", which[i], which[j])
				at++
			}
		}
		assert.Len(t, got, at)
	}
}

// How a driver strays is made of how passes stray: each from its line as a whole and along
// it, if he follows lines, or each lap by itself, if he follows the last pass. A pass that
// strays to the side moves its laps, not its ends. What is not the driver's is the
// average of each group, and what each lap is off by itself; and of a pass beside the
// headland all that grows steadily along it.
func TestStrayedLaps(t *testing.T) {
	f := someLaps()
	for i := range f.seen {
		sin, cos := math.Sincos(float64(i) / 3)
		f.seen[i].dir = plane.Vector{X: f.seen[i].dir.X * cos, Y: f.seen[i].dir.X * sin}
	}
	c := cell{pass: 0.7, stretch: 0.5, edge: 0.9, end: 0.3}
	for _, h := range hows {
		c.how = h
		for i := range f.seen {
			for j := range i + 1 {
				a, b := &f.seen[i], &f.seen[j]
				want := 0.0
				if a.group == b.group {
					want += averageLap * averageLap
				}
				if i == j {
					want += lapOff * lapOff
				}
				// lines is how two laps go together if passes stray from lines so far.
				lines := func(whole, along float64) (sum float64) {
					place := func(s *seenLap, own bool) (pass int, at, sign float64) {
						switch {
						case !own && s.other >= 0:
							return s.other, s.theirs, -1
						case own && !s.end():
							return s.own, s.along, 1
						}
						return -1, 0, 0
					}
					for _, p := range []bool{true, false} {
						for _, q := range []bool{true, false} {
							x, s, signA := place(a, p)
							y, t, signB := place(b, q)
							if x == y {
								sum += signA * signB * a.dir.Dot(b.dir) * (whole*whole + along*along*h.wanders(s-t))
							}
						}
					}
					return sum
				}
				between := a.own == b.own && a.other == b.other
				inside := a.group < edgeLaps && b.group < edgeLaps
				switch {
				case a.group >= edgeLaps && b.group >= edgeLaps:
					want += lines(c.edge, c.stretch)
					if i == j && a.end() {
						want += c.end * c.end
					}
				case a.group == betweenLaps && b.group == betweenLaps:
					if between {
						want += anyLap*anyLap + anySlope*anySlope*a.along*b.along
					}
					if h.byLine {
						want += lines(0, c.stretch)
					} else if between {
						want += c.stretch * c.stretch * h.wanders(a.along-b.along)
					}
				case h.byLine && a.group == b.group:
					want += lines(c.pass, c.stretch)
				case h.byLine:
					want += lines(0, c.stretch)
				case inside && a.group == b.group && between:
					want += c.pass*c.pass + c.stretch*c.stretch*h.wanders(a.along-b.along)
				}
				p := f.parts(h, i, j)
				assert.InDelta(t, want, c.strayed(&p), 1e-9, "%v: %d and %d", h, i, j)
			}
		}
	}
	// Ends on two sides have no average in common.
	f.seen[12].side = 1
	p := f.parts(hows[0], 13, 12)
	assert.Zero(t, p.fixed)
}

// How likely laps are does not depend on the order in which they are looked at, nor on
// others that are not; those that have nothing to do with one another are as likely as
// all of them one by one.
func TestWeigh(t *testing.T) {
	f := someLaps()
	r := rand.New(rand.NewPCG(7, 8))
	for i := range f.y {
		f.y[i] = r.NormFloat64()
	}
	var cells []cell
	for kind := range f.nodes.kinds {
		cells = append(cells, cell{kind: kind, how: hows[kind%len(hows)], pass: 0.1, stretch: 0.2, edge: 0.3, end: 0.1})
	}
	for _, shown := range []bool{true, false} {
		a, b := f.weigh(cells, []int{0, 2, 4, 7, 9, 13, 16}, shown), f.weigh(cells, []int{13, 0, 16, 2, 9, 7, 4}, shown)
		for k := range cells {
			assert.InDelta(t, a[k], b[k], 1e-6)
		}
		assert.NotEqual(t, a[0], a[5])
	}
	// A lap with the edge alone, as the normal density has it.
	f.y[9] = 1.5
	c := []cell{{kind: 0, stretch: 0.6, edge: 0.8}}
	variance := averageLap*averageLap + lapOff*lapOff + 0.6*0.6 + 0.8*0.8
	assert.InDelta(t, -1.5*1.5/2/variance-math.Log(variance)/2, f.weigh(c, []int{9}, false)[0], 1e-9)
	variance += f.covariances(0, []int{9})[0]
	assert.InDelta(t, -1.5*1.5/2/variance-math.Log(variance)/2, f.weigh(c, []int{9}, true)[0], 1e-9)
	// One with the edge and one between rounds of other passes share nothing but the error.
	c[0].pass = 0.1
	apart := f.weigh(c, []int{9}, false)[0] + f.weigh(c, []int{4}, false)[0]
	assert.InDelta(t, apart, f.weigh(c, []int{4, 9}, false)[0], 1e-9)
}

// moments are the mean of draws, and how they go with one another about it.
func moments(draws int, draw func() []float64) (mean []float64, goes [][]float64) {
	var all [][]float64
	for range draws {
		all = append(all, draw())
	}
	mean = make([]float64, len(all[0]))
	for _, x := range all {
		for i := range x {
			mean[i] += x[i] / float64(draws)
		}
	}
	goes = make([][]float64, len(mean))
	for i := range goes {
		goes[i] = make([]float64, len(mean))
		for _, x := range all {
			for j := range goes {
				goes[i][j] += (x[i] - mean[i]) * (x[j] - mean[j]) / float64(draws)
			}
		}
	}
	return mean, goes
}

func flat(e []plane.Vector) (out []float64) {
	for _, v := range e {
		out = append(out, v.X)
	}
	for _, v := range e {
		out = append(out, v.Y)
	}
	return out
}

// inverse is that of a matrix.
func inverse(matrix [][]float64) [][]float64 {
	l := factor(len(matrix), func(i, j int) float64 { return matrix[i][j] })
	out := make([][]float64, len(matrix))
	for i := range out {
		unit := make([]float64, len(matrix))
		unit[i] = 1
		out[i] = l.solve(unit)
	}
	return out
}

// The errors drawn are normal with the mean and the covariance that errors have, of a known
// covariance C, once y = H e + r has been seen: (C⁻¹ + Hᵀ R⁻¹ H)⁻¹ is the covariance, and
// that times Hᵀ R⁻¹ y the mean (Rasmussen and Williams, "Gaussian Processes for Machine
// Learning", 2006, equations 2.7 and 2.8). It is worked out in another way than draws are.
func TestDrawsFitLaps(t *testing.T) {
	m := timed(14, 14, 14)
	m.Passes[2].Machine = 1
	f := &lapFit{nodes: nodesOf(m, []ReceiverError{{ShortTerm: 1}, {ShortTerm: 0.5}})}
	f.besides(interiorLaps, 1, 0, 5, 20, 1)
	f.besides(interiorLaps, 2, 1, 10, 12, 1)
	f.besides(roundLaps, 2, 0, 22, 3, -1)
	f.besides(edgeLaps, 0, -1, 8, 0, 1)
	f.seen[1].dir, f.seen[3].dir = plane.Vector{X: 0.6, Y: 0.8}, plane.Vector{Y: -1}
	f.y = []float64{1.5, -1, 3, 2}
	c := &likelyCell{cell: cell{kind: 4, how: hows[1], pass: 0.3, stretch: 0.2, edge: 0.25, end: 0.1}}
	f.cells = []*likelyCell{c}

	n := f.nodes.count
	prior, r := make([][]float64, 2*n), make([][]float64, len(f.y))
	for i := range prior {
		prior[i] = make([]float64, 2*n)
		for j := range prior {
			if i/n == j/n {
				prior[i][j] = f.nodes.kinds[4].between(i%n, j%n)
			}
		}
	}
	for i := range r {
		r[i] = make([]float64, len(r))
		for j := range r {
			p := f.parts(c.how, max(i, j), min(i, j))
			r[i][j] = c.cell.strayed(&p)
		}
	}
	h := make([][]float64, 2*n) // the laps that a metre makes, by node
	for k := range h {
		e := make([]plane.Vector, n)
		if k < n {
			e[k].X = 1
		} else {
			e[k-n].Y = 1
		}
		h[k] = f.laps(e)
	}
	weight, information, pull := inverse(r), inverse(prior), make([]float64, 2*n)
	for p := range 2 * n {
		for i := range r {
			for j := range r {
				pull[p] += h[p][i] * weight[i][j] * f.y[j]
				for q := range 2 * n {
					information[p][q] += h[p][i] * weight[i][j] * h[q][j]
				}
			}
		}
	}
	want := inverse(information)
	random := rand.New(rand.NewPCG(9, 10))
	mean, goes := moments(20_000, func() []float64 { return flat(f.draw(random, random.Float64(), f.y)) })
	for p := range 2 * n {
		expected := 0.0
		for q := range 2 * n {
			expected += want[p][q] * pull[q]
			assert.InDelta(t, want[p][q], goes[p][q], 0.05, "%d and %d", p, q)
		}
		assert.InDelta(t, expected, mean[p], 0.04, "%d", p)
	}
}

// Where the driver hardly strays, errors drawn differ as the laps do: all but their average.
// So they do on the field logged another time, driven as it was.
func TestDrawsOfASteadyDriver(t *testing.T) {
	f := &lapFit{nodes: nodesOf(timed(14, 14, 14, 14), []ReceiverError{{ShortTerm: 1, Drift: 1}})}
	for i := range 3 {
		f.besides(interiorLaps, i+1, i, 5, 20, float64(1-2*(i%2)))
		f.besides(interiorLaps, i+1, i, 20, 5, float64(1-2*(i%2)))
	}
	for i := range f.seen { // half east or west, half north or south
		if i%2 > 0 {
			f.seen[i].dir.X, f.seen[i].dir.Y = 0, f.seen[i].dir.X
		}
	}
	f.y = []float64{0.9, -0.3, 0.4, 1.2, -1.1, -0.7}
	f.cells = []*likelyCell{{cell: cell{kind: 3, pass: 1e-3, stretch: 1e-3}}}
	r := rand.New(rand.NewPCG(11, 12))
	for range 20 {
		e := f.draw(r, r.Float64(), f.y)
		for _, laps := range [][]float64{f.laps(e), f.laps(f.again(r, r.Float64(), e))} {
			for i := range laps {
				assert.InDelta(t, f.y[i]-f.y[0], laps[i]-laps[0], 8*lapOff)
			}
		}
	}
}

// Where no lap tells of the error it is drawn as it is beforehand, of each kind as often;
// and logged another time the field has that of the log, another taken from it, and a third
// that is taken for it.
func TestDrawsWithoutLaps(t *testing.T) {
	f := &lapFit{nodes: nodesOf(timed(7), []ReceiverError{{ShortTerm: 1}})}
	kinds := map[int]int{}
	for i := range 60 {
		kinds[f.kind((float64(i)+0.5)/60)]++
	}
	for kind := range f.nodes.kinds {
		assert.Equal(t, 10, kinds[kind])
	}
	r := rand.New(rand.NewPCG(13, 14))
	e := []plane.Vector{{X: 3, Y: -4}, {X: 2, Y: 1}}
	prior := f.nodes.kinds[2].between(0, 0)
	mean, goes := moments(10_000, func() []float64 { return flat(f.draw(r, 0.4, f.y)) })
	assert.InDelta(t, 0, mean[0], 0.05)
	assert.InDelta(t, prior, goes[0][0], 0.05)
	assert.InDelta(t, f.nodes.kinds[2].between(0, 1), goes[2][3], 0.05)
	assert.InDelta(t, 0, goes[0][2], 0.05, "east and north have nothing to do with each other")
	mean, goes = moments(10_000, func() []float64 { return flat(f.again(r, 0.4, e)) })
	for i, want := range flat(e) {
		assert.InDelta(t, want, mean[i], 0.06)
		assert.InDelta(t, 2*prior, goes[i][i], 0.1)
	}
}

// straight is a field with so many lanes of 8 m in its midst, to and fro, that lap by 20 cm,
// so many metres from its ends.
func straight(t *testing.T, lanes int, length, margin float64) *coverage.Map {
	s := covertest.NewScene("straight", covertest.Rectangle(-50, -margin, 50+8*float64(lanes), length+margin))
	path := covertest.Start(0, 0, 0)
	for i := range lanes {
		at := covertest.Stance{XY: covertest.XY{X: 7.8 * float64(i)}}
		if i%2 > 0 {
			at.Y, at.Heading = length, math.Pi
		}
		path.Jump(at).On().Straight(length).Off().Stand(20)
	}
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(8, 0, 1), Path: path, Speed: 2, Rate: 1})
	passes := s.Passes()
	require.Len(t, passes, lanes)
	return mapOf(t, s, passes)
}

// Between two lanes a lap is seen every 15 m of the later one, at the same place of the
// other, which was driven the other way; where there are many, so seldom that there are
// about as many as can soon be weighed.
func TestHowOftenLapsAreSeen(t *testing.T) {
	m := straight(t, 2, 195, 50)
	f := &lapFit{nodes: nodesOf(m, []ReceiverError{{}})}
	f.see(m)
	require.Len(t, f.seen, 13)
	for i := range f.seen {
		assert.InDelta(t, usualLap*(float64(i)+0.5), f.seen[i].along, 1.5)
		assert.InDelta(t, 195, f.seen[i].along+f.seen[i].theirs, 0.1)
		assert.InDelta(t, 0.2, f.y[i], 0.01)
	}
	for _, c := range []struct {
		lanes          int
		length, margin float64
		ends           int
	}{{20, 2000, 50, 0}, {40, 600, 50, 0}, {60, 600, 0, 120}, {100, 300, 0, mostLaps / 2}} {
		m = straight(t, c.lanes, c.length, c.margin)
		f = &lapFit{nodes: nodesOf(m, []ReceiverError{{}})}
		f.see(m)
		ends := 0
		for i := range f.seen {
			if f.seen[i].end() {
				ends++
			}
		}
		assert.Equal(t, c.ends, ends)
		assert.LessOrEqual(t, len(f.seen), mostLaps*11/10)
		assert.Greater(t, len(f.seen), mostLaps*3/4)
	}
}

// A field without edges or ends that tell anything has the laps of neighbours to go by.
func TestFitOfNeighboursAlone(t *testing.T) {
	m := straight(t, 6, 100, 50)
	f := fitLaps(m, nodesOf(m, []ReceiverError{{ShortTerm: 0.5}}))
	require.NotEmpty(t, f.cells)
	assert.Greater(t, f.steadier, float64(steadierBy), "all laps are alike, and so large an error would show")
}

// The heading of a bar on a circle of 50 m grows by a fiftieth a metre; at a pose it is the
// pose's, and beyond the end that of the end.
func TestHeadingAt(t *testing.T) {
	p := &coverage.Pass{}
	for i := range 101 {
		p.Poses = append(p.Poses, work.Pose{Along: plane.DistanceOf(float64(i)), Heading: plane.Angle(float64(i) / 50)})
	}
	for _, along := range []float64{0, 1, 17, 17.4, 17.9, 99.5, 100} {
		assert.InDelta(t, along/50, float64(headingAt(p, plane.DistanceOf(along))), 1.0/50, "%v m", along)
	}
	assert.Equal(t, plane.Angle(17.0/50), headingAt(p, plane.DistanceOf(17)))
	assert.Equal(t, plane.Angle(2), headingAt(p, plane.DistanceOf(100.001)))
}
