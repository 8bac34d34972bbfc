package coverage

import (
	"cmp"
	"slices"
	"sync"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A Map is the whole answer for one field: which ground was covered how
// often, by whom, and what was left.
//
// Areas are exact sums of the faces of one arrangement, so these hold with ==:
//
//	Skip + Covered + Unlogged = Field
//	Covered = the sum of ByDepth from 1 up
//	Overlap = the sum of ByDepth from 2 up
//	Swept = Covered + Excess + OverReachSwept
type Map struct {
	Field    Field
	Machines []Machine
	Passes   []Pass
	Swaths   []Swath
	Regions  []Region // by kind, then from the largest down
	Ground   Totals
	Headland Headland
	Skips    []SkipPatch    // from the largest down
	Overlaps []OverlapPatch // from the largest down
	Warnings []Warning
	// Thinned is how far the outline of a swath may lie from the path of the
	// bar's ends because poses were left out.
	Thinned plane.Length

	classes []Region // what can be across an edge: a region without a shape
}

// Totals sums a map's areas.
type Totals struct {
	Field          plane.Area   // the boundary's, holes taken out
	Covered        plane.Area   // inside, one visit or more
	Skip           plane.Area   // inside, none, and the log not silent
	Remainder      plane.Area   // the part of Skip that is simply not worked yet
	Overlap        plane.Area   // inside, two visits or more
	Excess         plane.Area   // inside, the sum of (depth - 1) × area
	OverReach      plane.Area   // outside, one visit or more
	OverReachSwept plane.Area   // outside, the sum of depth × area
	Unlogged       plane.Area   // inside, no visit and the log silent
	Swept          plane.Area   // of all swaths
	ByDepth        []plane.Area // inside, by visits, from 0
}

// The layers of a field's arrangement: first these, then one for each swath.
const (
	boundaryLayer = iota
	headlandLayer
	silenceLayer
	firstSwathLayer
)

// An overlay is what lies over a piece of ground.
type overlay struct {
	inside, headland, silent bool
	swaths                   []int // indices, rising
}

// overlayOf reads the layers over a piece of ground.
func overlayOf(under []int) overlay {
	var o overlay
	for len(under) > 0 && under[0] < firstSwathLayer {
		switch under[0] {
		case boundaryLayer:
			o.inside = true
		case headlandLayer:
			o.headland = true
		case silenceLayer:
			o.silent = true
		}
		under = under[1:]
	}
	o.swaths = make([]int, len(under))
	for i, l := range under {
		o.swaths[i] = l - firstSwathLayer
	}
	return o
}

// kind is the whole meaning of the arrangement:
//
//	inside  silent  swaths
//	no      any     0       not kept
//	no      any     1 +     OverReach
//	yes     any     1       Once
//	yes     any     2 +     Overlap
//	yes     yes     0       Unlogged
//	yes     no      0       Skip
func (o overlay) kind() (Kind, bool) {
	switch n := len(o.swaths); {
	case !o.inside:
		return OverReach, n > 0
	case n == 1:
		return Once, true
	case n > 1:
		return Overlap, true
	case o.silent:
		return Unlogged, true
	}
	return Skip, true
}

// Lay lays the swaths over the field and over one another.
func Lay(field Field, machines []Machine, ground Ground, opt Options) *Map {
	if len(field.Boundary) == 0 {
		field.Boundary, field.Worked = outerEdge(ground), true
	}
	m := &Map{Field: field, Machines: machines, Thinned: Thin}
	if field.Worked {
		m.Warnings = append(m.Warnings, Warning{Text: "no boundary: the outer edge of the worked ground stands in for it, so there is no stand-off and no over-reach to speak of"})
	}
	m.Headland.Width = opt.HeadlandWidth(machines)
	ways := m.cut(ground)
	if here, elsewhere := ground.here(m.Passes); elsewhere > 0 {
		m.Ground, m.Headland = Totals{}, Headland{Width: m.Headland.Width}
		ways = m.cut(here)
		m.Warnings = append(m.Warnings, Warning{Count: elsewhere, Text: "work elsewhere: a pass with no ground in the field is left out"})
	}
	for i := range m.Passes {
		p := &m.Passes[i]
		p.Headland = 2*p.inZone > p.Swept
	}
	var edge sync.WaitGroup
	edge.Go(func() { m.measureEdge(opt) }) // has nothing to do with the patches
	m.patches(ways)
	edge.Wait()
	return m
}

// zone returns the headland zone within the field.
func (m *Map) zone() []plane.Polygon {
	layers := make([]arrange.Layer, silenceLayer)
	for _, p := range m.Field.Boundary {
		for _, r := range p.Rings() {
			layers[boundaryLayer] = append(layers[boundaryLayer], r)
			layers[headlandLayer] = append(layers[headlandLayer], plane.Within(r, m.Headland.Width)...)
		}
	}
	var out []plane.Polygon
	for _, f := range arrange.Cut(layers, func(under []int) arrange.Label { return arrange.Label(len(under) / 2) }).Faces {
		out = append(out, f.Shape)
	}
	return out
}

// here returns the ground of the passes that have some in the field, and how
// many have none.
func (g Ground) here(passes []Pass) (Ground, int) {
	var out Ground
	at := make([]int, len(passes)) // where a pass went, or -1
	for i, p := range passes {
		at[i] = -1
		if p.New+p.Overlap > 0 {
			at[i] = len(out.Passes)
			out.Passes = append(out.Passes, g.Passes[i])
			out.Passes[at[i]].ID = at[i] + 1
		}
	}
	for _, s := range g.Swaths {
		if s.Pass = at[s.Pass]; s.Pass >= 0 {
			out.Swaths = append(out.Swaths, s)
		}
	}
	for _, s := range g.Silences {
		if s.Pass = at[s.Pass]; s.Pass >= 0 {
			out.Silences = append(out.Silences, s)
		}
	}
	return out, len(passes) - len(out.Passes)
}

// outerEdge returns the outer edge of all swaths together.
func outerEdge(ground Ground) []plane.Polygon {
	any := func([]int) arrange.Label { return 1 }
	var swept, shells arrange.Layer
	for _, s := range ground.Swaths {
		swept = append(swept, s.Rings...)
	}
	for _, f := range arrange.Cut([]arrange.Layer{swept}, any).Faces {
		shells = append(shells, f.Shape.Shell)
	}
	var out []plane.Polygon
	for _, f := range arrange.Cut([]arrange.Layer{shells}, any).Faces { // drops islands in holes
		out = append(out, f.Shape)
	}
	return out
}

// cut cuts the field along everything that lies over it. It makes the ways of
// the passes, and the headland zone, meanwhile.
func (m *Map) cut(ground Ground) []way {
	m.Passes, m.Swaths = slices.Clone(ground.Passes), ground.Swaths
	layers := make([]arrange.Layer, firstSwathLayer, firstSwathLayer+len(ground.Swaths))
	for _, p := range m.Field.Boundary {
		layers[boundaryLayer] = append(layers[boundaryLayer], p.Rings()...)
		for _, r := range p.Rings() {
			layers[headlandLayer] = append(layers[headlandLayer], plane.Within(r, m.Headland.Width)...)
		}
	}
	for _, s := range ground.Silences {
		layers[silenceLayer] = append(layers[silenceLayer], s.Rings...)
	}
	for _, s := range ground.Swaths {
		layers = append(layers, s.Rings)
	}

	// Ground of one kind under the same swaths is one region, wherever the
	// headland's edge runs through it; only skips are cut there.
	var regions []Region
	known := map[string]arrange.Label{}
	var key []byte
	label := func(under []int) arrange.Label {
		o := overlayOf(under)
		kind, kept := o.kind()
		if !kept {
			return arrange.None
		}
		headland := o.headland && kind == Skip
		key = append(key[:0], byte(kind), 0)
		if headland {
			key[1] = 1
		}
		for _, s := range o.swaths {
			key = append(key, byte(s), byte(s>>8), byte(s>>16), byte(s>>24))
		}
		if l, ok := known[string(key)]; ok {
			return l
		}
		regions = append(regions, Region{Kind: kind, Depth: len(o.swaths), Swaths: o.swaths, Headland: headland})
		known[string(key)] = arrange.Label(len(regions))
		return arrange.Label(len(regions))
	}
	var ways []way
	var meanwhile sync.WaitGroup
	meanwhile.Go(func() { ways, m.Headland.Zone = m.ways(), m.zone() })
	a := arrange.Cut(layers, label)
	meanwhile.Wait()

	for _, c := range a.Covers {
		m.count(overlayOf(c.Under), c.Area)
	}
	m.classes = regions
	m.Regions = m.regionsOf(a.Faces)
	return ways
}

// regionsOf makes regions of the faces, by kind and then from the largest down.
func (m *Map) regionsOf(faces []arrange.Face) []Region {
	type ranked struct {
		kind Kind
		area plane.Area
		face *arrange.Face
	}
	order := make([]ranked, len(faces))
	for i := range faces {
		f := &faces[i]
		order[i] = ranked{m.class(f.Label).Kind, f.Shape.Area(), f}
	}
	slices.SortFunc(order, func(a, b ranked) int {
		switch {
		case a.kind != b.kind:
			return cmp.Compare(a.kind, b.kind)
		case a.area != b.area: // nearly always
			return cmp.Compare(b.area, a.area)
		}
		return cmp.Or(slices.Compare(m.class(a.face.Label).Swaths, m.class(b.face.Label).Swaths),
			comparePoints(a.face.Shape.Shell[0], b.face.Shape.Shell[0]))
	})
	out := make([]Region, len(faces))
	for i, o := range order {
		r := &out[i]
		*r = *m.class(o.face.Label)
		r.Shape, r.Area, r.across = o.face.Shape, o.area, o.face.Across
	}
	return out
}

func comparePoints(p, q plane.Point) int { return cmp.Or(cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y)) }

// count adds the area of one combination of layers to the totals, to the
// headland and to the passes.
func (m *Map) count(o overlay, area plane.Area) {
	m.Ground.add(o, area)
	for _, s := range o.swaths {
		p := &m.Passes[m.Swaths[s].Pass]
		p.Swept += area
		if o.inside && o.headland {
			p.inZone += area
		}
	}
	if !o.inside {
		return
	}
	kind, _ := o.kind()
	if o.headland {
		h := &m.Headland
		h.Area += area
		switch kind {
		case Unlogged:
			h.Unlogged += area
		case Skip:
		default:
			h.Covered += area
		}
	}
	// Swaths are in the order of their passes, so the first came first. A
	// later visit of the same pass overlaps an earlier one of its own.
	for i, s := range o.swaths {
		p := &m.Passes[m.Swaths[s].Pass]
		if i == 0 {
			p.New += area
		} else {
			p.Overlap += area
		}
	}
}

// add adds the area of one combination of layers.
func (t *Totals) add(o overlay, area plane.Area) {
	n := len(o.swaths)
	t.Swept += plane.Area(n) * area
	if !o.inside {
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
	kind, _ := o.kind()
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
