package main

import (
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

const (
	// heapGrowth is by how many percent the heap may grow before the garbage in it
	// is collected. The files read and the tables made on the way die young and are
	// large: at Go's usual 100 a farm's season would take half as much memory again,
	// and no less time.
	heapGrowth = 15
	// heapFloor is how large the heap may be in any case: collecting less costs
	// time and saves nothing that a computer would miss.
	heapFloor = 32 << 20
	// heapMost is the most that it may grow by, in percent: that a collection is
	// done is heard of a little later, and until then the percentage before holds.
	heapMost = 100
)

// paceHeap has garbage collected when the heap has grown by heapGrowth, but not
// before it is as large as it ever had to be: that memory is the program's until
// it ends, and to write an answer with a tenth of it only wears the processor.
func paceHeap() {
	debug.SetGCPercent(heapMost)
	size := uint64(heapFloor)
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	var collected func(*cycle)
	collected = func(c *cycle) {
		metrics.Read(live)
		var percent int
		percent, size = heapPercent(live[0].Value.Uint64(), size)
		debug.SetGCPercent(percent)
		runtime.SetFinalizer(c, collected) // and again after the next collection
	}
	runtime.SetFinalizer(&cycle{}, collected)
}

// A cycle is garbage of which a collection tells that it is done.
type cycle struct{ _ *cycle }

// heapPercent returns by how many percent a heap of so many live bytes may grow,
// which may be as large as size, and how large it may be from then on.
func heapPercent(live, size uint64) (percent int, next uint64) {
	live = max(live, 1<<20)
	next = max(size, live+live*heapGrowth/100)
	return int(min(heapMost, (next-live)*100/live)), next
}
