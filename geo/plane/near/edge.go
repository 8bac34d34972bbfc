package near

import (
	"math"

	"lapwing/geo/plane"
)

// An Edge is the segment from A to B, in ticks. Where edges bound ground, it
// lies on their left.
type Edge struct{ AX, AY, BX, BY float64 }

// EdgeOf returns the edge from a to b.
func EdgeOf(a, b plane.Point) Edge {
	return Edge{float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)}
}

// Length returns the length of e.
func (e *Edge) Length() plane.Distance { return plane.Distance(math.Hypot(e.BX-e.AX, e.BY-e.AY)) }

// Nearest returns the place on the edge nearest to x, y, and the square of the
// distance to it.
//
//	          x, y
//	            |  d2 = distance²
//	a-----------p-----b
func (e *Edge) Nearest(x, y float64) (px, py, d2 float64) {
	dx, dy := e.BX-e.AX, e.BY-e.AY
	px, py = e.AX, e.AY
	if l := dx*dx + dy*dy; l > 0 {
		t := max(0, min(1, ((x-e.AX)*dx+(y-e.AY)*dy)/l))
		px, py = e.AX+t*dx, e.AY+t*dy
	}
	return px, py, (x-px)*(x-px) + (y-py)*(y-py)
}
