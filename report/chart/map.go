package chart

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A Map is the drawing of the field. Its coordinates are whole centimetres
// east and south of the corner of the drawing. Shapes are simplified copies:
// nothing is measured on them.
type Map struct {
	ViewBox  string
	Unit     string // centimetres to a pixel when the whole field is 600 pixels wide: for the first look
	Label    string
	Boundary string
	Zone     string
	Openings []Shape
	Regions  []Shape // from the bottom up
	Passes   []PassLine
	Over     []Shape // drawn over all the rest: lines and places of a page's own
	Marks    []Pin
	Legend   []LegendLine

	canvas
}

type Shape struct {
	Key   string // "s1", "o1": the row in the lists; "" where there is none
	Class string
	Path  string
	Text  words.Text // read out when the region is chosen
}

type PassLine struct {
	ID   int
	Path string
	X, Y int64 // where its number stands
}

type Pin struct {
	Number int
	X, Y   int64
}

// A LegendLine is a swatch and a switch of one layer.
type LegendLine struct {
	Layer, Swatch, Name string
	Area                words.Text
	Off                 bool // not shown until it is asked for
}

const (
	mapUnit     = plane.Centimetre
	Tolerance   = 10 * float64(plane.Centimetre) // a shape's outline, on the drawing only
	sliverWidth = 2 * float64(plane.Centimetre)  // the same for patches thinner than that
)

// A drawing is an assessment to be drawn.
type drawing struct{ *assess.Assessment }

func (d drawing) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// A canvas turns points into the drawing's coordinates.
type canvas struct{ west, north plane.Length }

func (c canvas) XY(p plane.Point) (x, y int64) {
	return int64(plane.Round(float64(p.X-c.west) / float64(mapUnit))), int64(plane.Round(float64(c.north-p.Y) / float64(mapUnit)))
}

// NewMap draws a field as it was covered.
func NewMap(a *assess.Assessment) *Map {
	r := drawing{a}
	c, wide, high := r.paper()
	p := &Map{
		canvas:  c,
		ViewBox: fmt.Sprintf("0 0 %d %d", wide, high),
		Unit:    strconv.FormatFloat(float64(wide)/600, 'f', 1, 64),
		Label:   "Plat of " + r.FieldName() + ", north up",
		Regions: r.shapes(c),
		Legend:  r.legend(),
	}
	for _, poly := range r.Map.Field.Boundary {
		p.Boundary += c.polygon(poly, Tolerance/5)
	}
	for _, poly := range r.Map.Headland.Zone {
		p.Zone += c.polygon(poly, Tolerance)
	}
	if !r.Map.Field.Worked {
		p.Openings = r.openings(c)
	}
	for i := range r.Map.Passes {
		pass := &r.Map.Passes[i]
		if len(pass.Poses) == 0 {
			continue
		}
		x, y := c.XY(pass.Poses[0].Bar)
		p.Passes = append(p.Passes, PassLine{pass.ID, c.Line(assess.CentreLine(pass, Tolerance)), x, y})
	}
	p.Over = append(r.offRates(c), r.fillDots(c)...)
	p.Marks = r.pins(c)
	return p
}

// paper lays out the drawing around the field's boundary: its corner and its
// size in the drawing's units.
func (d drawing) paper() (c canvas, wide, high plane.Length) {
	box := plane.Empty()
	for _, p := range d.Map.Field.Boundary {
		for _, at := range p.Shell {
			box = box.Add(at)
		}
	}
	if box.Min.X > box.Max.X {
		box = plane.Box{}
	}
	size := box.Max.Sub(box.Min)
	margin := max(size.X, size.Y)/16 + 5*plane.Metre
	return canvas{box.Min.X - margin, box.Max.Y + margin}, (size.X + 2*margin) / mapUnit, (size.Y + 2*margin) / mapUnit
}

// pins number the largest skips on the drawing.
func (d drawing) pins(c canvas) []Pin {
	const most = 25 // more would hide what they mark
	var marks []Pin
	l := d.Skips()
	for n, i := range l.Order[:l.Listed] {
		if len(marks) == most {
			break
		}
		x, y := c.XY(d.Map.Skips[i].At)
		marks = append(marks, Pin{n + 1, x, y})
	}
	return marks
}

