package region

import "lapwing/geo/plane"

// The layers of a field's arrangement: first these, then one for each swath.
const (
	BoundaryLayer = iota
	HeadlandLayer
	SilenceLayer
	FirstSwathLayer
)

// An Overlay is what lies over a piece of ground.
type Overlay struct {
	Inside, Headland, Silent bool
	Swaths                   []int // indices, rising
}

// Read takes up the layers over a piece of ground.
func (o *Overlay) Read(under []int) {
	*o = Overlay{Swaths: o.Swaths[:0]}
	for len(under) > 0 && under[0] < FirstSwathLayer {
		switch under[0] {
		case BoundaryLayer:
			o.Inside = true
		case HeadlandLayer:
			o.Headland = true
		case SilenceLayer:
			o.Silent = true
		}
		under = under[1:]
	}
	for _, l := range under {
		o.Swaths = append(o.Swaths, l-FirstSwathLayer)
	}
}

// Kind is the whole meaning of the arrangement:
//
//	inside  silent  swaths
//	no      any     0       not kept
//	no      any     1 +     OverReach
//	yes     any     1       Once
//	yes     any     2 +     Overlap
//	yes     yes     0       Unlogged
//	yes     no      0       Skip
func (o *Overlay) Kind() (Kind, bool) {
	switch n := len(o.Swaths); {
	case !o.Inside:
		return OverReach, n > 0
	case n == 1:
		return Once, true
	case n > 1:
		return Overlap, true
	case o.Silent:
		return Unlogged, true
	}
	return Skip, true
}

// Totals are the sums of the areas of a layout.
type Totals struct {
	Field          plane.Area   // the boundary's, holes taken out
	Covered        plane.Area   // inside, one visit or more
	Skip           plane.Area   // inside, none, and the log not silent
	Overlap        plane.Area   // inside, two visits or more
	Excess         plane.Area   // inside, the sum of (depth - 1) × area
	OverReach      plane.Area   // outside, one visit or more
	OverReachSwept plane.Area   // outside, the sum of depth × area
	Unlogged       plane.Area   // inside, no visit and the log silent
	Swept          plane.Area   // of all swaths
	ByDepth        []plane.Area // inside, by visits, from 0
}

// Add adds the area of one combination of layers.
func (t *Totals) Add(o *Overlay, area plane.Area) {
	n := len(o.Swaths)
	t.Swept += plane.Area(n) * area
	if !o.Inside {
		if n > 0 {
			t.OverReach += area
			t.OverReachSwept += plane.Area(n) * area
		}
		return
	}
	t.Field += area
	for len(t.ByDepth) <= n {
		t.ByDepth = append(t.ByDepth, 0)
	}
	kind, _ := o.Kind()
	if kind != Unlogged {
		t.ByDepth[n] += area
	}
	switch kind {
	case Skip:
		t.Skip += area
	case Unlogged:
		t.Unlogged += area
	default:
		t.Covered += area
		if n > 1 {
			t.Overlap += area
			t.Excess += plane.Area(n-1) * area
		}
	}
}
