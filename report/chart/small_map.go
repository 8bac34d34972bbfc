package chart

import (
	"strings"

	"lapwing/geo/plane"
)

// A SmallMap is a map the size of a stamp, for an index: the boundary and
// what needs attention. Nothing is measured on it.
type SmallMap struct {
	Wide, High string
	Label      string
	Marks      []Mark // from the bottom up
	Numbers    []Number
	Bars       []ScaleBar
}

// A Number is the number of a list at its place on a small map.
type Number struct{ X, Y, Label string }

// A Stamp lays ground out on a drawing whose longer side is stampSize, or leafSize.
type Stamp struct {
	box   plane.Box
	scale float64 // drawing units to a tick
}

const (
	stampSize   = 280.0
	stampMargin = 8.0
	// stampThin is by how many drawing units a line may be moved:
	// a third of a pixel.
	stampThin = 0.3
	// StampLeast is the least ground that is drawn, in m²: smaller patches are
	// specks on a drawing of this size and would hide what matters.
	StampLeast = 10.0
)

// NewStamp lays out a drawing around a boundary.
func NewStamp(boundary []plane.Polygon) Stamp { return newStamp(boundary, stampSize) }

func newStamp(boundary []plane.Polygon, longer float64) Stamp {
	box := plane.Bounds(boundary)
	if box.Min.X > box.Max.X {
		box = plane.Box{}
	}
	size := box.Max.Sub(box.Min)
	return Stamp{box, longer / float64(max(size.X, size.Y, plane.Metre))}
}

// Frame sets the size of a map on the stamp.
func (t Stamp) Frame(p *SmallMap) {
	size := t.box.Max.Sub(t.box.Min)
	p.Wide, p.High = fixed(float64(size.X)*t.scale+2*stampMargin), fixed(float64(size.Y)*t.scale+2*stampMargin)
}

func (t Stamp) at(p plane.Point) (x, y float64) {
	return float64(p.X-t.box.Min.X)*t.scale + stampMargin, float64(t.box.Max.Y-p.Y)*t.scale + stampMargin
}

// Path writes path data for polygons.
func (t Stamp) Path(polygons []plane.Polygon) string {
	var b strings.Builder
	for _, p := range polygons {
		for _, ring := range p.Rings() {
			t.ring(&b, ring)
		}
	}
	return b.String()
}

func (t Stamp) ring(b *strings.Builder, ring plane.Ring) {
	if len(ring) < 3 {
		return
	}
	// A strip thinner than the pen is a line there and back.
	line := append(ring.Thinned(plane.Distance(stampThin/t.scale)), ring[0])
	last := ""
	for i, p := range line {
		x, y := t.at(p)
		place := fixed(x) + " " + fixed(y)
		if place == last {
			continue
		}
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(place)
		last = place
	}
	b.WriteByte('z')
}
