package mend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// orderTolerance is what a sum of a few hundred distances may differ by for
// being added up in another order.
const orderTolerance = 1e-5

// points makes the costs of an order of places that are stops without length,
// in a plane, with some to begin at.
func pointCosts(x, y []float64, sx, sy float64) *costs {
	n := len(x)
	c := &costs{n: n, start: make([]float64, 2*n), step: make([][]float64, 2*n)}
	for i := range 2 * n {
		c.start[i] = math.Hypot(x[i/2]-sx, y[i/2]-sy)
		c.step[i] = make([]float64, 2*n)
		for k := range 2 * n {
			c.step[i][k] = math.Hypot(x[i/2]-x[k/2], y[i/2]-y[k/2])
		}
	}
	return c
}

// randomCosts makes costs that are different in all directions, as those of
// runs with turns are.
func randomCosts(r *rand.Rand, n int) *costs {
	c := &costs{n: n, start: make([]float64, 2*n), step: make([][]float64, 2*n)}
	for i := range 2 * n {
		c.start[i] = 1000 * r.Float64()
		c.step[i] = make([]float64, 2*n)
		for k := range 2 * n {
			c.step[i][k] = 1000 * r.Float64()
		}
	}
	return c
}

// cheapest tries every order and every end.
func cheapest(c *costs) float64 {
	best := math.Inf(1)
	var order []visit
	used := make([]bool, c.n)
	var try func()
	try = func() {
		if len(order) == c.n {
			best = min(best, c.total(order))
			return
		}
		for run := range c.n {
			if used[run] {
				continue
			}
			used[run] = true
			for end := range 2 {
				order = append(order, visit{run, end})
				try()
				order = order[:len(order)-1]
			}
			used[run] = false
		}
	}
	try()
	return best
}

// assertVisitsAll checks that an order has every run once.
func assertVisitsAll(t *testing.T, n int, order []visit) {
	t.Helper()
	seen := make([]bool, n)
	for _, v := range order {
		assert.False(t, seen[v.run], "run %d twice", v.run)
		seen[v.run] = true
	}
	assert.Len(t, order, n)
}

func TestOrderIsTheCheapestOfAll(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for n := range 6 {
		for range 20 {
			c := randomCosts(r, n)
			order, shortest := c.order()
			assert.True(t, shortest)
			assertVisitsAll(t, n, order)
			want := cheapest(c)
			if n == 0 {
				want = 0
			}
			assert.InDelta(t, want, c.total(order), orderTolerance, "%d runs", n)
		}
	}
}

// What the search for longer drives finds stays close to the cheapest order. Ends
// and places are as in a field: stops with a length, in a plane.
func TestSearchIsCloseToTheCheapest(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 2))
	sum, worst := 0.0, 1.0
	const rounds = 30
	for range rounds {
		n := 9
		x, y := make([]float64, 2*n), make([]float64, 2*n)
		for i := range x {
			x[i], y[i] = 1e6*r.Float64(), 1e6*r.Float64()
		}
		c := pointCosts(x, y, 0, 0)
		c.n = n
		for i := range 2 * n { // leave run i/2 at the end that it was not entered from
			leave := i ^ 1
			for k := range 2 * n {
				c.step[i][k] = math.Hypot(x[leave]-x[k], y[leave]-y[k])
			}
		}
		best, found := c.total(c.exact()), c.total(c.search())
		ratio := found / best
		sum, worst = sum+ratio, max(worst, ratio)
	}
	assert.GreaterOrEqual(t, sum/rounds, 1-orderTolerance, "nothing is cheaper than the cheapest")
	assert.Less(t, sum/rounds, 1.03)
	assert.Less(t, worst, 1.25)
}

// Places on a line, begun at its one end, are taken as they come; begun in
// their midst, the nearer end comes first and its way is gone twice.
func TestOrderAlongALine(t *testing.T) {
	for _, n := range []int{5, 12, 13, 40} {
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = 100 * float64((i*7)%n) // mixed up: n and 7 have no factor in common
		}
		for start, want := range map[float64]float64{-100: 100 * float64(n), 125: 125 + 100*float64(n-1)} {
			c := pointCosts(x, y, start, 0)
			order, _ := c.order()
			assertVisitsAll(t, n, order)
			assert.InDelta(t, want, c.total(order), orderTolerance, "%d places from %g", n, start)
		}
	}
}

// No step between corners of a regular polygon is shorter than its side, so
// from a corner the shortest way to all others is the way round.
func TestOrderRoundAPolygon(t *testing.T) {
	for _, n := range []int{3, 8, 25, 60} {
		var x, y []float64
		for i := 1; i < n; i++ {
			sin, cos := math.Sincos(2 * math.Pi * float64((i*17)%n) / float64(n))
			x, y = append(x, 1e5*cos), append(y, 1e5*sin)
		}
		c := pointCosts(x, y, 1e5, 0)
		order, _ := c.order()
		side := 2e5 * math.Sin(math.Pi/float64(n))
		assert.InDelta(t, float64(n-1)*side, c.total(order), orderTolerance, "%d corners", n)
	}
}

func TestOrderIsTheSameEveryTime(t *testing.T) {
	c := randomCosts(rand.New(rand.NewPCG(7, 3)), 30)
	first, shortest := c.order()
	assert.False(t, shortest)
	again, _ := c.order()
	assert.Equal(t, first, again)
}

