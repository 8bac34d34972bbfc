package arrange

import (
	"slices"

	"lapwing/geo/plane"
)

// covers numbers the combinations of layers as the sweep meets them.
// Combination 0 is the empty one.
//
// A field worked round and round has places under hundreds of layers, and tens of
// thousands of combinations of them. So each is kept once, as a stretch of one
// long list, and is found by a hash that is known before it is made: what a
// layer's winding number adds to it does not depend on the other layers.
type covers struct {
	lists []wound // of all combinations, one after the other
	from  []int   // combination i is lists[from[i]:from[i+1]]
	hash  []uint64
	area  []plane.Area
	names []Label
	known map[uint64]int32 // the last combination of a hash,
	older []int32          // and the one before it of the same hash, or -1
	label func([]int) Label
	purse purse

	// recent remembers, for a single layer beginning or ending, the last
	// combination it was applied to: most edges of a layer lie in a row.
	recent []struct{ from, to int32 }
	under  []int // room for a list of layers
}

// winding holds the layers whose winding number is not zero, rising.
type winding []wound

type wound struct{ layer, turns int32 }

func newCovers(label func([]int) Label, b *Budget) *covers {
	c := &covers{known: map[uint64]int32{}, label: label, purse: purse{budget: b}}
	c.from = append(c.from, 0)
	c.add(0, None) // the empty combination
	return c
}

// list returns the layers of combination id.
func (c *covers) list(id int32) winding { return c.lists[c.from[id]:c.from[id+1]] }

// under adds the layers with a positive winding number to a list.
func (w winding) under(out []int) []int {
	for _, x := range w {
		if x.turns > 0 {
			out = append(out, int(x.layer))
		}
	}
	return out
}

// across returns the combination above an edge from the one below it.
// The changes are in order of their layers, none twice.
func (c *covers) across(below int32, changes []piece) int32 {
	if len(changes) == 1 && (changes[0].turns == 1 || changes[0].turns == -1) {
		slot := int(changes[0].layer)*2 + int(changes[0].turns+1)/2
		for len(c.recent) <= slot {
			c.recent = append(c.recent, struct{ from, to int32 }{-1, -1})
		}
		if r := c.recent[slot]; r.from == below {
			return r.to
		}
		above := c.find(below, changes)
		c.recent[slot] = struct{ from, to int32 }{below, above}
		return above
	}
	return c.find(below, changes)
}

// find returns the number of the combination that is another with some changes.
func (c *covers) find(below int32, changes []piece) int32 {
	hash := c.merge(below, changes)
	w := c.lists[c.from[len(c.from)-1]:]
	last, is := c.known[hash]
	if !is {
		last = -1
	}
	for id := last; id >= 0; id = c.older[id] {
		if slices.Equal(c.list(id), w) {
			c.lists = c.lists[:len(c.lists)-len(w)]
			return id
		}
	}
	c.purse.layers(len(w))
	name := None
	if c.under = winding(w).under(c.under[:0]); len(c.under) > 0 {
		name = c.label(c.under)
	}
	return c.add(hash, name)
}

// add makes a combination of the layers that were put at the end of all lists.
func (c *covers) add(hash uint64, name Label) int32 {
	id := int32(len(c.area))
	older := int32(-1)
	if last, is := c.known[hash]; is {
		older = last
	}
	c.known[hash] = id
	c.from = append(c.from, len(c.lists))
	c.hash, c.older = append(c.hash, hash), append(c.older, older)
	c.area, c.names = append(c.area, 0), append(c.names, name)
	return id
}

// merge puts a combination with some changes at the end of all lists, and
// returns its hash.
func (c *covers) merge(below int32, changes []piece) uint64 {
	hash := c.hash[below]
	w, out := c.list(below), c.lists
	for _, x := range changes {
		k := 0
		for k < len(w) && w[k].layer < x.layer {
			k++
		}
		out, w = append(out, w[:k]...), w[k:]
		was := wound{layer: x.layer}
		if len(w) > 0 && w[0].layer == x.layer {
			was, w = w[0], w[1:]
			hash -= was.hash()
		}
		if was.turns += x.turns; was.turns != 0 {
			out = append(out, was)
			hash += was.hash()
		}
	}
	c.lists = append(out, w...)
	return hash
}

// hash is what a layer adds to the hash of a combination: the finalizer of
// MurmurHash3 (A. Appleby, 2011, in the public domain), which lets every bit of
// what it takes bear on every bit of what it gives.
func (x wound) hash() uint64 {
	h := uint64(uint32(x.layer))<<32 | uint64(uint32(x.turns))
	h = (h ^ h>>33) * 0xff51afd7ed558ccd
	h = (h ^ h>>33) * 0xc4ceb9fe1a85ec53
	return h ^ h>>33
}

// result gathers combinations that differ only in how often a layer winds.
func (c *covers) result() []Cover {
	all := make([]Cover, 0, len(c.area))
	layers := make([]int, 0, len(c.lists))
	for id, area := range c.area {
		first := len(layers)
		layers = c.list(int32(id)).under(layers)
		if area == 0 || len(layers) == first {
			layers = layers[:first]
			continue
		}
		all = append(all, Cover{Under: layers[first:len(layers):len(layers)], Label: c.names[id], Area: area})
	}
	slices.SortStableFunc(all, func(a, b Cover) int { return slices.Compare(a.Under, b.Under) })
	out := all[:0]
	for _, x := range all {
		if n := len(out); n > 0 && slices.Equal(out[n-1].Under, x.Under) {
			out[n-1].Area += x.Area
		} else {
			out = append(out, x)
		}
	}
	return out
}
