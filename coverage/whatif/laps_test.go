package whatif

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// Laps that are kept are spread over all, each with its own figures.
func TestKeep(t *testing.T) {
	for _, n := range []int{1, 100, 101, 2000} {
		f := &lapFit{}
		for i := range n {
			f.seen, f.y = append(f.seen, seenLap{own: i}), append(f.y, float64(i))
		}
		f.keep(100)
		assert.Len(t, f.seen, min(n, 100))
		last := -1
		for i, s := range f.seen {
			assert.Equal(t, float64(s.own), f.y[i])
			assert.LessOrEqual(t, s.own-last, n/len(f.seen)+1, "no stretch is left out")
			assert.Greater(t, s.own, last)
			last = s.own
		}
	}
}

// Each is drawn as often as its likelihood asks for, but for less than one.
func TestDrawn(t *testing.T) {
	likely := []float64{math.Log(0.5), math.Inf(-1), math.Log(0.3), math.Log(0.2)}
	counts := make([]int, len(likely))
	for _, i := range drawn(likely, 100) {
		counts[i]++
	}
	assert.Equal(t, []int{50, 0, 30, 20}, counts)
	assert.Equal(t, []int{1, 1, 1}, drawn([]float64{-1e5, -3e4, -1e5}, 3), "however unlikely all are")
}

// Ends on sides that are met at different angles have averages of their own: what
// the geometry adds to one is no error of the receiver.
func TestSides(t *testing.T) {
	f := &lapFit{}
	for i, degrees := range []float64{0, 3, 90, 355, 84, 180} {
		s := seenLap{group: endLaps}
		s.dir.Y, s.dir.X = math.Sincos(degrees * math.Pi / 180)
		s.side = f.sideOf(&s)
		f.seen = append(f.seen, s)
		assert.Equal(t, []int{0, 0, 1, 0, 1, 2}[i], s.side, "%v degrees", degrees)
	}
}

// A stretch of 10 m that laps by 20 cm and one of 30 m that leaves 10 cm make one of 40 m
// that leaves 2.5 cm, its middle 25 m along the pass and 75 m along its neighbour. Each
// metre counts alike, as it does in the spread of the laps.
func TestLapOfStretches(t *testing.T) {
	m := &coverage.Map{Passes: []coverage.Pass{{ID: 1}, {ID: 2}}}
	for i := range m.Passes {
		m.Passes[i].Poses = []work.Pose{{}, {Along: plane.DistanceOf(100)}}
	}
	ends := []plane.Distance{0, plane.DistanceOf(100)}
	f := &lapFit{nodes: &nodes{passes: []passNodes{{0, ends}, {2, ends}}, count: 4}}
	at := func(along, length, by, theirs float64) beside.Stretch {
		return beside.Stretch{Along: plane.DistanceOf(along), Length: plane.DistanceOf(length),
			Right: beside.Lap{Pass: 1, By: plane.DistanceOf(by), Along: plane.DistanceOf(theirs)}}
	}
	right := func(b *beside.Stretch) *beside.Lap { return &b.Right }
	f.add(m, 1, []beside.Stretch{at(10, 10, 0.2, 90), at(30, 30, -0.1, 70)}, 1, right)
	require.Len(t, f.seen, 1)
	assert.InDelta(t, -0.025, f.y[0], 1e-9)
	assert.InDelta(t, 25, f.seen[0].along, 1e-9)
	assert.InDelta(t, 75, f.seen[0].theirs, 1e-9)
	assert.Equal(t, [2]int{1, 0}, [2]int{f.seen[0].own, f.seen[0].other})
	// What an error adds to a lap goes with the nodes on either side: a quarter of the way
	// along, three quarters are the first one's. An error to the right, where the neighbour
	// lies, adds to the lap, and the neighbour's own takes from it.
	parts := map[int]float64{}
	for _, term := range f.seen[0].terms {
		parts[term.node] += term.part
	}
	assert.InDelta(t, 0.75, parts[2], 1e-9)
	assert.InDelta(t, 0.25, parts[3], 1e-9)
	assert.InDelta(t, -0.25, parts[0], 1e-9)
	assert.InDelta(t, -0.75, parts[1], 1e-9)

	f.add(m, 1, []beside.Stretch{at(10, 2, 0.2, 90), at(12, 2, 0.2, 88)}, 1, right)
	assert.Len(t, f.seen, 1, "4 m tell nothing")
}

// Of laps scattered by a few centimetres one a metre off is a blunder. The rest lie about
// the median of those of their group and side, and neighbours come before edges and ends.
func TestDropBlunders(t *testing.T) {
	f := &lapFit{}
	add := func(group, side int, laps ...float64) {
		for _, y := range laps {
			f.seen, f.y = append(f.seen, seenLap{group: group, side: side}), append(f.y, y)
		}
	}
	add(endLaps, 1, 3, 3.02, 2.98)
	add(endLaps, 0, -1, -1.02, -0.98)
	add(interiorLaps, 0, 0.2, 0.25, 0.15, 1.2, 0.22, 0.18, -0.8)
	add(roundLaps, 0, 2, 2.01, 1.99)
	add(edgeLaps, 0, 0.5, 0.5, 0.5, 0.55, 0.57) // alike to the centimetre
	f.dropBlunders()
	var groups, sides []int
	for _, s := range f.seen {
		groups, sides = append(groups, s.group), append(sides, s.side)
	}
	assert.Equal(t, []int{0, 0, 0, 0, 0, 1, 1, 1, 3, 3, 3, 3, 4, 4, 4, 4, 4, 4}, groups)
	assert.Equal(t, []int{0, 0, 0, 1, 1, 1}, sides[12:])
	for i, want := range []float64{0, 0.05, -0.05, 0.02, -0.02, 0, 0.01, -0.01, 0, 0, 0, 0.05, 0, -0.02, 0.02, 0, 0.02, -0.02} {
		assert.InDelta(t, want, f.y[i], 1e-9)
	}
}

