// Package heap paces the collection of garbage: it sets how far the heap may grow from one
// collection to the next.
package heap

import (
	"runtime"
	"runtime/debug"
	"runtime/metrics"

	"lapwing/geo/large"
)

const (
	// growth is by how many percent the heap may grow before the garbage in it
	// is collected. The files read and the tables made on the way die young and are
	// large: at Go's usual 100 a farm's season would take half as much memory again,
	// and no less time.
	growth = 15
	// floor is how large the heap may be in any case: to collect below that costs time, and
	// saves memory that no computer is short of.
	floor = 32 << 20
	// most is the most that it may grow by, in percent: the percentage is set a little after
	// a collection is done, and until then the one before holds.
	most = 100
)

// Pace has garbage collected when the heap has grown by growth, but not before it is as
// large as it ever had to be: the program keeps that memory until it ends, and to make do
// with less while an answer is written only takes time. The heap may have large pages up to
// floor, for which a list of that length is made and given up before it is touched.
func Pace() {
	debug.SetGCPercent(most)
	large.Make[byte](floor)
	runtime.GC()
	size := uint64(floor)
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	var collected func(*cycle)
	collected = func(c *cycle) {
		metrics.Read(live)
		var percent int
		percent, size = percentOf(live[0].Value.Uint64(), size)
		debug.SetGCPercent(percent)
		runtime.SetFinalizer(c, collected) // and again after the next collection
	}
	runtime.SetFinalizer(&cycle{}, collected)
}

// Collect has garbage collected now, where it may be much: after a step that leaves as much
// of it as it gives.
func Collect() {
	held := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	if metrics.Read(held); held[0].Value.Uint64() > floor {
		runtime.GC()
	}
}

// A cycle is garbage: its finalizer runs when a collection is done.
type cycle struct{ _ *cycle }

// percentOf returns by how many percent a heap of so many live bytes may grow,
// which may be as large as size, and how large it may be from then on.
func percentOf(live, size uint64) (percent int, next uint64) {
	live = max(live, 1<<20)
	next = max(size, live+live*growth/100)
	return int(min(most, (next-live)*100/live)), next
}
