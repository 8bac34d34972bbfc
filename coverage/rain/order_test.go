package rain

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// random makes an errand of n fields on a square of places, with or without roads.
func random(r *rand.Rand, n int, roads bool) *errand {
	e := &errand{}
	type place struct{ x, y int }
	var at []place
	total := time.Duration(0)
	for range n {
		work := time.Duration(1+r.IntN(9)) * time.Hour
		e.work = append(e.work, work)
		e.area = append(e.area, plane.Area(1+r.IntN(20))*plane.SquareMetre)
		at = append(at, place{r.IntN(10), r.IntN(10)})
		total += work
	}
	e.limit = time.Duration(float64(total) * (0.2 + 0.7*r.Float64()))
	e.sure = e.limit * 3 / 4
	e.begin = time.Duration(r.IntN(2)) * time.Hour
	if roads {
		way := func(a, b place) time.Duration {
			return time.Duration(abs(a.x-b.x)+abs(a.y-b.y)) * 10 * time.Minute
		}
		for i := range n {
			e.first = append(e.first, way(place{}, at[i]))
			var row []time.Duration
			for k := range n {
				row = append(row, way(at[i], at[k]))
			}
			e.road = append(e.road, row)
		}
	}
	return e
}

func abs(v int) int { return max(v, -v) }

// brute tries every order of every set.
func brute(e *errand) harvest {
	best := harvest{time: e.begin}
	in := make([]bool, len(e.work))
	var try func(h harvest, at int)
	try = func(h harvest, at int) {
		if h.compare(best) > 0 {
			best = h
		}
		for f := range in {
			if in[f] {
				continue
			}
			if next, ok := e.then(h, at, f); ok {
				in[f] = true
				try(next, f)
				in[f] = false
			}
		}
	}
	try(best, -1)
	return best
}

// worth is what an order brings, every field of it in turn.
func worth(t *testing.T, e *errand, order []int) harvest {
	h, at := harvest{time: e.begin}, -1
	for _, f := range order {
		var ok bool
		h, ok = e.then(h, at, f)
		assert.True(t, ok, "no field is begun that is not done in time")
		at = f
	}
	return h
}

func TestOrderAgainstBruteForce(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 16))
		e := random(r, 1+r.IntN(6), seed%2 == 0)
		order, exact := e.order()
		assert.True(t, exact)
		assert.Equal(t, brute(e), worth(t, e, order), "seed %d", seed)
	}
}

// Of fields that can be searched both ways the search finds nearly all of the ground.
func TestSearchIsNearlyExact(t *testing.T) {
	found, best := 0.0, 0.0
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 61))
		e := random(r, 11, seed%2 == 0)
		exact, search := worth(t, e, e.exact()), worth(t, e, e.search())
		assert.LessOrEqual(t, search.done, exact.done, "none betters the exact one")
		found, best = found+float64(search.done), best+float64(exact.done)
	}
	assert.Greater(t, found, 0.98*best)
}

// Thirty fields of one hour and one area each, on a line: as many are done as there
// are hours, and no road is driven twice.
func TestSearchOnALine(t *testing.T) {
	e := &errand{limit: 20*time.Hour + 20*time.Minute}
	e.sure = e.limit
	for i := range 30 {
		e.work, e.area = append(e.work, time.Hour), append(e.area, plane.SquareMetre)
		e.first = append(e.first, time.Duration(i+1)*time.Minute)
		var row []time.Duration
		for k := range 30 {
			row = append(row, time.Duration(abs(i-k))*time.Minute)
		}
		e.road = append(e.road, row)
	}
	order, exact := e.order()
	assert.False(t, exact)
	assert.Len(t, order, 20)
	assert.LessOrEqual(t, worth(t, e, order).time, e.limit)
}

// Without roads the fields that are sure come first, each group in the order of the
// list; of the same ground in the same time the better-known comes first.
func TestSureFieldsFirst(t *testing.T) {
	hours := func(h ...int) (out []time.Duration) {
		for _, v := range h {
			out = append(out, time.Duration(v)*time.Hour)
		}
		return out
	}
	e := &errand{work: hours(5, 2, 3, 9), area: []plane.Area{50, 20, 30, 40}, limit: 10 * time.Hour, sure: 7 * time.Hour}
	order, _ := e.order()
	assert.Equal(t, []int{0, 1, 2}, order, "5 h and 2 h are sure, 3 h more is in time; 9 h would not be done beside them")
	e = &errand{work: hours(4, 4), area: []plane.Area{1, 2}, limit: 3 * time.Hour, sure: 2 * time.Hour}
	order, _ = e.order()
	assert.Empty(t, order, "nothing is begun that cannot be finished")
}
