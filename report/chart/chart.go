package chart

import (
	"math"
	"strconv"
	"strings"

	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A Chart is drawn here and placed by the template "chart": areas, lines, bars
// and bands against two axes, with ticks in both systems of units and one
// sentence that says what it shows. Colours come from the classes of its
// marks, so that dark pages and paper can change them:
//
//	off     filled, in ink          skip, overlap   filled, in their colours
//	silent  a grey band             line            a line in ink
type Chart struct {
	Title, Says words.Text
	Narrow      bool // fits a phone held upright without scrolling
	Wide, High  float64
	Frame       string // the path of the axes
	Marks       []Mark
	Limits      []Label // dashed lines with what they stand for
	Names       []Label // of the bars
	US, Metric  Ticks

	left, right, top, bottom float64
	x, y                     Axis
}

// A Mark is a path of the drawing.
type Mark struct{ Class, D string }

// A Label is a text, and for a limit the line it belongs to.
type Label struct {
	D, X, Y, Anchor string
	Text            words.Text
}

// Ticks are the ticks and titles of both axes in one system of units.
type Ticks struct{ Ticks, Titles []Tick }

// A Tick is a tick with its label, or a title.
type Tick struct{ D, X, Y, Anchor, Label string }

// An Axis is what is measured along one side of a chart, from Least to Most in
// a unit of the caller's choice.
type Axis struct {
	Name        string // such as "distance along the boundary"
	US, Metric  Scale
	Least, Most float64
	Ticks       int // about how many; 0 draws none
}

// New lays out a chart of the usual size: 1000 by 190 units, the axes
// within a margin for the ticks.
func New(title, says words.Text, x, y Axis) *Chart {
	c := &Chart{Title: title, Says: says, Wide: 1000, High: 190, x: x, y: y}
	c.left, c.right, c.top, c.bottom = 56, 988, 14, 150
	c.layOut()
	return c
}

// NewForPhone lays out a chart that fits a phone held upright.
func NewForPhone(title, says words.Text, x, y Axis) *Chart {
	c := &Chart{Title: title, Says: says, Narrow: true, Wide: 360, High: 220, x: x, y: y}
	c.left, c.right, c.top, c.bottom = 46, 348, 16, 176
	c.layOut()
	return c
}

// NewForCab lays out a chart for a phone in the cab: low, so that two of them
// fit the screen, with figures large enough for the sun.
func NewForCab(title, says words.Text, x, y Axis) *Chart {
	c := &Chart{Title: title, Says: says, Narrow: true, Wide: 360, High: 150, x: x, y: y}
	c.left, c.right, c.top, c.bottom = 40, 348, 20, 108
	c.layOut()
	return c
}

func (c *Chart) layOut() {
	if !(c.x.Most > c.x.Least) {
		c.x.Most = c.x.Least + 1
	}
	if !(c.y.Most > c.y.Least) {
		c.y.Most = c.y.Least + 1
	}
	zero := c.atY(min(max(0, c.y.Least), c.y.Most))
	c.Frame = "M" + fixed(c.left) + " " + fixed(c.top) + "V" + fixed(c.bottom) + "M" + fixed(c.left) + " " + fixed(zero) + "H" + fixed(c.right)
	c.US, c.Metric = c.scaled(c.x.US, c.y.US), c.scaled(c.x.Metric, c.y.Metric)
}

// atX and atY return where a value stands on the drawing; what is off an axis
// stands at its end.
func (c *Chart) atX(v float64) float64 {
	v = min(max(v, c.x.Least), c.x.Most)
	return c.left + (c.right-c.left)*(v-c.x.Least)/(c.x.Most-c.x.Least)
}

func (c *Chart) atY(v float64) float64 {
	v = min(max(v, c.y.Least), c.y.Most)
	return c.bottom - (c.bottom-c.top)*(v-c.y.Least)/(c.y.Most-c.y.Least)
}

// A Point is a place on a chart in the units of its axes.
type Point struct{ X, Y float64 }

// Area fills the ground between a line and the zero of the upright axis.
func (c *Chart) Area(class string, line []Point) {
	if len(line) == 0 {
		return
	}
	closed := append([]Point{{line[0].X, 0}}, line...)
	closed = append(closed, Point{line[len(line)-1].X, 0})
	c.Marks = append(c.Marks, Mark{class, c.path(closed) + "z"})
}

// Line draws a line.
func (c *Chart) Line(class string, line []Point) {
	c.Marks = append(c.Marks, Mark{class, c.path(line)})
}

// Band marks a stretch of the level axis over the whole height.
func (c *Chart) Band(class string, from, to float64) {
	c.Marks = append(c.Marks, Mark{class, box(c.atX(from), c.top, c.atX(to), c.bottom)})
}

// Limit draws a dashed line across at a value, and says what it stands for.
func (c *Chart) Limit(value float64, text words.Text) {
	c.Limits = append(c.Limits, Label{
		D: "M" + fixed(c.left) + " " + fixed(c.atY(value)) + "H" + fixed(c.right),
		X: fixed(c.right), Y: fixed(c.top - 5), Text: text,
	})
}

// Upright draws a dashed line up at a value of the level axis, with what it
// stands for beside it: before it where anchor is "end", else after it.
func (c *Chart) Upright(value float64, text words.Text, anchor string, down float64) {
	c.Line("limit", []Point{{value, 0}, {value, c.y.Most}})
	aside := 4.0
	if anchor == "end" {
		aside = -4
	}
	c.Names = append(c.Names, Label{X: fixed(c.atX(value) + aside), Y: fixed(c.top + down), Anchor: anchor, Text: text})
}

// Mark writes the label of a place at a value of the level axis, at the foot.
func (c *Chart) Mark(value float64, label string) {
	c.Names = append(c.Names, Label{X: fixed(c.atX(value)), Y: fixed(c.bottom - 4), Anchor: "middle", Text: words.Same(label)})
}

// path thins a line on the drawing by a quarter of a unit, less than a
// pixel.
func (c *Chart) path(line []Point) string {
	hundredths := make([]plane.Point, len(line)) // so that the thinning of lines serves here too
	for i, p := range line {
		hundredths[i] = plane.Point{X: plane.Round(100 * c.atX(p.X)), Y: plane.Round(100 * c.atY(p.Y))}
	}
	var b strings.Builder
	for i, p := range plane.Thinned(hundredths, 25) {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(fixed(float64(p.X)/100) + " " + fixed(float64(p.Y)/100))
	}
	return b.String()
}

func box(x0, y0, x1, y1 float64) string {
	return "M" + fixed(x0) + " " + fixed(y0) + "H" + fixed(x1) + "V" + fixed(y1) + "H" + fixed(x0) + "z"
}

func fixed(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }
