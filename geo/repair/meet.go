package repair

import (
	"slices"

	"lapwing/geo/plane"
)

// A Meeting is how a ring meets itself, other than where one edge follows on
// another.
type Meeting int

// The meetings, from what is well to what is wrong.
const (
	Apart   Meeting = iota // nowhere
	Touch                  // corners lie on edges or on other corners
	Cross                  // two edges cross
	Unclear                // there were too few steps to find out
)

// Meetings are the places where a ring meets itself.
type Meetings struct {
	How     Meeting
	Corners []int  // those that lie on an edge or on another corner, rising
	Edges   [2]int // two edges that cross, where some do; edge i begins at corner i
}

// Meet finds out how a ring meets itself, exactly. It takes a step for each
// comparison, of which there may be as many as the square of the corners.
func Meet(r plane.Ring, steps *int) Meetings {
	if len(r) < 2 {
		return Meetings{}
	}
	flat := Lay(r)[0]
	edges := edgesOf([]plane.Ring{flat})
	t := newEdgeRuns(edges, 0, *steps)
	var m Meetings
	touch := func(corner int) { m.How, m.Corners = Touch, append(m.Corners, corner%len(flat)) }
	t.pairs(func(i, j int32) bool {
		e, f := edges[i], edges[j]
		t.left -= 8 // sides are dearer than boxes
		fa, fb := plane.Side(e.a, e.b, f.a), plane.Side(e.a, e.b, f.b)
		if fa*fb > 0 {
			return true
		}
		ea, eb := plane.Side(f.a, f.b, e.a), plane.Side(f.a, f.b, e.b)
		if fa*fb < 0 && ea*eb < 0 {
			m.How, m.Edges = Cross, [2]int{int(i), int(j)}
			return false
		}
		for _, end := range [4]struct {
			side   plane.Turn
			on     edge
			at     plane.Point
			corner int
		}{{fa, e, f.a, int(j)}, {fb, e, f.b, int(j) + 1}, {ea, f, e.a, int(i)}, {eb, f, e.b, int(i) + 1}} {
			if end.side == plane.Straight && end.on.holds(end.at) {
				touch(end.corner)
			}
		}
		if e.a == f.a {
			touch(int(i))
			touch(int(j))
		}
		return true
	})
	if *steps = t.left; t.left < 0 && m.How != Cross {
		return Meetings{How: Unclear}
	}
	slices.Sort(m.Corners)
	m.Corners = slices.Compact(m.Corners)
	return m
}

// holds reports whether p, which lies on the line of e, lies between its ends.
func (e edge) holds(p plane.Point) bool {
	b := e.box()
	return p != e.a && p != e.b && b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y
}
