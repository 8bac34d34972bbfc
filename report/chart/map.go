package chart

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage/assess"
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
	Arrows   []Arrow
	Marks    []Pin
	Legend   []LegendLine

	canvas
}

// A Shape is a piece of ground or a line on a map.
type Shape struct {
	Key   string // "s1", "o1": the row in the lists; "" where there is none
	Class string
	Path  string
	Text  words.Text // read out when the region is chosen
}

// A PassLine is the way of a pass, and where its number stands.
type PassLine struct {
	ID   int
	Path string
	X, Y int64 // where its number stands
}

// A Pin is a label on a map: the number of what is marked.
type Pin struct {
	Label string
	Key   string // of the shape that is marked; "" where a tap chooses none
	X, Y  int64
}

// An Arrow shows which way a line is driven.
type Arrow struct {
	X, Y int64
	Turn int // degrees clockwise from east, as the drawing has it
}

// ArrowsAlong puts an arrow on the middle of each straight of a line that is long enough
// to show one.
func (m *Map) ArrowsAlong(line []plane.Point) (out []Arrow) {
	const least = 20 * plane.Metre
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		if a.Distance(b) < plane.Distance(least) {
			continue
		}
		x, y := m.XY(plane.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2})
		turn := math.Atan2(float64(a.Y-b.Y), float64(b.X-a.X)) * 180 / math.Pi
		out = append(out, Arrow{x, y, int(math.Round(turn))})
	}
	return out
}

// OpeningKey is the key of an opening's line, by its index in Edge.Openings;
// OpeningLabel is what it is called on the map and in lists.
func OpeningKey(i int) string   { return fmt.Sprintf("e%d", i+1) }
func OpeningLabel(i int) string { return fmt.Sprintf("E%d", i+1) }

// SkipKey is the key of a skip by its number.
func SkipKey(number int) string { return fmt.Sprintf("s%d", number) }

const (
	mapUnit     = plane.Centimetre
	Tolerance   = plane.Distance(10 * plane.Centimetre) // a shape's outline, on the drawing only
	sliverWidth = plane.Distance(2 * plane.Centimetre)  // the same for patches thinner than that
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

// NewMap draws a field as it was covered; of its ground only some kinds, where any
// are named.
func NewMap(a *assess.Assessment, kinds ...region.Kind) *Map {
	r := drawing{a}
	c, wide, high := r.paper()
	p := &Map{
		canvas:  c,
		ViewBox: fmt.Sprintf("0 0 %d %d", wide, high),
		Unit:    strconv.FormatFloat(float64(wide)/600, 'f', 1, 64),
		Label:   "Map of " + words.Name(r.FieldName()) + ", north up",
		Regions: r.shapes(c, kinds),
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
	p.Marks = r.pins(c, wide)
	return p
}

// paper lays out the drawing around the field's boundary: its corner and its
// size in the drawing's units.
func (d drawing) paper() (c canvas, wide, high plane.Length) {
	box := plane.Bounds(d.Map.Field.Boundary)
	if box.Min.X > box.Max.X {
		box = plane.Box{}
	}
	size := box.Max.Sub(box.Min)
	margin := max(size.X, size.Y)/16 + 5*plane.Metre
	return canvas{box.Min.X - margin, box.Max.Y + margin}, (size.X + 2*margin) / mapUnit, (size.Y + 2*margin) / mapUnit
}

// pins number the largest skips on the drawing, as far as the numbers do not pile up.
func (d drawing) pins(c canvas, wide plane.Length) []Pin {
	const most = 25    // more would hide what they mark
	const apart = 0.03 // of the drawing's width: nearer, one number would lie on the other
	var marks []Pin
	for number, i := range d.Skips().Each() {
		if len(marks) == most {
			break
		}
		x, y := c.XY(d.Map.Skips[i].At)
		if slices.ContainsFunc(marks, func(p Pin) bool { return math.Hypot(float64(p.X-x), float64(p.Y-y)) < apart*float64(wide) }) {
			continue
		}
		marks = append(marks, Pin{fmt.Sprint(number), SkipKey(number), x, y})
	}
	return marks
}

// polygon writes path data for a polygon, "" where no part of it shows.
func (c canvas) polygon(p plane.Polygon, tolerance plane.Distance) string {
	var b []byte
	for _, ring := range p.Rings() {
		b = c.ring(b, ring, tolerance)
	}
	return string(b)
}

func (c canvas) ring(b []byte, ring plane.Ring, tolerance plane.Distance) []byte {
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
