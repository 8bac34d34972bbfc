package chart

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/edge"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
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

func (r drawing) both(write func(u quantity.Units) string) words.Text {
	return words.Both(r.Units, write)
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
func (r drawing) paper() (c canvas, wide, high plane.Length) {
	box := plane.Empty()
	for _, p := range r.Map.Field.Boundary {
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
func (r drawing) pins(c canvas) []Pin {
	const most = 25 // more would hide what they mark
	var marks []Pin
	l := r.Skips()
	for n, i := range l.Order[:l.Listed] {
		if len(marks) == most {
			break
		}
		x, y := c.XY(r.Map.Skips[i].At)
		marks = append(marks, Pin{n + 1, x, y})
	}
	return marks
}

func (r drawing) shapes(c canvas) []Shape {
	skips := r.Skips().ByRegion(func(i int) int { return r.Map.Skips[i].Region })
	overlaps := r.Overlaps().ByRegion(func(i int) int { return r.Map.Overlaps[i].Region })
	listedSkips, listedOverlaps := r.Skips().Listed, r.Overlaps().Listed
	causes := r.Causes()
	places := r.places()
	order := make([]int, len(r.Map.Regions))
	for i := range order {
		order[i] = i
	}
	rank := map[region.Kind]int{region.Once: 0, region.Unlogged: 1, region.OverReach: 2, region.Overlap: 3, region.Skip: 4}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(rank[r.Map.Regions[a].Kind], rank[r.Map.Regions[b].Kind])
	})
	out := make([]Shape, 0, len(order))
	specks := map[string]*speckle{}
	for _, i := range order {
		reg := &r.Map.Regions[i]
		tolerance := Tolerance
		if reg.Kind == region.Skip || reg.Kind == region.Overlap {
			tolerance = min(tolerance, max(sliverWidth, r.width(reg)/4))
		}
		line := Shape{Class: reg.Kind.String(), Path: c.polygon(reg.Shape, tolerance)}
		if line.Path == "" {
			continue
		}
		id := max(skips[i], overlaps[i])
		switch {
		case reg.Kind == region.Skip && causes[i] == string(cause.Unworked):
			line.Class = "unworked"
		case reg.Kind == region.Overlap && reg.Depth > 2:
			line.Class = "overlap deep"
		}
		if n := skips[i]; n > 0 && n <= listedSkips {
			line.Key = fmt.Sprintf("s%d", n)
		}
		if n := overlaps[i]; n > 0 && n <= listedOverlaps {
			line.Key = fmt.Sprintf("o%d", n)
		}
		if reg.Kind != region.Once && line.Key == "" && reg.Area < r.MinArea {
			if specks[line.Class] == nil {
				specks[line.Class] = &speckle{kind: reg.Kind, at: len(out)}
				out = append(out, line)
			}
			specks[line.Class].add(reg.Area, line.Path)
			continue
		}
		line.Text = r.both(func(u quantity.Units) string { return r.regionWords(u, reg, id, causes[i], places[i]) })
		out = append(out, line)
	}
	for _, s := range specks {
		out[s.at].Path = strings.Join(s.paths, "")
		out[s.at].Text = r.both(s.words)
	}
	return out
}

// A speckle is all regions of one class that are too small to list, drawn as
// one: a noisy log leaves thousands, and the words for each would make up most
// of the page.
type speckle struct {
	kind  region.Kind
	at    int // where it stands among the drawn regions
	paths []string
	area  plane.Area
}

func (s *speckle) add(area plane.Area, path string) {
	s.area += area
	s.paths = append(s.paths, path)
}

func (s *speckle) words(u quantity.Units) string {
	what := map[region.Kind]string{region.Skip: "skip", region.Overlap: "overlap",
		region.OverReach: "over-reach", region.Unlogged: "unlogged ground"}[s.kind]
	return fmt.Sprintf("%s of %s too small to list, %s in all.", words.Count(len(s.paths), "speck"), what, u.Area(s.area))
}

// width is about how wide a region is, in ticks: its area over half its edge.
func (r drawing) width(reg *region.Region) float64 {
	length := reg.Shape.Shell.Length()
	if length == 0 {
		return 0
	}
	return float64(reg.Area) / length // an Area is in half square ticks
}

// patchPlace is where the patch of a region is.
type patchPlace struct {
	at    plane.Point
	place cause.Place
}

func (r drawing) places() map[int]patchPlace {
	places := make(map[int]patchPlace, len(r.Map.Skips)+len(r.Map.Overlaps))
	for _, s := range r.Map.Skips {
		places[s.Region] = patchPlace{s.At, s.Place}
	}
	for _, o := range r.Map.Overlaps {
		places[o.Region] = patchPlace{o.At, o.Place}
	}
	return places
}

// regionWords is what is read out when a region is chosen.
func (r drawing) regionWords(u quantity.Units, reg *region.Region, id int, why string, at patchPlace) string {
	area := u.Area(reg.Area)
	passes := words.Passes(r.PassesOver(reg))
	switch reg.Kind {
	case region.Skip:
		if why == string(cause.Unworked) {
			return fmt.Sprintf("Not worked yet: %s.", area)
		}
		return fmt.Sprintf("Skip %d: %s, %s, %s.", id, area, words.Cause(why), r.Place(u, at.place, at.at))
	case region.Overlap:
		return fmt.Sprintf("Overlap %d: %s worked %d times, %s, by %s; %s.", id, area, reg.Depth, words.Cause(why), passes, r.Place(u, at.place, at.at))
	case region.OverReach:
		return fmt.Sprintf("Over-reach: %s outside the boundary, by %s.", area, passes)
	case region.Unlogged:
		return fmt.Sprintf("Unlogged: %s where the log is silent.", area)
	}
	return fmt.Sprintf("Covered once: %s, by %s.", area, passes)
}

func (r drawing) openings(c canvas) []Shape {
	e := r.Map.Headland.Edge
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
			Text: r.both(func(u quantity.Units) string {
				return fmt.Sprintf("Headland open: %s of the boundary, %s off at most.", u.Length(o.Length), u.Length(o.Max))
			}),
		})
	}
	return out
}

