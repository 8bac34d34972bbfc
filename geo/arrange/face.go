package arrange

import "lapwing/geo/plane"

// A cycle is the way round one side of the borders, the ground on its left.
type cycle struct {
	start int32 // the half it begins with
	west  int32 // its first node in order
	area  plane.Area
	face  int32 // the face it bounds; -1 for none
}

// faces follows the borders round every piece of ground.
func (w *web) faces(at []point) []Face {
	cycles, of := w.cycles(at)
	var out []Face
	for i := range cycles {
		c := &cycles[i]
		c.face = -1
		if c.area > 0 && w.label[c.start] != None {
			c.face = int32(len(out))
			out = append(out, Face{Label: w.label[c.start]})
		}
	}
	rings := newUnpicker(len(at))
	for i := range cycles {
		c := &cycles[i]
		if w.label[c.start] == None {
			continue
		}
		if c.face < 0 {
			c.face = w.around(cycles, of, c)
		}
		f := &out[c.face]
		if f.Across == nil {
			f.Across = make([][]Label, 1) // the shell's place
		}
		rings.unpick(w, at, c.start, func(r plane.Ring, area plane.Area, across []Label) {
			if area > 0 {
				f.Shape.Shell, f.Across[0] = r, across
			} else {
				f.Shape.Holes, f.Across = append(f.Shape.Holes, r), append(f.Across, across)
			}
		})
	}
	return out
}

// cycles finds all cycles, and the cycle of each half.
func (w *web) cycles(at []point) ([]cycle, []int32) {
	of := make([]int32, len(w.next))
	for i := range of {
		of[i] = -1
	}
	var cycles []cycle
	for h := range w.next {
		if w.next[h] < 0 || of[h] >= 0 {
			continue
		}
		c := cycle{start: int32(h), west: w.origin(int32(h))}
		for g := int32(h); of[g] < 0; g = w.next[g] {
			of[g] = int32(len(cycles))
			v, u := w.origin(g), w.origin(g^1)
			c.west = min(c.west, v)
			p, q := at[v], at[u]
			c.area += plane.Area(int64(p.x)*int64(q.y) - int64(p.y)*int64(q.x))
		}
		cycles = append(cycles, c)
	}
	return cycles, of
}

// origin returns the node that half h leaves.
func (w *web) origin(h int32) int32 {
	if h&1 == 0 {
		return w.lo[h>>1]
	}
	return w.hi[h>>1]
}

// around returns the face that the hole c is in: the ground above the border
// next below its westernmost node. If a hole lies there too, both are in the
// same face; it begins farther west, so the search ends.
func (w *web) around(cycles []cycle, of []int32, c *cycle) int32 {
	for c.face < 0 {
		c = &cycles[of[2*w.under[c.west]]]
	}
	return c.face
}

// An unpicker cuts a cycle into rings that meet no node twice.
type unpicker struct {
	seen []int32 // where a node stands on the way so far; -1 if it does not
	way  []int32 // the halves taken so far
}

func newUnpicker(nodes int) *unpicker {
	u := &unpicker{seen: make([]int32, nodes)}
	for i := range u.seen {
		u.seen[i] = -1
	}
	return u
}

// unpick yields the rings of the cycle that begins with half start. A shell
// that touches itself at a node becomes a shell and a hole that touch there;
// holes that touch become holes of their own.
//
//	+-------+          one cycle: a b x c d x e f
//	|   x   |   -->    a shell:   a b x e f
//	|  / \  |          and a hole:    x c d
func (u *unpicker) unpick(w *web, at []point, start int32, yield func(plane.Ring, plane.Area, []Label)) {
	cut := func(from int) {
		loop := u.way[from:]
		r, across := make(plane.Ring, len(loop)), make([]Label, len(loop))
		for i, h := range loop {
			v := w.origin(h)
			r[i], across[i] = at[v].plane(), w.label[h^1]
			u.seen[v] = -1
		}
		u.way = u.way[:from]
		yield(r, r.Area(), across)
	}
	u.way = u.way[:0]
	for h := start; ; {
		v := w.origin(h)
		if i := u.seen[v]; i >= 0 {
			cut(int(i))
		}
		u.seen[v] = int32(len(u.way))
		u.way = append(u.way, h)
		if h = w.next[h]; h == start {
			break
		}
	}
	cut(0)
}
