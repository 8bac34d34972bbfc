package chart

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"lapwing/coverage/quantity"
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

// A Ticks is the ticks and titles of both axes in one system of units.
type Ticks struct{ Ticks, Titles []Tick }

type Tick struct{ D, X, Y, Anchor, Label string }

// An Axis is what is measured along one side of a chart, from Least to Most in
// a unit of the caller's choice.
type Axis struct {
	Name        string // such as "distance along the boundary"
	US, Metric  Scale
	Least, Most float64
	Ticks       int // about how many; 0 draws none
}

// A Scale is the unit that an axis is written in.
type Scale struct {
	Unit string  // "ft"; "" for a bare number
	One  float64 // how much one of it is, in the unit of the axis; 0 is 1
}

// LengthScales are the scales of an axis in ticks of the grid.
func LengthScales() (us, metric Scale) {
	return Scale{"ft", quantity.Foot * float64(plane.Metre)}, Scale{"m", float64(plane.Metre)}
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

// A Bar is one row of a bar chart.
type Bar struct {
	Name  words.Text
	Class string // "off", "skip", "overlap"
	Value float64
	Text  words.Text // the value for people
}

// NewBars lays out a chart with a bar for each row, the longest as long as the
// chart is wide.
func NewBars(title, says words.Text, x Axis, bars []Bar) *Chart {
	c := &Chart{Title: title, Says: says, Wide: 1000, x: x}
	c.left, c.right = 190, 860
	c.rows(bars)
	return c
}

// NewBarsForPhone is newBars for a phone held upright.
func NewBarsForPhone(title, says words.Text, x Axis, bars []Bar) *Chart {
	c := &Chart{Title: title, Says: says, Narrow: true, Wide: 360, x: x}
	c.left, c.right = 128, 262
	c.rows(bars)
	return c
}

func (c *Chart) rows(bars []Bar) {
	const row = 26.0
	c.top = 8
	c.bottom = c.top + row*float64(len(bars))
	c.High = c.bottom + 40
	c.y = Axis{Least: 0, Most: 1}
	c.layOut()
	for i, b := range bars {
		top := c.top + row*float64(i) + 4
		c.Marks = append(c.Marks, Mark{b.Class, box(c.atX(max(0, c.x.Least)), top, c.atX(b.Value), top+row-8)})
		middle := fixed(top + row/2)
		c.Names = append(c.Names, Label{X: fixed(c.left - 8), Y: middle, Anchor: "end", Text: b.Name},
			Label{X: fixed(c.atX(b.Value) + 8), Y: middle, Anchor: "start", Text: b.Text})
	}
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

// column fills a bar that stands on the zero of the upright axis.
func (c *Chart) column(class string, from, to, value float64) {
	c.Marks = append(c.Marks, Mark{class, box(c.atX(from), c.atY(value), c.atX(to), c.atY(0))})
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

// path thins a line on the drawing by a quarter of a unit, which nobody sees.
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

// scaled chooses round ticks.
func (c *Chart) scaled(x, y Scale) Ticks {
	var s Ticks
	x.One, y.One = cmp.Or(x.One, 1), cmp.Or(y.One, 1)
	if c.x.Ticks > 0 {
		ticks, places := roundTicks(c.x, x.One)
		for _, v := range ticks {
			at, label := c.atX(v*x.One), quantity.Number(v, places)
			// The middle of a figure at the right end would push it off the drawing.
			const digit = 8 // of the largest letters, 15 units high
			middle := min(at, c.Wide-2-digit*float64(len(label))/2)
			s.Ticks = append(s.Ticks, Tick{"M" + fixed(at) + " " + fixed(c.bottom) + "v4", fixed(middle), fixed(c.bottom + 16), "middle", label})
		}
	}
	if c.y.Ticks > 0 {
		ticks, places := roundTicks(c.y, y.One)
		for _, v := range ticks {
			at := c.atY(v * y.One)
			s.Ticks = append(s.Ticks, Tick{"M" + fixed(c.left-4) + " " + fixed(at) + "h4", fixed(c.left - 8), fixed(at + 4), "end", quantity.Number(v, places)})
		}
	}
	s.Titles = []Tick{
		{X: fixed(c.right), Y: fixed(c.bottom + 34), Anchor: "end", Label: withUnit(c.x.Name, x.Unit)},
		{X: fixed(c.left), Y: fixed(c.top - 5), Anchor: "start", Label: withUnit(c.y.Name, y.Unit)},
	}
	return s
}

func withUnit(name, unit string) string {
	if name == "" || unit == "" {
		return name
	}
	return name + ", " + unit
}

// roundTicks returns the ticks of an axis in a unit, and the decimals they
// need.
func roundTicks(a Axis, one float64) (ticks []float64, places int) {
	reach := max(a.Most, -a.Least) / one
	up := round(reach, a.Ticks)
	step := reach
	if len(up) > 1 {
		step = up[1]
	}
	for i := len(up) - 1; i > 0; i-- {
		if -up[i]*one >= a.Least*(1+1e-9) && a.Least < 0 {
			ticks = append(ticks, -up[i])
		}
	}
	for _, v := range up {
		if v*one <= a.Most*(1+1e-9) && v*one >= a.Least {
			ticks = append(ticks, v)
		}
	}
	return ticks, max(0, -int(math.Floor(math.Log10(step)+1e-9)))
}

// round returns the multiples of 1, 2 or 5 times a power of ten from 0 to
// most, n of them or fewer beside the 0.
func round(most float64, n int) []float64 {
	step := math.Pow(10, math.Floor(math.Log10(most/float64(n))))
	for _, k := range []float64{1, 2, 5, 10} {
		if most/(k*step) <= float64(n) {
			step *= k
			break
		}
	}
	var out []float64
	for i := 0; float64(i)*step <= most*(1+1e-9); i++ {
		out = append(out, float64(i)*step)
	}
	return out
}

func fixed(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

// AreaAxis is an axis of areas.
func AreaAxis(name string) Axis {
	return Axis{Name: name, US: Scale{"ac", quantity.Acre * float64(plane.SquareMetre)}, Metric: Scale{"ha", quantity.Hectare * float64(plane.SquareMetre)}, Ticks: 4}
}