func (d drawing) shapes(c canvas) []Shape {
	skips := d.Skips().ByRegion(func(i int) int { return d.Map.Skips[i].Region })
	overlaps := d.Overlaps().ByRegion(func(i int) int { return d.Map.Overlaps[i].Region })
	listedSkips, listedOverlaps := d.Skips().Listed, d.Overlaps().Listed
	causes := d.Causes()
	places := d.places()
	order := make([]int, len(d.Map.Regions))
	for i := range order {
		order[i] = i
	}
	rank := map[coverage.Kind]int{coverage.Once: 0, coverage.Unlogged: 1, coverage.OverReach: 2, coverage.Overlap: 3, coverage.Skip: 4}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(rank[d.Map.Regions[a].Kind], rank[d.Map.Regions[b].Kind])
	})
	out := make([]Shape, 0, len(order))
	specks := map[string]*speckle{}
	for _, i := range order {
		reg := &d.Map.Regions[i]
		tolerance := Tolerance
		if reg.Kind == coverage.Skip || reg.Kind == coverage.Overlap {
			tolerance = min(tolerance, max(sliverWidth, d.width(reg)/4))
		}
		line := Shape{Class: reg.Kind.String(), Path: c.polygon(reg.Shape, tolerance)}
		if line.Path == "" {
			continue
		}
		id := max(skips[i], overlaps[i])
		switch {
		case reg.Kind == coverage.Skip && causes[i] == coverage.Unworked:
			line.Class = "unworked"
		case reg.Kind == coverage.Overlap && reg.Depth > 2:
			line.Class = "overlap deep"
		}
		if n := skips[i]; n > 0 && n <= listedSkips {
			line.Key = fmt.Sprintf("s%d", n)
		}
		if n := overlaps[i]; n > 0 && n <= listedOverlaps {
			line.Key = fmt.Sprintf("o%d", n)
		}
		if reg.Kind != coverage.Once && line.Key == "" && reg.Area < d.MinArea {
			if specks[line.Class] == nil {
				specks[line.Class] = &speckle{kind: reg.Kind, at: len(out)}
				out = append(out, line)
			}
			specks[line.Class].add(reg.Area, line.Path)
			continue
		}
		line.Text = d.both(func(u quantity.Units) string { return d.regionWords(u, reg, id, causes[i], places[i]) })
		out = append(out, line)
	}
	for _, s := range specks {
		out[s.at].Path = strings.Join(s.paths, "")
		out[s.at].Text = d.both(s.words)
	}
	return out
}

// A speckle is all regions of one class that are too small to list, drawn as
// one: a noisy log leaves thousands, and the words for each would make up most
// of the page.
type speckle struct {
	kind  coverage.Kind
	at    int // where it stands among the drawn regions
	paths []string
	area  plane.Area
}

func (s *speckle) add(area plane.Area, path string) {
	s.area += area
	s.paths = append(s.paths, path)
}

func (s *speckle) words(u quantity.Units) string {
	what := map[coverage.Kind]string{coverage.Skip: "skip", coverage.Overlap: "overlap",
		coverage.OverReach: "over-reach", coverage.Unlogged: "unlogged ground"}[s.kind]
	return fmt.Sprintf("%s of %s too small to list, %s in all.", words.Count(len(s.paths), "speck"), what, u.Area(s.area))
}

// width is about how wide a region is, in ticks: its area over half its edge.
func (d drawing) width(reg *coverage.Region) float64 {
	length := reg.Shape.Shell.Length()
	if length == 0 {
		return 0
	}
	return float64(reg.Area) / length // an Area is in half square ticks
}

// patchPlace is where the patch of a region is.
type patchPlace struct {
	at    plane.Point
	place coverage.Place
}

func (d drawing) places() map[int]patchPlace {
	places := make(map[int]patchPlace, len(d.Map.Skips)+len(d.Map.Overlaps))
	for _, s := range d.Map.Skips {
		places[s.Region] = patchPlace{s.At, s.Place}
	}
	for _, o := range d.Map.Overlaps {
		places[o.Region] = patchPlace{o.At, o.Place}
	}
	return places
}

