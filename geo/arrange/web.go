package arrange

import "lapwing/geo/plane"

// A web is the borders between labels, ready to be followed round each face.
//
// A border from one junction to the next is a chain, however often it bends on
// the way: most rings meet others at few places, and go on for thousands of
// corners between. The halves of chain c are 2c, from its west to its east with
// the ground above it on its left, and 2c+1 back with the ground below on its
// left.
//
//	         .--chain--.
//	junction            junction---
//	         `--chain--´
type web struct {
	nodes
	names     []Label // of the combinations
	junctions []point // in the order of the sweep
	chains    []chain
	next      []int32 // the half that goes on round the same ground
	bends     []chunk
}

// A chain is a border between two junctions that runs from west to east.
type chain struct {
	west, east   int32 // its junctions
	below, above int32 // the combinations of layers on either side
	under        int32 // if no border comes to west from the west: the chain next below, or -1
	first, last  int32 // the chunks of its bends
	bends        int32 // how many there are
	area         plane.Area
}

// A chunk holds a few bends of a chain that follow one another. The sweep adds
// to all chains that stand by turns; each keeps to its own place in memory.
type chunk struct {
	points [chunkSize]point
	next   int32
}

const chunkSize = 7 // a chunk is a line of a processor's cache, and most chains are short

// newWeb returns a web with room for about as many chains as edges were bent,
// and as many bends as there are nodes.
func newWeb(nd nodes, bent int) *web {
	return &web{
		nodes:  nd,
		chains: make([]chain, 0, bent), next: make([]int32, 0, 2*bent),
		bends: make([]chunk, 0, len(nd.at)/chunkSize+bent),
	}
}

// begin makes a chain between two combinations, which has no ends yet.
func (w *web) begin(below, above int32) int32 {
	w.chains = append(w.chains, chain{west: -1, below: below, above: above, under: -1})
	w.next = append(w.next, -1, -1)
	return int32(len(w.chains) - 1)
}

// bend adds a bend to the east of chain i.
func (w *web) bend(i int32, p point) {
	c := &w.chains[i]
	at := c.bends % chunkSize
	if at == 0 {
		n := int32(len(w.bends))
		w.bends = append(w.bends, chunk{})
		if c.bends == 0 {
			c.first = n
		} else {
			w.bends[c.last].next = n
		}
		c.last = n
	}
	w.bends[c.last].points[at] = p
	c.bends++
}

// join makes a junction at p of the halves that leave it, anticlockwise. The
// chain under is next below if all of them go east.
func (w *web) join(p point, round []int32, under int32) {
	j := int32(len(w.junctions))
	w.junctions = append(w.junctions, p)
	before := round[len(round)-1]
	for _, h := range round { // arriving against h, go on along the one clockwise of it
		w.next[h^1] = before
		before = h
		if c := &w.chains[h>>1]; h&1 == 0 {
			c.west, c.under = j, under
		} else {
			c.east = j
		}
	}
}

// label returns the label of the ground left of half h.
func (w *web) label(h int32) Label {
	if h&1 == 0 {
		return w.names[w.chains[h>>1].above]
	}
	return w.names[w.chains[h>>1].below]
}

// origin returns the junction that half h leaves.
func (w *web) origin(h int32) int32 {
	if h&1 == 0 {
		return w.chains[h>>1].west
	}
	return w.chains[h>>1].east
}

// follow puts the points of half h into r, from the junction it leaves to its
// last bend, and returns how many they are.
func (w *web) follow(h int32, r plane.Ring) int {
	c := &w.chains[h>>1]
	r[0] = w.place(w.junctions[w.origin(h)])
	at, step := 1, 1
	if h&1 != 0 {
		at, step = int(c.bends), -1
	}
	left := int(c.bends)
	for k := c.first; left > 0; k = w.bends[k].next {
		b := &w.bends[k]
		for _, p := range b.points[:min(left, chunkSize)] {
			r[at] = w.place(p)
			at += step
		}
		left -= min(left, chunkSize)
	}
	return int(c.bends) + 1
}