// Fourteen towns in Burma, burma14 of G. Reinelt, "TSPLIB, a traveling
// salesman problem library", ORSA Journal on Computing 3, 1991 (places from
// memory): the shortest round trip is 3323 km, by the library's own distances.
func TestOrderOfPublishedTowns(t *testing.T) {
	towns := [][2]float64{{16.47, 96.10}, {16.47, 94.44}, {20.09, 92.54}, {22.39, 93.37}, {25.23, 97.24}, {22.00, 96.05}, {20.47, 97.02},
		{17.20, 96.29}, {16.30, 97.38}, {14.05, 98.12}, {16.53, 97.38}, {21.52, 95.59}, {19.41, 97.13}, {20.09, 94.55}}
	radians := func(v float64) float64 { // degrees and minutes
		whole := math.Trunc(v)
		return 3.141592 * (whole + 5*(v-whole)/3) / 180
	}
	distance := func(a, b int) float64 {
		la, oa := radians(towns[a][0]), radians(towns[a][1])
		lb, ob := radians(towns[b][0]), radians(towns[b][1])
		q1, q2, q3 := math.Cos(oa-ob), math.Cos(la-lb), math.Cos(la+lb)
		return math.Trunc(6378.388*math.Acos(0.5*((1+q1)*q2-(1-q1)*q3)) + 1)
	}
	// From the first town to all others and then to a last stop that stands for
	// the first: leaving that one costs more than any trip.
	n := len(towns)
	town := func(k int) int { return (k/2 + 1) % n }
	c := &costs{n: n, start: make([]float64, 2*n), step: make([][]float64, 2*n)}
	for i := range 2 * n {
		if c.start[i] = distance(0, town(i)); town(i) == 0 {
			c.start[i] = 1e6
		}
		c.step[i] = make([]float64, 2*n)
		for k := range 2 * n {
			if c.step[i][k] = distance(town(i), town(k)); town(i) == 0 {
				c.step[i][k] = 1e6
			}
		}
	}
	assert.InDelta(t, 3323, c.total(c.exact()), orderTolerance)
	assert.InDelta(t, 3323, c.total(c.search()), orderTolerance)
}

// Each step of an improvement saves what it says, and when none is left, no stretch is
// better turned round and none of up to three runs is better elsewhere, turned or not: all
// of them are tried, each by adding up the whole order.
func TestImproveLeavesNoBetterStep(t *testing.T) {
	r := rand.New(rand.NewPCG(14, 3))
	for n := 1; n <= 8; n++ {
		for range 10 {
			c := randomCosts(r, n)
			order := make([]visit, n)
			for i, run := range r.Perm(n) {
				order[i] = visit{run, r.IntN(2)}
			}
			for cost := c.total(order); c.turnOne(order) || c.moveOne(order); cost = c.total(order) {
				assert.Less(t, c.total(order), cost-least+orderTolerance)
				assertVisitsAll(t, n, order)
			}
			bar := c.total(order) - least - orderTolerance
			for i := range n {
				for j := i + 1; j <= n; j++ {
					tried := slices.Clone(order)
					turnRound(tried[i:j])
					assert.Greater(t, c.total(tried), bar, "turned from %d to %d", i, j)
					if j-i > 3 {
						continue
					}
					part := slices.Clone(order[i:j])
					rest := slices.Concat(order[:i], order[j:])
					for range 2 {
						for to := range len(rest) + 1 {
							assert.Greater(t, c.total(slices.Insert(slices.Clone(rest), to, part...)), bar, "%d to %d moved to %d", i, j, to)
						}
						turnRound(part)
					}
				}
			}
		}
	}
}

// A run put into an order costs as much as the order grows by.
func TestPutInCostsWhatTheOrderGrowsBy(t *testing.T) {
	c := randomCosts(rand.New(rand.NewPCG(4, 11)), 6)
	order := []visit{{3, 1}, {0, 0}, {5, 1}, {2, 0}}
	for at := range len(order) + 1 {
		for _, v := range []visit{{1, 0}, {1, 1}, {4, 0}} {
			grown := c.total(slices.Insert(slices.Clone(order), at, v)) - c.total(order)
			assert.InDelta(t, grown, c.putIn(order, at, v), orderTolerance, "%v at %d", v, at)
		}
	}
	assert.InDelta(t, c.total([]visit{{4, 1}}), c.putIn(nil, 0, visit{4, 1}), orderTolerance)
}

// The cheapest is put in first, and each next where it costs least: of places along a line,
// begun at its one end, each comes as it lies.
func TestInsertAlongALine(t *testing.T) {
	order := pointCosts([]float64{500, 100, 400, 300, 200}, make([]float64, 5), 0, 0).insert()
	var runs []int
	for _, v := range order {
		runs = append(runs, v.run)
	}
	assert.Equal(t, []int{1, 4, 3, 2, 0}, runs)
}

// Places 100 apart along a line, of which six are gone through backward: they are turned round
// in one step, and one that is gone to too early is moved.
func TestOneStepOfAnImprovement(t *testing.T) {
	x := make([]float64, 10)
	for i := range x {
		x[i] = 100 * float64(i)
	}
	c := pointCosts(x, make([]float64, 10), -100, 0)
	visits := func(runs ...int) (out []visit) {
		for _, run := range runs {
			out = append(out, visit{run, 0})
		}
		return out
	}
	backward := visits(0, 1, 7, 6, 5, 4, 3, 2, 8, 9)
	assert.InDelta(t, 2000, c.total(backward), orderTolerance)
	assert.True(t, c.turnOne(backward))
	assert.InDelta(t, 1000, c.total(backward), orderTolerance)
	assert.False(t, c.turnOne(backward))
	early := visits(0, 7, 1, 2, 3, 4, 5, 6, 8, 9)
	moved := false
	for c.moveOne(early) {
		moved = true
	}
	assert.True(t, moved)
	assert.InDelta(t, 1000, c.total(early), orderTolerance)
}
