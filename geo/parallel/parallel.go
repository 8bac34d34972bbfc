// Package parallel holds the program's one loop over all processors.
//
// Every function takes its work by index and returns when all of it is done.
// What index i is does not depend on how many processors there are, so results
// that are kept by index are the same on any machine.
package parallel

import (
	"iter"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls f for 0 to n-1, on all processors. Calls begin in rising order.
func Each(n int, f func(i int)) { EachWith(n, func(i int, _ *struct{}) { f(i) }) }

// EachWith is [Each] where f needs room to work in: each processor has some of
// its own, zero at first, that it keeps from one call to the next. It returns
// the rooms as they were left, in no order.
func EachWith[Room any](n int, f func(i int, room *Room)) []Room {
	rooms := make([]Room, max(1, min(n, runtime.GOMAXPROCS(0))))
	var next atomic.Int64
	work := func(k int) {
		// Made by the processor that writes in it: of two side by side, each would take
		// the other's cache lines away.
		room := new(Room)
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			f(i, room)
		}
		rooms[k] = *room
	}
	var others sync.WaitGroup
	for k := 1; k < len(rooms); k++ {
		others.Go(func() { work(k) })
	}
	work(0)
	others.Wait()
	return rooms
}

// Runs calls f for runs from ≤ i < to, of so many each and the last of what is
// left, that together are 0 to n-1.
func Runs(n, each int, f func(from, to int)) {
	Each((n+each-1)/each, func(k int) { f(k*each, min((k+1)*each, n)) })
}

// AtOnce is how many small things, as the fixes of a log, are usually worth handing out
// together. Judgement.
const AtOnce = 4096

// Any calls f as [Runs] does, for all runs, and reports whether it held for any.
func Any(n, each int, f func(from, to int) bool) bool {
	var any atomic.Bool
	Runs(n, each, func(from, to int) {
		if f(from, to) {
			any.Store(true)
		}
	})
	return any.Load()
}

// ahead is how many batches [Ahead] works on for each processor: one that is
// asked for next, and one that keeps the processor busy meanwhile.
const ahead = 2

// Ahead yields f(0) to f(n-1) in their order, worked out some way ahead of the
// one who asks. So many are handed out together: where f takes less time than
// handing one out, more is quicker.
func Ahead[T any](n, together int, f func(i int) T) iter.Seq2[int, T] {
	return func(yield func(int, T) bool) {
		batches := make([]chan []T, (n+together-1)/together)
		begin := func(k int) {
			if k >= len(batches) {
				return
			}
			batches[k] = make(chan []T, 1)
			go func() {
				out := make([]T, min(together, n-k*together))
				for i := range out {
					out[i] = f(k*together + i)
				}
				batches[k] <- out
			}()
		}
		window := ahead * runtime.GOMAXPROCS(0)
		for k := range window {
			begin(k)
		}
		for k := range batches {
			for i, ready := range <-batches[k] {
				if !yield(k*together+i, ready) {
					return
				}
			}
			batches[k] = nil
			begin(k + window)
		}
	}
}
