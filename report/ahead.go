package report

import (
	"iter"
	"runtime"
)

// ahead yields f(0) to f(n-1) in their order, worked out on all processors
// some way ahead of the one who asks. A few are handed out together,
// since most take less time than handing one out does.
func ahead[T any](n int, f func(i int) T) iter.Seq2[int, T] {
	const together = 4
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
		for k := range 2 * runtime.GOMAXPROCS(0) {
			begin(k)
		}
		for k := range batches {
			for i, ready := range <-batches[k] {
				if !yield(k*together+i, ready) {
					return
				}
			}
			batches[k] = nil
			begin(k + 2*runtime.GOMAXPROCS(0))
		}
	}
}
