package arrange

import "lapwing/geo/plane"

// A Layer is rings that count as one: a place is under the layer if its rings
// wind around it more often anticlockwise than clockwise. Rings may cross,
// overlap, touch and repeat.
type Layer []plane.Ring

// A Label is what the caller calls a combination of layers. Neighbouring
// pieces with the same label become one face.
type Label int32

// None is the label of ground of which no face is made.
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
	Area  plane.Area // of Shape
	// Across holds, for each ring of Shape in the order of its Rings, the label
	// on the far side of each edge; edge i runs from point i to the next.
	Across [][]Label
}

// Cut cuts the plane along the rings of the layers. It asks label once for
// each combination of layers, whose list is good until label returns; the empty
// combination is always [None]. Points must lie within [plane.Reach] of the
// centre.
func Cut(layers []Layer, label func(under []int) Label) *Arrangement {
	a, _ := (*Budget)(nil).Cut(layers, label) // which has no end
	return a
}

// Areas returns the exact areas alone, without polygons.
func Areas(layers []Layer) []Cover {
	covers, _ := (*Budget)(nil).Areas(layers)
	return covers
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
