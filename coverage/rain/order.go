package rain

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"time"

	"lapwing/geo/plane"
)

// An errand is the choice of fields and of their order.
type errand struct {
	work  []time.Duration
	area  []plane.Area
	first []time.Duration   // the road to each from where the crew is
	road  [][]time.Duration // from one to another; nil where no road is reckoned
	begin time.Duration     // spent before the first
	limit time.Duration     // when the rain comes
	sure  time.Duration     // what is told by then is done by limit nine times in ten
}

// A harvest is what an order brings: the ground done by the limit, the ground that is
// sure to be, and how long it takes. More of the first is better, then of the second,
// then less time.
type harvest struct {
	done, sure plane.Area
	time       time.Duration
}

func (h harvest) compare(o harvest) int {
	return cmp.Or(cmp.Compare(h.done, o.done), cmp.Compare(h.sure, o.sure), cmp.Compare(o.time, h.time))
}

// to is the road to a field from another, or from the start where that is below 0.
func (e *errand) to(from, to int) time.Duration {
	switch {
	case e.road == nil:
		return 0
	case from < 0:
		return e.first[to]
	}
	return e.road[from][to]
}

// then is what an order brings with one more field; false where it is not done by the
// limit.
func (e *errand) then(h harvest, from, to int) (harvest, bool) {
	h.time += e.to(from, to) + e.work[to]
	if h.time > e.limit {
		return h, false
	}
	h.done += e.area[to]
	if h.time <= e.sure {
		h.sure += e.area[to]
	}
	return h, true
}

// exactFields is up to how many fields the best order of all is found: twelve take some
// hundredths of a second, and each one more twice as long. Judgement. No test of
// the package fails where it is halved.
const exactFields = 12

// order returns the best fields in the best order, and whether none are better.
func (e *errand) order() (fields []int, exact bool) {
	if exact = len(e.work) <= exactFields; exact {
		fields = e.exact()
	} else {
		fields = e.search()
	}
	if e.road == nil { // any order of the sure ones takes the same time: that of the list reads best
		h, sure := harvest{time: e.begin}, 0
		for i, f := range fields {
			if h, _ = e.then(h, -1, f); h.time <= e.sure {
				sure = i + 1
			}
		}
		slices.Sort(fields[:sure])
		slices.Sort(fields[sure:])
	}
	return fields, exact
}

// A label is one way through a set of fields that ends in one of them.
type label struct {
	harvest
	last   int8
	before *label
}

// exact finds the best order of all: for ever larger sets, and each field that is the
// last of one, the ways through it that none betters in both time and sure ground
// (dynamic programming over sets after R. Bellman, and M. Held, R. Karp, 1962, with
// several labels by state as E. Martins, "On a multicriteria shortest path problem",
// 1984). The ground done is the set's.
func (e *errand) exact() []int {
	n := len(e.work)
	ways := make([][]label, (1<<n)*n)
	put := func(set int, l label) {
		at := &ways[set*n+int(l.last)]
		for _, o := range *at {
			if o.time <= l.time && o.sure >= l.sure {
				return
			}
		}
		*at = append(slices.DeleteFunc(*at, func(o label) bool { return l.time <= o.time && l.sure >= o.sure }), l)
	}
	for f := range n {
		if h, ok := e.then(harvest{time: e.begin}, -1, f); ok {
			put(1<<f, label{h, int8(f), nil})
		}
	}
	var best *label
	for set := 1; set < 1<<n; set++ {
		for last := range n {
			labels := ways[set*n+last] // a smaller set's ways are settled
			for i := range labels {
				l := &labels[i]
				if best == nil || l.compare(best.harvest) > 0 {
					best = l
				}
				for f := range n {
					if set&(1<<f) != 0 {
						continue
					}
					if h, ok := e.then(l.harvest, last, f); ok {
						put(set|1<<f, label{h, int8(f), l})
					}
				}
			}
		}
	}
	var out []int
	for l := best; l != nil; l = l.before {
		out = append(out, int(l.last))
	}
	slices.Reverse(out)
	return out
}

// searchWork bounds the search, in fields looked at. Judgement: a second or two. No test
// of the package fails where it is halved or doubled.
const searchWork = 20_000_000

// search improves an order of all fields by moving one or swapping two, and shakes it
// where neither helps (iterated local search; H. Lourenço, O. Martin, T. Stützle, 2003).
// Of an order those fields count, in turn, that are done by the limit. The random
// numbers are the same every time.
func (e *errand) search() []int {
	n := len(e.work)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	fast := func(f int) float64 { return float64(e.area[f]) / float64(e.work[f]+e.to(-1, f)+1) }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(fast(b), fast(a)) })
	dice := rand.New(rand.NewPCG(1, uint64(n)))
	best, brings := slices.Clone(order), e.brings(order)
	now, worth := slices.Clone(best), brings
	next := make([]int, n)
	still := 0 // tries without a gain
	for range searchWork / n {
		copy(next, now)
		i, k := dice.IntN(n), dice.IntN(n)
		if dice.IntN(2) == 0 {
			next[i], next[k] = next[k], next[i]
		} else {
			f := next[i]
			next = slices.Insert(slices.Delete(next, i, i+1), k, f)
		}
		switch h := e.brings(next); {
		case h.compare(worth) > 0:
			now, next, worth, still = next, now, h, 0
		case h == worth:
			now, next = next, now // wander over what is as good
			still++
		default:
			still++
		}
		if worth.compare(brings) > 0 {
			best, brings = slices.Clone(now), worth
		}
		if still > 8*n*n {
			copy(now, best)
			for range 4 {
				i, k := dice.IntN(n), dice.IntN(n)
				now[i], now[k] = now[k], now[i]
			}
			worth, still = e.brings(now), 0
		}
	}
	return e.taken(best)
}

// brings is what an order of all fields brings.
func (e *errand) brings(order []int) harvest {
	h, at := harvest{time: e.begin}, -1
	for _, f := range order {
		if next, ok := e.then(h, at, f); ok {
			h, at = next, f
		}
	}
	return h
}

// taken are the fields of an order that are done by the limit.
func (e *errand) taken(order []int) (out []int) {
	h, at := harvest{time: e.begin}, -1
	for _, f := range order {
		if next, ok := e.then(h, at, f); ok {
			h, at = next, f
			out = append(out, f)
		}
	}
	return out
}