// between returns the places of the marks after from and before to.
func between(marks []edge.Mark, from, to float64) []plane.Point {
	var out []plane.Point
	for _, m := range marks {
		if m.Along > from && m.Along < to {
			out = append(out, m.At)
		}
	}
	return out
}

func (r drawing) legend() []LegendLine {
	g := r.Map.Ground
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
		return r.both(func(u quantity.Units) string { return u.Area(a) })
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
	if len(r.Map.Headland.Edge.Openings) > 0 && !r.Map.Field.Worked {
		lines = append(lines, LegendLine{Layer: "openings", Swatch: "opening", Name: "Headland open", Area: r.both(func(u quantity.Units) string { return u.Length(r.Map.Headland.Edge.Open) })})
	}
	if slices.ContainsFunc(r.Accounts, func(a agronomy.Account) bool { return len(a.Tanks) > 0 }) {
		lines = append(lines, LegendLine{Layer: "fill", Swatch: "fill", Name: "A tank filled (orange: likely dry from there)"})
	}
	if len(r.OffRates) > 0 {
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
func (r drawing) offRates(c canvas) []Shape {
	var rich, lean []byte
	for i := range r.OffRates {
		o := &r.OffRates[i]
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
func (r drawing) fillDots(c canvas) []Shape {
	var out, dry []Shape
	for i := range r.Accounts {
		a := &r.Accounts[i]
		for _, l := range a.Tanks {
			for _, f := range l.Fills {
				n := len(out) + 1
				x, y := c.XY(f.From.At)
				out = append(out, Shape{
					Key: fmt.Sprintf("f%d", n), Class: "fill", Path: fmt.Sprintf("M%d %dh0", x, y),
					Text: r.both(func(u quantity.Units) string {
						return fmt.Sprintf("Fill %d of %s on %s began here and went %s.", n, a.Product.Name, a.Map.Machines[l.Machine].Name, u.SquareMetres(f.Area))
					}),
				})
			}
			for _, d := range l.Dry {
				if l.DryBy == agronomy.ByRate {
					break // of all machines below, with a tank or without
				}
				x, y := c.XY(d.From.At)
				dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: r.both(func(u quantity.Units) string {
					return fmt.Sprintf("The tank of %s was likely empty from here: %s worked without.", a.Product.Name, u.SquareMetres(d.Area))
				})})
			}
		}
		if a.Logged == nil {
			continue
		}
		for _, d := range a.Logged.Dry {
			x, y := c.XY(d.From.At)
			dry = append(dry, Shape{Class: "fill dry", Path: fmt.Sprintf("M%d %dh0", x, y), Text: r.both(func(u quantity.Units) string {
				return fmt.Sprintf("Nothing of %s came from here on: %s worked without, by the log.", a.Product.Name, u.SquareMetres(d.Area))
			})})
		}
	}
	return append(out, dry...)
}
