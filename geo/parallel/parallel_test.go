package parallel_test

import (
	"runtime"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/parallel"
)

// sizes are none, one, fewer than processors, and many.
var sizes = []int{0, 1, 2, 3, 64, 1000}

func TestEachCallsEveryIndexOnce(t *testing.T) {
	for _, n := range sizes {
		called := make([]atomic.Int32, n)
		parallel.Each(n, func(i int) { called[i].Add(1) })
		for i := range called {
			assert.EqualValues(t, 1, called[i].Load(), "index %d of %d", i, n)
		}
	}
}

func TestEachWithKeepsARoomAProcessor(t *testing.T) {
	for _, n := range sizes {
		rooms := parallel.EachWith(n, func(i int, room *[]int) { *room = append(*room, i) })
		assert.LessOrEqual(t, len(rooms), max(1, runtime.GOMAXPROCS(0)))
		all := slices.Concat(rooms...)
		for _, room := range rooms {
			assert.True(t, slices.IsSorted(room), "a processor is handed rising indices")
		}
		slices.Sort(all)
		want := make([]int, n)
		for i := range want {
			want[i] = i
		}
		assert.Equal(t, want, append([]int{}, all...), "n = %d", n)
	}
}

func TestRunsCoverAllOnce(t *testing.T) {
	for _, c := range []struct{ n, each int }{{0, 5}, {1, 5}, {5, 5}, {6, 5}, {1000, 7}} {
		covered := make([]atomic.Int32, c.n)
		parallel.Runs(c.n, c.each, func(from, to int) {
			assert.Zero(t, from%c.each, "a run begins at a multiple of its length")
			for i := from; i < to; i++ {
				covered[i].Add(1)
			}
		})
		for i := range covered {
			assert.EqualValues(t, 1, covered[i].Load())
		}
	}
}

func TestAnyAsksAll(t *testing.T) {
	for _, at := range []int{-1, 0, 7, 99} {
		var asked atomic.Int32
		assert.Equal(t, at >= 0, parallel.Any(100, 7, func(from, to int) bool {
			asked.Add(int32(to - from))
			return from <= at && at < to
		}), "at %d", at)
		assert.EqualValues(t, 100, asked.Load())
	}
	assert.False(t, parallel.Any(0, 7, func(int, int) bool { return true }))
}

func TestAheadYieldsInOrder(t *testing.T) {
	for _, n := range sizes {
		next := 0
		for i, square := range parallel.Ahead(n, 4, func(i int) int { return i * i }) {
			assert.Equal(t, next, i)
			assert.Equal(t, i*i, square)
			next++
		}
		assert.Equal(t, n, next)
	}
}

func TestAheadEndsWithItsReader(t *testing.T) {
	var asked atomic.Int32
	for i := range parallel.Ahead(1_000_000, 4, func(int) int { asked.Add(1); return 0 }) {
		if i == 10 {
			break
		}
	}
	assert.Less(t, asked.Load(), int32(1000), "no more is worked out than a window ahead")
}