// regionWords is what is read out when a region is chosen.
func (d drawing) regionWords(u quantity.Units, reg *coverage.Region, id int, cause coverage.Cause, at patchPlace) string {
	area := u.Area(reg.Area)
	passes := words.Passes(d.PassesOver(reg))
	switch reg.Kind {
	case coverage.Skip:
		if cause == coverage.Unworked {
			return fmt.Sprintf("Not worked yet: %s.", area)
		}
		return fmt.Sprintf("Skip %d: %s, %s, %s.", id, area, words.Cause(cause), d.Place(u, at.place, at.at))
	case coverage.Overlap:
		return fmt.Sprintf("Overlap %d: %s worked %d times, %s, by %s; %s.", id, area, reg.Depth, words.Cause(cause), passes, d.Place(u, at.place, at.at))
	case coverage.OverReach:
		return fmt.Sprintf("Over-reach: %s outside the boundary, by %s.", area, passes)
	case coverage.Unlogged:
		return fmt.Sprintf("Unlogged: %s where the log is silent.", area)
	}
	return fmt.Sprintf("Covered once: %s, by %s.", area, passes)
}

func (d drawing) openings(c canvas) []Shape {
	e := d.Map.Headland.Edge
	var out []Shape
	for _, o := range e.Openings {
		if o.Ring >= len(e.Profile) {
			continue
		}
		line := []plane.Point{o.Start}
		marks := e.Profile[o.Ring].Marks
		if o.To >= o.From {
			line = append(line, between(marks, o.From, o.To)...)
		} else { // it runs past the ring's start
			line = append(line, between(marks, o.From, e.Length)...)
			line = append(line, between(marks, -1, o.To)...)
		}
		line = append(line, o.End)
		out = append(out, Shape{
			Path: c.Line(plane.Thinned(line, Tolerance)),
			Text: d.both(func(u quantity.Units) string {
				return fmt.Sprintf("Headland open: %s of the boundary, %s off at most.", u.Length(o.Length), u.Length(o.Max))
			}),
		})
	}
	return out
}

// between returns the places of the marks after from and before to.
func between(marks []coverage.EdgeMark, from, to float64) []plane.Point {
	var out []plane.Point
	for _, m := range marks {
		if m.Along > from && m.Along < to {
			out = append(out, m.At)
		}
	}
	return out
}

func (d drawing) legend() []LegendLine {
	g := d.Map.Ground
	var deep plane.Area
	for depth, a := range g.ByDepth {
		if depth > 2 {
			deep += a
		}
	}
	area := func(a plane.Area) words.Text {
		if a == 0 {
			return words.Same("none")
		}
		return d.both(func(u quantity.Units) string { return u.Area(a) })
	}
	lines := []LegendLine{
		{Layer: "skip", Swatch: "skip", Name: "Skip", Area: area(g.Skip - g.Remainder)},
		{Layer: "unworked", Swatch: "unworked", Name: "Not worked yet", Area: area(g.Remainder)},
		{Layer: "overlap", Swatch: "overlap", Name: "Overlap, twice", Area: area(g.Overlap - deep)},
		{Layer: "deep", Swatch: "overlap deep", Name: "Overlap, 3 or more", Area: area(deep)},
		{Layer: "overreach", Swatch: "overreach", Name: "Over-reach", Area: area(g.OverReach)},
		{Layer: "unlogged", Swatch: "unlogged", Name: "Unlogged", Area: area(g.Unlogged)},
		{Layer: "zone", Swatch: "zone", Name: "Headland's inner edge"},
		{Layer: "passes", Swatch: "pass", Name: "Passes and their numbers"},
	}
	if len(d.Map.Headland.Edge.Openings) > 0 && !d.Map.Field.Worked {
		lines = append(lines, LegendLine{Layer: "openings", Swatch: "opening", Name: "Headland open", Area: d.both(func(u quantity.Units) string { return u.Length(d.Map.Headland.Edge.Open) })})
	}
	if slices.ContainsFunc(d.Accounts, func(a agronomy.Account) bool { return len(a.Tanks) > 0 }) {
		lines = append(lines, LegendLine{Layer: "fill", Swatch: "fill", Name: "A tank filled (orange: likely dry from there)"})
	}
	if len(d.OffRates) > 0 {
		lines = append(lines, LegendLine{Layer: "rich", Swatch: "rich", Name: "In turns, over 110 % of the rate", Off: true},
			LegendLine{Layer: "lean", Swatch: "lean", Name: "In turns, under 90 %", Off: true})
	}
	return lines
}

