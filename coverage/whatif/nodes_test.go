package whatif

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// timed is a map of passes that one machine after the other drove at 2 m/s, with ten
// seconds between two.
func timed(seconds ...float64) *coverage.Map {
	m := &coverage.Map{}
	now := 1000.0
	for i, s := range seconds {
		p := coverage.Pass{ID: i + 1, Pass: work.Pass{Start: geo.Instant(now * 1e9), End: geo.Instant((now + s) * 1e9), Length: plane.DistanceOf(2 * s)}}
		p.Poses = []work.Pose{{Time: p.Start}, {Time: p.End, Along: p.Length, Bar: plane.Point{Y: plane.Metres(2 * s)}}}
		m.Passes = append(m.Passes, p)
		now += s + 10
	}
	return m
}

// A short pass has a node at either end, a long one others between, evenly, none
// farther from the next than nodeSpacing.
func TestNodes(t *testing.T) {
	n := nodesOf(timed(3, 70), []ReceiverError{{}})
	require.Equal(t, 2+11, n.count)
	require.Len(t, n.seconds, n.count)
	assert.Equal(t, []plane.Distance{0, plane.DistanceOf(6)}, n.passes[0].along)
	assert.Equal(t, 2, n.passes[1].first)
	for k, along := range n.passes[1].along {
		assert.InDelta(t, 14*float64(k), along.Metres(), 1e-9)
		assert.InDelta(t, 1013+7*float64(k), n.seconds[2+k], 1e-6)
		assert.InDelta(t, 7, n.gap[2+k], 1e-6)
	}
	assert.InDelta(t, 3, n.gap[0], 1e-6)
}

// However long the work takes, or into however many pieces it falls, every pass has its
// ends, and all have no more nodes than can be worked out soon.
func TestNodesAreFew(t *testing.T) {
	for _, c := range []struct {
		passes  int
		seconds float64
	}{{1, 100_000}, {10, 5000}, {100, 300}, {199, 300}, {200, 300}, {300, 300}} {
		seconds := make([]float64, c.passes)
		for i := range seconds {
			seconds[i] = c.seconds
		}
		n := nodesOf(timed(seconds...), []ReceiverError{{}})
		assert.GreaterOrEqual(t, n.count, 2*c.passes)
		assert.LessOrEqual(t, n.count, max(mostNodes, 2*c.passes), "%d passes of %v s", c.passes, c.seconds)
		if c.passes <= 100 {
			assert.GreaterOrEqual(t, n.count, mostNodes*3/4, "%d passes of %v s", c.passes, c.seconds)
		}
		assert.Len(t, n.kinds, len(shortMemories))
	}
	// Passes in so many pieces that the memories cannot all be tried.
	pieces := make([]float64, mostWithMemories/2)
	assert.Len(t, nodesOf(timed(pieces...), []ReceiverError{{}}).kinds, len(shortMemories))
	assert.Len(t, nodesOf(timed(append(pieces, 0)...), []ReceiverError{{}}).kinds, 1)
}

// The error between nodes is linear in time, and that of two places nearby
// alike: the mean square of the short-term error over a pass is what the receiver's is,
// though the middle between two nodes is calmer than they are.
func TestNodesKeepTheMeanSquare(t *testing.T) {
	e := []ReceiverError{{ShortTerm: 0.3}}
	n := nodesOf(timed(70), e)
	for k := range n.kinds {
		kind := &n.kinds[k]
		sum := 0.0
		const steps = 1000
		for i := range steps {
			t := (float64(i) + 0.5) / steps
			sum += ((1-t)*(1-t)*kind.between(0, 0) + t*t*kind.between(1, 1) + 2*t*(1-t)*kind.between(0, 1)) / steps
		}
		assert.InDelta(t, 0.09, sum, 1e-6, "%v", kind.memory)
		assert.Greater(t, kind.between(0, 0), kind.between(0, 1))
		assert.Greater(t, kind.between(0, 1), kind.between(0, 9), "what is farther off goes less with it")
		assert.Equal(t, kind.between(0, 9), kind.between(9, 0))
		assert.InDelta(t, kind.between(0, 1), kind.between(5, 6), 1e-12, "only the time between counts")
	}
}

