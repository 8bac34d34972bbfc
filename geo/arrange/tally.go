package arrange

import (
	"runtime"

	"lapwing/geo/parallel"
)

// parts are stretches of a list, one for each processor, that follow one another.
// What becomes of the list does not depend on how many there are.
type parts []int // where each begins, and the end of the last

const (
	// fewInPart is how many a part holds at least: of fewer, handing them to another
	// processor takes about as long as it saves. Judgement; BenchmarkCut tells.
	fewInPart = 4096
	// mostParts bounds the memory of tallies, 4 bytes for each part and place, to what
	// the pieces of a place take.
	mostParts = 4
)

// partsOf cuts a list of n into parts. Each but the first begins where begins is true, of
// an index from 1, if that is given.
func partsOf(n int, begins func(i int) bool) parts {
	most := max(1, min(n/fewInPart, mostParts, runtime.GOMAXPROCS(0)))
	out := make(parts, 1, most+1)
	for k := 1; k < most; k++ {
		i := max(k*n/most, out[len(out)-1])
		for begins != nil && 0 < i && i < n && !begins(i) {
			i++
		}
		out = append(out, i)
	}
	return append(out, n)
}

func (p parts) len() int { return len(p) - 1 }

// each calls f for every part, on all processors, with where it begins and ends.
func (p parts) each(f func(k, from, to int)) {
	parallel.Each(p.len(), func(k int) { f(k, p[k], p[k+1]) })
}

// A tally counts how many of each part go to each of several places, so that the parts
// can be laid out at the same time and yet in their order: a distribution sort (D. E.
// Knuth, The Art of Computer Programming 3, 5.2, algorithm D).
type tally struct {
	places int
	counts []int32 // those of the first part, then those of the second
}

func (p parts) tally(places int) tally { return tally{places, make([]int32, places*p.len())} }

// of returns the counts of part k, and after place where in each place its next one goes.
func (t tally) of(k int) []int32 { return t.counts[k*t.places : (k+1)*t.places] }

// place turns counts into where what is counted goes: all of one place together, from
// the first place to the last. It returns how many that are.
func (t tally) place() int {
	sum := int32(0)
	for i := range t.places {
		for at := i; at < len(t.counts); at += t.places {
			sum, t.counts[at] = sum+t.counts[at], sum
		}
	}
	return int(sum)
}