// polygon writes path data for a polygon, "" where nothing of it shows.
func (c canvas) polygon(p plane.Polygon, tolerance float64) string {
	var b []byte
	for _, ring := range p.Rings() {
		b = c.ring(b, ring, tolerance)
	}
	return string(b)
}

func (c canvas) ring(b []byte, ring plane.Ring, tolerance float64) []byte {
	if len(ring) < 3 {
		return b
	}
	b = c.steps(b, ring.Thinned(tolerance))
	return append(b, 'z')
}

func (c canvas) Line(line []plane.Point) string { return string(c.steps(nil, line)) }

// steps appends a move to the first point and relative steps to the others.
func (c canvas) steps(b []byte, line []plane.Point) []byte {
	if len(line) == 0 {
		return b
	}
	x, y := c.XY(line[0])
	b = appendPair(append(b, 'M'), x, y)
	letter := byte('l')
	for _, p := range line[1:] {
		px, py := c.XY(p)
		if px == x && py == y {
			continue
		}
		if letter != 0 || px >= x { // a minus separates by itself
			b = append(b, max(letter, ' '))
		}
		letter = 0
		b = appendPair(b, px-x, py-y)
		x, y = px, py
	}
	return b
}

func appendPair(b []byte, x, y int64) []byte {
	b = strconv.AppendInt(b, x, 10)
	if y >= 0 {
		b = append(b, ' ')
	}
	return strconv.AppendInt(b, y, 10)
}

// offRates are the shapes on the map of the ground that turns put off its
// rate: all that got too much, and all that got too little.
func (d drawing) offRates(c canvas) []Shape {
	var rich, lean []byte
	for i := range d.OffRates {
		o := &d.OffRates[i]
		for _, ring := range slices.Concat(o.Thick, o.Back) {
			rich = c.ring(rich, ring, Tolerance)
		}
		for _, ring := range o.Thin {
			lean = c.ring(lean, ring, Tolerance)
		}
	}
	var out []Shape
	if len(lean) > 0 {
		out = append(out, Shape{Class: "lean", Path: string(lean), Text: words.Same("Turns put under 90 % of the rate here.")})
	}
	if len(rich) > 0 {
		out = append(out, Shape{Class: "rich", Path: string(rich), Text: words.Same("Turns put over 110 % of the rate here, or a part of the bar ran backward.")})
	}
	return out
}

// fillDots are the places on the map where fills began, and where a tank
// likely ran dry.
func (d drawing) fillDots(c canvas) []Shape {
	var out, dry []Shape
	for i := range d.Accounts {
		a := &d.Accounts[i]
		for _, l := range a.Tanks {
			for _, f := range l.Fills {
				n := len(out) + 1
				x, y := c.XY(f.From.At)
				out = append(out, Shape{
					Key: fmt.Sprintf("f%d", n), Class: "fill", Path: fmt.Sprintf("M%d %dh0", x, y),
					Text: d.both(func(u quantity.Units) string {
						return fmt.Sprintf("Fill %d of %s on %s began here and went %s.", n, a.Product.Name, a.Map.Machines[l.Machine].Name, u.SquareMetres(f.Area))
					}),
				})
			}
			for _, stretch := range l.Dry {
				if l.DryBy == agronomy.ByRate {
					break // of all machines below, with a tank or without
				}
				x, y := c.XY(stretch.From.At)
				dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: d.both(func(u quantity.Units) string {
					return fmt.Sprintf("The tank of %s was likely empty from here: %s worked without.", a.Product.Name, u.SquareMetres(stretch.Area))
				})})
			}
		}
		if a.Logged == nil {
			continue
		}
		for _, stretch := range a.Logged.Dry {
			x, y := c.XY(stretch.From.At)
			dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: d.both(func(u quantity.Units) string {
				return fmt.Sprintf("Nothing of %s came from here on: %s worked without, by the log.", a.Product.Name, u.SquareMetres(stretch.Area))
			})})
		}
	}
	return append(out, dry...)
}
