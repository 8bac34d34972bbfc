// Package heap paces the collection of garbage: it sets how far the heap may grow from one
// collection to the next.
package heap

import (
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sync"

	"lapwing/geo/large"
)

const (
	// growth is by how many percent the heap may grow before the garbage in it
	// is collected. The files read and the tables made on the way die young and are
	// large: at Go's usual 100 an answer would take half as much memory again,
	// and no less time.
	growth = 10
	// floor is how large the heap may be in any case: to collect below that costs time, and
	// saves memory that no computer is short of.
	floor = 32 << 20
	// most is the most that it may grow by, in percent: the percentage is set a little after
	// a collection is done, and until then the one before holds.
	most = 100
	// roomyFloor and roomyMost are the same where many fields are worked through. What lives
	// is little then, again and again, and what is garbage much.
	roomyFloor = 96 << 20
	roomyMost  = 1000
)

// A pace is how far the heap may grow.
type pace struct {
	mu   sync.Mutex
	size uint64 // it may be as large
	most int    // percent that it may grow by
	kept bool   // Pace was called
}

var current = pace{size: floor, most: most}

// Pace has garbage collected when the heap has grown by growth, but not before it is as
// large as it ever had to be: the program keeps that memory until it ends, and to make do
// with less while an answer is written only takes time. The heap may have large pages up to
// floor, for which a list of that length is made and given up again: of a heap that is new
// nothing of it is touched, and it takes less memory than [large.Reserve], measured.
func Pace() {
	debug.SetGCPercent(most)
	large.Make[byte](floor)
	runtime.GC()
	current.kept = true
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	var collected func(*cycle)
	collected = func(c *cycle) {
		metrics.Read(live)
		debug.SetGCPercent(current.after(live[0].Value.Uint64()))
		runtime.SetFinalizer(c, collected) // and again after the next collection
	}
	runtime.SetFinalizer(&cycle{}, collected)
}

// Roomy lets the heap of a program that called [Pace] be larger, for a call that works
// through many fields: to collect the garbage of each ten times on the way takes a fifth of
// its time.
func Roomy() {
	if current.widen() {
		large.Reserve(roomyFloor) // a list made would be touched: a signal could not be heeded meanwhile
		runtime.GC()
	}
}

// widen has the pace be that of many fields, and reports whether it is kept at all.
func (p *pace) widen() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.size, p.most = max(p.size, roomyFloor), roomyMost
	return p.kept
}

// after returns by how many percent the heap may grow after a collection that so many bytes
// live on after.
func (p *pace) after(live uint64) (percent int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	live = max(live, 1<<20)
	p.size = max(p.size, live+live*growth/100)
	return int(min(uint64(p.most), (p.size-live)*100/live))
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
