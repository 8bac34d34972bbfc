package region

import (
	"cmp"
	"slices"
	"sync"

	"lapwing/coverage/field"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A Layout is the field cut along everything that lies over it: which ground was
// covered how often, and by which passes.
//
// Areas are exact sums of the faces of one arrangement, so these hold with ==:
//
//	Skip + Covered + Unlogged = Field
//	Covered = the sum of ByDepth from 1 up
//	Overlap = the sum of ByDepth from 2 up
//	Swept = Covered + Excess + OverReachSwept
type Layout struct {
	Field     field.Field
	Machines  []machine.Machine
	Passes    []work.Pass  // those with ground in the field, in the order they began
	Elsewhere int          // how many passes have none
	Ways      []locate.Way // of the passes
	PassAreas []PassAreas
	Swaths    []sweep.Swath
	Regions   []Region // by kind, then from the largest down
	Totals    Totals
	Headland  Headland
	Crossings Crossings

	classes []Region // what can be across an edge: a region without a shape
}

// PassAreas are what the swaths of one pass cover.
type PassAreas struct {
	Swept   plane.Area // inside the field and out
	New     plane.Area // inside, not covered by a visit that started earlier
	Overlap plane.Area // inside, covered by an earlier visit too
	InZone  plane.Area // of Swept, in the headland zone
	// Headland says that it is a headland pass: over half of what it swept lies in
	// the zone.
	Headland bool
}

// Lay lays the swaths over the field and over one another. Passes without any
// ground in the field are left out. For a field without a boundary the outer edge
// of the worked ground stands in. It fails with a [*CrossingsError].
func Lay(field field.Field, machines []machine.Machine, ground sweep.Ground, opt *field.Options) (*Layout, error) {
	budget, most := budgetOf(&field, ground, opt)
	l, err := lay(field, machines, ground, opt, budget)
	if err != nil { // the only error is a budget that is spent
		return nil, &CrossingsError{Field: field.Name, Machine: widest(machines), Most: most}
	}
	l.Crossings = Crossings{Found: budget.Spent(), Most: most}
	return l, nil
}

// lay is Lay within a budget.
func lay(field field.Field, machines []machine.Machine, ground sweep.Ground, opt *field.Options, budget *arrange.Budget) (*Layout, error) {
	if len(field.Boundary) == 0 {
		edge, err := outerEdge(ground, budget)
		if err != nil {
			return nil, err
		}
		field.Boundary, field.Worked = edge, true
	}
	here, err := within(ground, &field, budget)
	if err != nil {
		return nil, err
	}
	l := &Layout{Field: field, Machines: machines, Passes: here.Passes, Elsewhere: len(ground.Passes) - len(here.Passes),
		PassAreas: make([]PassAreas, len(here.Passes)), Swaths: here.Swaths}
	l.Headland.Width = opt.HeadlandWidth(machine.Widest(machines))
	if err := l.cut(here, budget); err != nil {
		return nil, err
	}
	for i := range l.PassAreas {
		g := &l.PassAreas[i]
		g.Headland = 2*g.InZone > g.Swept
	}
	return l, nil
}

// Class returns what lies across an edge, as a region without a shape.
func (l *Layout) Class(label arrange.Label) *Region { return &l.classes[label-1] }

// outlines returns the layers of the boundary and of all that is near it.
func (l *Layout) outlines() []arrange.Layer {
	layers := make([]arrange.Layer, SilenceLayer)
	for _, p := range l.Field.Boundary {
		for _, r := range p.Rings() {
			layers[BoundaryLayer] = append(layers[BoundaryLayer], r)
			layers[HeadlandLayer] = append(layers[HeadlandLayer], plane.Within(r, l.Headland.Width)...)
		}
	}
	return layers
}

// shapesOf returns the shapes of an arrangement's faces.
func shapesOf(a *arrange.Arrangement) (out []plane.Polygon) {
	for _, f := range a.Faces {
		out = append(out, f.Shape)
	}
	return out
}

// zoneOf returns the headland zone within the field, by the layers of [Layout.outlines].
func zoneOf(layers []arrange.Layer, budget *arrange.Budget) ([]plane.Polygon, error) {
	a, err := budget.Cut(layers, func(under []int) arrange.Label { return arrange.Label(len(under) / 2) })
	if err != nil {
		return nil, err
	}
	return shapesOf(a), nil
}

// outerEdge returns the outer edge of all swaths together.
func outerEdge(ground sweep.Ground, budget *arrange.Budget) ([]plane.Polygon, error) {
	any := func([]int) arrange.Label { return 1 }
	var swept, shells arrange.Layer
	for _, s := range ground.Swaths {
		swept = append(swept, s.Rings...)
	}
	a, err := budget.Cut([]arrange.Layer{swept}, any)
	if err != nil {
		return nil, err
	}
	for _, f := range a.Faces {
		shells = append(shells, f.Shape.Shell)
	}
	if a, err = budget.Cut([]arrange.Layer{shells}, any); err != nil { // drops islands in holes
		return nil, err
	}
	return shapesOf(a), nil
}

// cut cuts the field along everything that lies over it. It makes the ways of
// the passes, and the headland zone, meanwhile.
func (l *Layout) cut(ground sweep.Ground, budget *arrange.Budget) error {
	layers := make([]arrange.Layer, FirstSwathLayer, FirstSwathLayer+len(ground.Swaths))
	outlines := l.outlines()
	copy(layers, outlines)
	for _, s := range ground.Silences {
		layers[SilenceLayer] = append(layers[SilenceLayer], s.Rings...)
	}
	for _, s := range ground.Swaths {
		layers = append(layers, s.Rings)
	}

	var classes classes
	var zoneErr error
	var meanwhile sync.WaitGroup
	meanwhile.Go(func() {
		l.Ways = locate.Ways(l.Machines, l.Passes)
		l.Headland.Zone, zoneErr = zoneOf(outlines, budget)
	})
	a, err := budget.Cut(layers, classes.label)
	meanwhile.Wait()
	if err = cmp.Or(err, zoneErr); err != nil {
		return err
	}
	var o Overlay
	for _, c := range a.Covers {
		o.Read(c.Under)
		l.count(&o, c.Area)
	}
	l.classes = classes.list
	l.Regions = l.regionsOf(a.Faces)
	return nil
}

// regionsOf makes regions of the faces, by kind and then from the largest down; of
// two that are as large the one further west, or else south, comes first.
func (l *Layout) regionsOf(faces []arrange.Face) []Region {
	type ranked struct {
		kind Kind
		area plane.Area
		face *arrange.Face
	}
	order := make([]ranked, len(faces))
	for i := range faces {
		f := &faces[i]
		order[i] = ranked{l.Class(f.Label).Kind, f.Area, f}
	}
	slices.SortFunc(order, func(a, b ranked) int {
		switch {
		case a.kind != b.kind:
			return cmp.Compare(a.kind, b.kind)
		case a.area != b.area: // nearly always
			return cmp.Compare(b.area, a.area)
		}
		p, q := a.face.Shape.Shell, b.face.Shape.Shell
		return cmp.Or(comparePoints(p.Bounds().Min, q.Bounds().Min), comparePoints(p[0], q[0]),
			slices.Compare(l.Class(a.face.Label).Swaths, l.Class(b.face.Label).Swaths))
	})
	out := make([]Region, len(faces))
	for i, o := range order {
		r := &out[i]
		*r = *l.Class(o.face.Label)
		r.Shape, r.Area, r.Across = o.face.Shape, o.area, o.face.Across
	}
	return out
}

func comparePoints(p, q plane.Point) int { return cmp.Or(cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y)) }

// count adds the area of one combination of layers to the totals, to the
// headland and to the passes.
func (l *Layout) count(o *Overlay, area plane.Area) {
	l.Totals.Add(o, area)
	for _, s := range o.Swaths {
		p := &l.PassAreas[l.Swaths[s].Pass]
		p.Swept += area
		if o.Inside && o.Headland {
			p.InZone += area
		}
	}
	if !o.Inside {
		return
	}
	kind, _ := o.Kind()
	if o.Headland {
		h := &l.Headland
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
	for i, s := range o.Swaths {
		p := &l.PassAreas[l.Swaths[s].Pass]
		if i == 0 {
			p.New += area
		} else {
			p.Overlap += area
		}
	}
}

// Warnings are what the reader should know about how the ground was laid.
func (l *Layout) Warnings() (out []field.Warning) {
	if l.Field.Worked {
		out = append(out, field.Warning{Text: "no boundary: the outer edge of the worked ground stands in for it, so whether the work reached the edge, or went beyond it, is not known"})
	}
	if l.Elsewhere > 0 {
		out = append(out, field.Warning{Count: l.Elsewhere, Text: "work elsewhere: a pass with no ground in the field is left out"})
	}
	return out
}
