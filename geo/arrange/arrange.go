package arrange

import (
	"slices"

	"lapwing/geo/plane"
)

// A Layer is rings that count as one: a place is under the layer if its rings
// wind around it more often anticlockwise than clockwise. Rings may cross,
// overlap, touch and repeat.
type Layer []plane.Ring

// A Label is what the caller calls a combination of layers. Neighbouring
// pieces with the same label become one face.
type Label int32

// None is the label of ground that is wanted by nobody: no face is made of it.
const None Label = 0

// An Arrangement is the plane cut along the rings of some layers.
type Arrangement struct {
	// Covers holds every combination of layers that lies over some ground,
	// each with the exact area of all of it.
	Covers []Cover
	// Faces holds every connected piece of one label, in no order to rely on.
	// Faces do not overlap, and neighbours share their edges point for point.
	Faces []Face
}

// A Cover is a combination of layers.
type Cover struct {
	Under []int // indices of the layers, rising
	Label Label
	Area  plane.Area
}

// A Face is a connected piece of ground under one label. Its polygon is
// valid: no ring crosses or repeats itself, rings touch at points at most.
type Face struct {
	Label Label
	Shape plane.Polygon
	// Across holds, for each ring of Shape in the order of its Rings, the label
	// on the far side of each edge; edge i runs from point i to the next.
	Across [][]Label
}

// Cut cuts the plane along the rings of the layers. It asks label once for
// each combination of layers; the empty combination is always [None].
// Points must lie within [plane.Reach] of the centre.
func Cut(layers []Layer, label func(under []int) Label) *Arrangement {
	segs, corners := segments(layers)
	bends := snap(segs)
	nodes := number(corners, bends, viewOf(segs))
	edges := join(segs, bends, nodes)
	covers := newCovers(label)
	web := sweep(nodes, len(bends), edges, covers)
	return &Arrangement{Covers: covers.result(), Faces: web.faces()}
}

// Areas returns the exact areas alone, without polygons.
func Areas(layers []Layer) []Cover {
	a := Cut(layers, func([]int) Label { return None })
	return a.Covers
}

// point is a plane.Point in half the space: coordinates fit 31 bits.
type point struct{ x, y int32 }

// cross is twice the signed area of o, p, q; exact, see plane.Side.
func cross(o, p, q point) int64 {
	return int64(p.x-o.x)*int64(q.y-o.y) - int64(p.y-o.y)*int64(q.x-o.x)
}

// A seg is one edge of a ring as given: from corner first to the next corner
// of its ring.
type seg struct {
	a, b     point
	from, to int32 // indices into the corners
	layer    int32
}

// segments lists the edges of all rings, and their corners. Edges of no
// length are left out.
func segments(layers []Layer) ([]seg, []point) {
	var n int
	for _, l := range layers {
		for _, r := range l {
			n += len(r)
		}
	}
	segs, corners := make([]seg, 0, n), make([]point, 0, n)
	for i, l := range layers {
		for _, r := range l {
			first := int32(len(corners))
			for _, p := range r {
				corners = append(corners, point{int32(p.X), int32(p.Y)})
			}
			ring := corners[first:]
			for j, a := range ring {
				k := j + 1
				if k == len(ring) {
					k = 0
				}
				if b := ring[k]; a != b {
					segs = append(segs, seg{a, b, first + int32(j), first + int32(k), int32(i)})
				}
			}
		}
	}
	return segs, corners
}

// covers numbers the combinations of layers as the sweep meets them.
// Combination 0 is the empty one.
type covers struct {
	list  []winding
	area  []plane.Area
	names []Label
	known map[string]int32
	label func([]int) Label

	// recent remembers, for a single layer beginning or ending, the last
	// combination it was applied to: most edges of a layer lie in a row.
	recent []struct{ from, to int32 }
	key    []byte
}

// winding holds the layers whose winding number is not zero, rising.
type winding []wound

type wound struct{ layer, turns int32 }

func newCovers(label func([]int) Label) *covers {
	c := &covers{known: map[string]int32{}, label: label}
	c.intern(nil)
	return c
}

// under lists the layers with a positive winding number.
func (w winding) under() []int {
	var out []int
	for _, x := range w {
		if x.turns > 0 {
			out = append(out, int(x.layer))
		}
	}
	return out
}

// intern returns the number of the combination w.
func (c *covers) intern(w winding) int32 {
	c.key = c.key[:0]
	for _, x := range w {
		c.key = append(c.key, byte(x.layer), byte(x.layer>>8), byte(x.layer>>16), byte(x.layer>>24),
			byte(x.turns), byte(x.turns>>8), byte(x.turns>>16), byte(x.turns>>24))
	}
	if id, ok := c.known[string(c.key)]; ok {
		return id
	}
	id := int32(len(c.list))
	c.known[string(c.key)] = id
	c.list = append(c.list, slices.Clone(w))
	c.area = append(c.area, 0)
	name := None
	if under := w.under(); len(under) > 0 {
		name = c.label(under)
	}
	c.names = append(c.names, name)
	return id
}

// across returns the combination above an edge from the one below it.
// The changes are in order of their layers, none twice.
func (c *covers) across(below int32, changes []wound) int32 {
	if len(changes) == 1 && (changes[0].turns == 1 || changes[0].turns == -1) {
		slot := int(changes[0].layer)*2 + int(changes[0].turns+1)/2
		for len(c.recent) <= slot {
			c.recent = append(c.recent, struct{ from, to int32 }{-1, -1})
		}
		if r := c.recent[slot]; r.from == below {
			return r.to
		}
		above := c.intern(merge(c.list[below], changes))
		c.recent[slot] = struct{ from, to int32 }{below, above}
		return above
	}
	return c.intern(merge(c.list[below], changes))
}

// merge adds the changes to w.
func merge(w winding, changes []wound) winding {
	out := make(winding, 0, len(w)+len(changes))
	for len(w) > 0 || len(changes) > 0 {
		switch {
		case len(changes) == 0 || len(w) > 0 && w[0].layer < changes[0].layer:
			out = append(out, w[0])
			w = w[1:]
		case len(w) == 0 || changes[0].layer < w[0].layer:
			out = append(out, changes[0])
			changes = changes[1:]
		default:
			if n := w[0].turns + changes[0].turns; n != 0 {
				out = append(out, wound{w[0].layer, n})
			}
			w, changes = w[1:], changes[1:]
		}
	}
	return out
}

// result gathers combinations that differ only in how often a layer winds.
func (c *covers) result() []Cover {
	var out []Cover
	index := map[string]int{}
	for id, w := range c.list {
		under := w.under()
		if c.area[id] == 0 || len(under) == 0 {
			continue
		}
		c.key = c.key[:0]
		for _, l := range under {
			c.key = append(c.key, byte(l), byte(l>>8), byte(l>>16), byte(l>>24))
		}
		i, ok := index[string(c.key)]
		if !ok {
			i = len(out)
			index[string(c.key)] = i
			out = append(out, Cover{Under: under, Label: c.names[id]})
		}
		out[i].Area += c.area[id]
	}
	slices.SortFunc(out, func(a, b Cover) int { return slices.Compare(a.Under, b.Under) })
	return out
}