// Four median deviations, as standard deviations, are the most: 5.93 of them.
func TestBlunder(t *testing.T) {
	left := func(sign, far float64) int {
		f := &lapFit{seen: make([]seenLap, 7)}
		for _, y := range []float64{-0.1, -0.1, -0.1, 0, 0.1, 0.1, far} {
			f.y = append(f.y, sign*y)
		}
		f.dropBlunders()
		return len(f.seen)
	}
	for _, sign := range []float64{1, -1} {
		assert.Equal(t, 7, left(sign, 0.59))
		assert.Equal(t, 6, left(sign, 0.6))
	}
}

// Evenly spread numbers begin with the first, and are all where they are no more than asked.
func TestSpread(t *testing.T) {
	assert.Equal(t, []int{0, 1, 2}, spread(3, 5))
	assert.Equal(t, []int{0, 2, 5, 7}, spread(10, 4))
	assert.Empty(t, spread(0, 4))
}

// A pass's own earlier round is an earlier lap, and its later one is not.
func TestEarlier(t *testing.T) {
	lap := func(pass int, along float64) *beside.Lap {
		return &beside.Lap{Pass: pass, Along: plane.DistanceOf(along)}
	}
	assert.True(t, earlier(lap(2, 90), 3, plane.DistanceOf(10)))
	assert.False(t, earlier(lap(4, 0), 3, plane.DistanceOf(10)))
	assert.True(t, earlier(lap(3, 5), 3, plane.DistanceOf(10)))
	assert.False(t, earlier(lap(3, 15), 3, plane.DistanceOf(10)))
	assert.False(t, earlier(lap(3, 10), 3, plane.DistanceOf(10)))
}

// Five metres tell something.
func TestShortestLap(t *testing.T) {
	m := timed(28, 28)
	for length, want := range map[float64]int{4.99: 0, 5: 1} {
		f := &lapFit{nodes: nodesOf(m, []ReceiverError{{}})}
		f.add(m, 1, []beside.Stretch{{Along: plane.DistanceOf(20), Length: plane.DistanceOf(length), Left: beside.Lap{Pass: 1}}}, -1,
			func(b *beside.Stretch) *beside.Lap { return &b.Left })
		assert.Len(t, f.seen, want, "%v m", length)
	}
}

// What is drawn is likely: passes driven by lines from which they stray by a decimetre or
// two are not taken for such as stray by a centimetre, or by half a metre; and headland
// passes stray from the edge as drawn no less than from their lines, nor much more.
func TestCellsDrawn(t *testing.T) {
	s, passes := worked(t)
	r := rand.New(rand.NewPCG(17, 18))
	for i := range passes {
		whole := 0.15 * r.NormFloat64()
		passes[i].Poses = slices.Clone(passes[i].Poses)
		for k := range passes[i].Poses {
			q := &passes[i].Poses[k]
			sin, cos := q.Heading.Sincos()
			q.Bar = q.Bar.Add(plane.Point{X: plane.Metres(whole * cos), Y: plane.Metres(-whole * sin)})
		}
	}
	m := mapOf(t, s, passes)
	f := fitLaps(m, nodesOf(m, []ReceiverError{{ShortTerm: 0.01}}))
	require.Len(t, f.cells, drawnFrom)
	chosen, alike := map[*likelyCell]bool{}, false
	for _, c := range f.cells {
		chosen[c] = true
		assert.Contains(t, []float64{0.06, 0.12, 0.25}, c.pass)
		assert.LessOrEqual(t, c.stretch, 0.06, "along a pass none strays")
		assert.GreaterOrEqual(t, c.edge, c.pass)
		assert.LessOrEqual(t, c.edge, 4*max(c.pass, 0.015))
		assert.LessOrEqual(t, c.end, 0.06, "all end where the last corner is across")
		alike = alike || c.edge == c.pass
	}
	assert.True(t, alike, "the boundary may have been followed as lines are")
	assert.Greater(t, len(chosen), 1)
	assert.Same(t, f.cells[0], f.cell(0))
	assert.Same(t, f.cells[10], f.cell(0.51))
	assert.Same(t, f.cells[19], f.cell(0.999))
	assert.Less(t, f.steadier, 1.0, "so small an error tells nothing of what steered")
}

// A boundary drawn half a metre off is no reason to take it that headland passes stray from
// it more than four times as far as from one another.
func TestEdgeOfABoundaryDrawnBadly(t *testing.T) {
	s, passes := worked(t)
	s.Field.Boundary = covertest.NewScene("off", covertest.Rectangle(-0.8, 0.5, 160.6, 119)).Field.Boundary
	m := mapOf(t, s, passes)
	f := fitLaps(m, nodesOf(m, []ReceiverError{{ShortTerm: 0.01}}))
	require.NotEmpty(t, f.cells)
	for _, c := range f.cells {
		assert.GreaterOrEqual(t, c.edge, c.pass)
		assert.LessOrEqual(t, c.edge, 4*max(c.pass, 0.015))
	}
}
