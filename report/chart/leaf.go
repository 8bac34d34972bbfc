package chart

import (
	"math"
	"strconv"

	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

const (
	// leafSize is the longer side of the ground on a leaf's map: on paper a unit is a
	// third of a millimetre at most.
	leafSize = 560.0
	// LeafLeast is the least ground that a leaf's map draws, in m²; skips of the list
	// are drawn whatever their size. A smaller patch is a speck of a tenth of a
	// millimetre across.
	LeafLeast = 4.0
)

// NewLeafMap draws a field for one printed page: the boundary, what needs attention in
// plain colours, and the numbers of so many skips, the largest first; what is no
// mistake has none.
func NewLeafMap(a *assess.Assessment, numbered int) SmallMap {
	m := a.Map
	t := newStamp(m.Field.Boundary, leafSize)
	p := SmallMap{Label: "Map of the field, north up"}
	t.Frame(&p)
	listed := map[int]bool{}
	for _, i := range a.Skips().Each() {
		listed[m.Skips[i].Region] = true
	}
	unworked := map[int]bool{}
	for i := range m.Skips {
		if m.Skips[i].Cause == cause.Unworked {
			unworked[m.Skips[i].Region] = true
		}
	}
	shapes := map[string][]plane.Polygon{}
	for i := range m.Regions {
		r := &m.Regions[i]
		class := r.Kind.String()
		switch {
		case r.Kind == region.Once, r.Area.SquareMetres() < LeafLeast && !listed[i]:
			continue
		case unworked[i]:
			class = "unworked"
		}
		shapes[class] = append(shapes[class], r.Shape)
	}
	for _, class := range []string{"unlogged", "unworked", "overreach", "overlap", "skip"} {
		if d := t.Path(shapes[class]); d != "" {
			p.Marks = append(p.Marks, Mark{class, d})
		}
	}
	p.Marks = append(p.Marks, Mark{"boundary", t.Path(m.Field.Boundary)})
	for number, i := range a.Skips().Each() {
		if len(p.Numbers) == numbered {
			break
		}
		if !m.Skips[i].Mistake() {
			continue
		}
		p.Numbers = append(p.Numbers, t.Number(number, m.Skips[i].At))
	}
	t.bars(&p)
	return p
}

// bars puts a scale below the ground, in feet and in metres.
func (t Stamp) bars(p *SmallMap) {
	const room = 26.0
	high := float64(t.box.Max.Y-t.box.Min.Y)*t.scale + 2*stampMargin + room
	wide := float64(t.box.Max.X-t.box.Min.X)*t.scale + 2*stampMargin
	p.High = fixed(high)
	for _, s := range []struct {
		class, unit string
		metres      float64
	}{{"only-us", "ft", quantity.Foot}, {"only-metric", "m", 1}} {
		unit := s.metres * float64(plane.Metre) * t.scale // on the drawing
		n := math.Pow(10, math.Floor(math.Log10(wide/3/unit)))
		for _, k := range []float64{5, 2} {
			if k*n*unit <= wide/3 {
				n *= k
				break
			}
		}
		long := n * unit
		p.Bars = append(p.Bars, ScaleBar{
			Class: s.class, X: fixed(stampMargin + long + 6), Y: fixed(high - 6), Label: quantity.Number(n, 0) + " " + s.unit,
			D: "M" + fixed(stampMargin) + " " + fixed(high-14) + "v8h" + fixed(long) + "v-8",
		})
	}
}

// A ScaleBar is a length of the ground on a small map.
type ScaleBar struct{ Class, D, X, Y, Label string }

// Number puts a number at a place, within the drawing.
func (t Stamp) Number(n int, p plane.Point) Number {
	x, y := t.at(p)
	size := t.box.Max.Sub(t.box.Min)
	wide, high := float64(size.X)*t.scale+2*stampMargin, float64(size.Y)*t.scale+2*stampMargin
	const half = 7.0 // of a number's height
	return Number{fixed(min(max(x, half), wide-half)), fixed(min(max(y+half, 2*half), high-2)), strconv.Itoa(n)}
}