// Both parts of an error move the nodes; and two machines have each their own.
func TestNodesOfTwoMachines(t *testing.T) {
	m := timed(14, 14, 14)
	m.Passes[1].Machine = 1
	n := nodesOf(m, []ReceiverError{{Drift: 0.5}, {Drift: 2}})
	kind := &n.kinds[0]
	require.Equal(t, []int{0, 0, 0, 1, 1, 1, 0, 0, 0}, n.machine)
	for i := range n.count {
		for j := range n.count {
			switch a, b := n.machine[i], n.machine[j]; {
			case a != b:
				assert.Zero(t, kind.between(i, j), "%d, %d", i, j)
			case a == 0:
				assert.InDelta(t, 0.25, kind.between(i, j), 1e-3, "a drift hardly changes within a minute")
			default:
				assert.InDelta(t, 4, kind.between(i, j), 1e-3)
			}
		}
	}
	priors := n.priors(0)
	require.Len(t, priors, 2)
	assert.Equal(t, []int{0, 1, 2, 6, 7, 8}, priors[0].order)
	assert.Equal(t, []int{3, 4, 5}, priors[1].order)
	e := n.draw(rand.New(rand.NewPCG(1, 1)), 0)
	for _, i := range []int{1, 2, 6, 7, 8} {
		assert.InDelta(t, e[0].X, e[i].X, 0.1)
		assert.InDelta(t, e[0].Y, e[i].Y, 0.1)
	}
	assert.Greater(t, math.Abs(e[3].X-e[0].X)+math.Abs(e[3].Y-e[0].Y), 0.1)
}

// What changes steadily along a pass is told exactly by the parts of the two nodes
// about a place; before the first node and after the last it is as it is there.
func TestAt(t *testing.T) {
	n := nodesOf(timed(20, 70), []ReceiverError{{}})
	p := &n.passes[1]
	value := func(along float64) (sum float64) {
		for _, s := range n.at(1, plane.DistanceOf(along)) {
			assert.GreaterOrEqual(t, s.part, 0.0)
			sum += s.part * (5 + p.along[s.node-p.first].Metres())
		}
		return sum
	}
	for _, along := range []float64{0, 1, 13.9, 14, 14.1, 100, 139, 140} {
		assert.InDelta(t, 5+along, value(along), 1e-9, "%v m", along)
	}
	assert.InDelta(t, 5, value(-3), 1e-9)
	assert.InDelta(t, 145, value(150), 1e-9)
	// A pass of no length is where it began.
	still := &nodes{passes: []passNodes{{0, []plane.Distance{0, 0}}}}
	assert.Equal(t, [2]share{{0, 1}, {1, 0}}, still.at(0, 0))
}

// Where no log has times, passes follow one another at the usual speed and with a turn
// between: 250 m at 2.5 m/s take 100 s.
func TestClockOf(t *testing.T) {
	m := timed(100, 50)
	assert.Equal(t, []spell{{1000, 1100}, {1110, 1160}}, clockOf(m))
	m.Passes[0].Start, m.Passes[0].End = 0, 0
	assert.Equal(t, []spell{{0, 0}, {1110, 1160}}, clockOf(m), "one log has times")
	m.Passes[1].Start, m.Passes[1].End = 0, 0
	m.Passes[0].Length, m.Passes[1].Length = plane.DistanceOf(250), plane.DistanceOf(500)
	clock := clockOf(m)
	assert.Equal(t, spell{0, 100}, clock[0])
	assert.Greater(t, clock[1].first, clock[0].last)
	assert.InDelta(t, 200, clock[1].last-clock[1].first, 1e-9)
}
