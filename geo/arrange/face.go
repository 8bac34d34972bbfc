package arrange

import (
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A cycle is the way round one side of the borders, the ground on its left.
type cycle struct {
	from, to int32 // its halves are walk[from:to]
	west     int32 // the chain at its first junction in order
	area     plane.Area
	face     int32 // the face it bounds; -1 for none
	rings    []ring
}

// A ring is a part of a cycle that meets no junction twice.
type ring struct {
	points plane.Ring
	area   plane.Area
	across []Label
}

// faces follows the borders round every piece of ground.
func (w *web) faces() []Face {
	cycles, walk, of := w.cycles()
	w.unpick(cycles, walk)
	shells := int32(0)
	for i := range cycles {
		c := &cycles[i]
		c.face = -1
		if c.area > 0 && w.label(walk[c.from]) != None {
			c.face = shells
			shells++
		}
	}
	out := make([]Face, shells)
	for i := range cycles {
		c := &cycles[i]
		if len(c.rings) == 0 {
			continue
		}
		if c.face < 0 {
			c.face = w.around(cycles, of, c)
		}
		f := &out[c.face]
		if f.Across == nil {
			f.Across = make([][]Label, 1) // the shell's place
		}
		for _, r := range c.rings {
			f.Area += r.area
			if r.area > 0 {
				f.Label, f.Shape.Shell, f.Across[0] = w.label(walk[c.from]), r.points, r.across
			} else {
				f.Shape.Holes, f.Across = append(f.Shape.Holes, r.points), append(f.Across, r.across)
			}
		}
	}
	return out
}

// cycles finds all cycles, their halves one after the other, and the cycle of
// each half.
func (w *web) cycles() (cycles []cycle, walk, of []int32) {
	of = make([]int32, len(w.next))
	for h := range of {
		of[h] = -1
	}
	walk = make([]int32, 0, len(w.next))
	// As many as borders less junctions, and two for each part of the web: L. Euler, Elementa
	// doctrinae solidorum, 1758. Most webs have few parts.
	cycles = make([]cycle, 0, len(w.chains)-len(w.junctions)+2)
	for h := range w.next {
		if of[h] >= 0 {
			continue
		}
		c := cycle{from: int32(len(walk)), west: int32(h >> 1)}
		for g := int32(h); of[g] < 0; g = w.next[g] {
			of[g] = int32(len(cycles))
			walk = append(walk, g)
			x := &w.chains[g>>1]
			if x.west < w.chains[c.west].west {
				c.west = g >> 1
			}
			if g&1 == 0 {
				c.area += x.area
			} else {
				c.area -= x.area
			}
		}
		c.to = int32(len(walk))
		cycles = append(cycles, c)
	}
	return cycles, walk, of
}

// around returns the face that the hole c is in: the ground above the border
// next below its westernmost junction. If a hole lies there too, both are in
// the same face; it begins farther west, so the search ends.
func (w *web) around(cycles []cycle, of []int32, c *cycle) int32 {
	for c.face < 0 {
		c = &cycles[of[2*w.chains[c.west].under]]
	}
	return c.face
}

// cyclesAtOnce is how many cycles a processor unpicks before it asks for more.
const cyclesAtOnce = 64

// unpick cuts the cycles round wanted ground into rings, on all processors.
func (w *web) unpick(cycles []cycle, walk []int32) {
	batches := (len(cycles) + cyclesAtOnce - 1) / cyclesAtOnce
	parallel.EachWith(batches, func(k int, u *unpicker) {
		if u.web == nil {
			*u = *newUnpicker(w)
		}
		for i := k * cyclesAtOnce; i < min((k+1)*cyclesAtOnce, len(cycles)); i++ {
			c := &cycles[i]
			if w.label(walk[c.from]) != None {
				c.rings = u.unpick(walk[c.from:c.to])
			}
		}
	})
}

// An unpicker cuts a cycle into rings that meet no junction twice.
type unpicker struct {
	*web
	seen []int32 // where a junction stands on the way so far; -1 if it does not
	way  []int32 // the halves taken so far
}

func newUnpicker(w *web) *unpicker {
	u := &unpicker{web: w, seen: make([]int32, len(w.junctions))}
	for i := range u.seen {
		u.seen[i] = -1
	}
	return u
}

// unpick returns the rings of the cycle of some halves. A shell that touches
// itself at a node becomes a shell and a hole that touch there; holes that
// touch become holes of their own.
//
//	+-------+          one cycle: a b x c d x e f
//	|   x   |   -->    a shell:   a b x e f
//	|  / \  |          and a hole:    x c d
func (u *unpicker) unpick(cycle []int32) []ring {
	var out []ring
	u.way = u.way[:0]
	for _, h := range cycle {
		v := u.origin(h)
		if i := u.seen[v]; i >= 0 {
			out = append(out, u.cut(int(i)))
		}
		u.seen[v] = int32(len(u.way))
		u.way = append(u.way, h)
	}
	return append(out, u.cut(0))
}

// cut takes the ring off the way that began at from.
func (u *unpicker) cut(from int) ring {
	loop := u.way[from:]
	n := 0
	for _, h := range loop {
		n += int(u.chains[h>>1].bends) + 1
	}
	r := ring{points: make(plane.Ring, n), across: make([]Label, n)}
	at := 0
	for _, h := range loop {
		u.seen[u.origin(h)] = -1
		to := at + u.follow(h, r.points[at:])
		across := u.label(h ^ 1)
		for ; at < to; at++ {
			r.across[at] = across
		}
	}
	r.area = r.points.Area()
	u.way = u.way[:from]
	return r
}
