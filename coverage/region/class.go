package region

import (
	"slices"

	"lapwing/geo/arrange"
)

// classes are what a piece of ground can be, each as a region without a shape.
// Ground of one kind under the same swaths is of one class, wherever the
// headland's edge runs through it; only skips are cut there.
type classes struct {
	list  []Region
	known map[uint64]arrange.Label // the last class of a hash,
	older []arrange.Label          // and the one before it of the same hash, or None
	over  Overlay                  // room for one
}

// label returns the class of ground under some layers: its place in the list,
// counted from 1.
func (c *classes) label(under []int) arrange.Label {
	o := &c.over
	o.Read(under)
	kind, kept := o.Kind()
	if !kept {
		return arrange.None
	}
	headland := o.Headland && kind == Skip
	hash := hashOf(kind, headland, o.Swaths)
	for l := c.known[hash]; l != arrange.None; l = c.older[l-1] {
		if r := &c.list[l-1]; r.Kind == kind && r.Headland == headland && slices.Equal(r.Swaths, o.Swaths) {
			return l
		}
	}
	c.list = append(c.list, Region{Kind: kind, Depth: len(o.Swaths), Swaths: slices.Clone(o.Swaths), Headland: headland})
	l := arrange.Label(len(c.list))
	c.older = append(c.older, c.known[hash])
	if c.known == nil {
		c.known = map[uint64]arrange.Label{}
	}
	c.known[hash] = l
	return l
}

// hashOf is the FNV-1a hash (Fowler, Noll, Vo) of what makes a class, taken number
// by number and not byte by byte.
func hashOf(kind Kind, headland bool, swaths []int) uint64 {
	const basis, prime = 14695981039346656037, 1099511628211
	h := (uint64(basis) ^ uint64(kind)) * prime
	if headland {
		h = (h ^ 1<<8) * prime
	}
	for _, s := range swaths {
		h = (h ^ uint64(s)) * prime
	}
	return h
}
