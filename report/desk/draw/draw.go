// Package draw draws fields, and the ways of machines on them, as shapes in metres that a
// page can place: a viewBox and path data of SVG.
package draw

import (
	"math"
	"strconv"
	"strings"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Drawing is shapes in metres, east to the right and north up: a viewBox and path
// data of SVG.
type Drawing struct {
	Box    [4]float64 `json:"box"`    // left, top, wide, high
	Centre [2]float64 `json:"centre"` // longitude and latitude of 0, 0: what is drawn on it lies on the Earth
	Shapes []Shape    `json:"shapes"`
}

// A Shape is one path of a drawing.
type Shape struct {
	Kind    string  `json:"kind"`              // boundary, or way: of the middle of a bar at work; in a comparison the kinds of ground
	Machine string  `json:"machine,omitempty"` // of a way
	Width   float64 `json:"width_m,omitempty"` // of the bar on a way, where it is known or guessed
	D       string  `json:"d"`
}

// A Pen draws on the plane of a frame.
type Pen struct {
	Frame geo.Frame
	box   plane.Box
	some  bool
	parts []part
}

// A part is a shape before it is known how fine it is to be drawn.
type part struct {
	Shape
	lines  [][]plane.Point
	closed bool
}

// Bounds of a drawing.
const (
	fineness  = 500 // its longer side, in the steps to which lines are thinned
	mostLines = 4000
)

func (p *Pen) reach(at plane.Point) {
	if !p.some {
		p.box, p.some = plane.Box{Min: at, Max: at}, true
	}
	p.box.Min = plane.Point{X: min(p.box.Min.X, at.X), Y: min(p.box.Min.Y, at.Y)}
	p.box.Max = plane.Point{X: max(p.box.Max.X, at.X), Y: max(p.box.Max.Y, at.Y)}
}

// line lays places on the plane; those farther than the plane reaches are left out.
func (p *Pen) line(places []geo.LonLat) (line []plane.Point) {
	for _, at := range places {
		if to, ok := p.Frame.ToPlane(at); ok {
			line = append(line, to)
		}
	}
	return line
}

// Ground adds polygons.
func (p *Pen) Ground(shape Shape, polygons []geo.Polygon) {
	one := part{Shape: shape, closed: true}
	for _, poly := range polygons {
		for _, ring := range append([][]geo.LonLat{poly.Shell}, poly.Holes...) {
			one.lines = append(one.lines, p.line(ring))
		}
	}
	p.add(one)
}

// Flat adds polygons of the plane.
func (p *Pen) Flat(shape Shape, polygons []plane.Polygon) {
	one := part{Shape: shape, closed: true}
	for i := range polygons {
		for _, ring := range polygons[i].Rings() {
			one.lines = append(one.lines, ring)
		}
	}
	p.add(one)
}

// Ways adds ways.
func (p *Pen) Ways(shape Shape, ways [][]geo.LonLat) {
	one := part{Shape: shape}
	for _, way := range ways {
		one.lines = append(one.lines, p.line(way))
	}
	p.add(one)
}

func (p *Pen) add(one part) {
	for _, line := range one.lines {
		for _, at := range line {
			p.reach(at)
		}
	}
	if len(one.lines) > mostLines {
		one.lines = one.lines[:mostLines]
	}
	p.parts = append(p.parts, one)
}

// Drawing is what was drawn, on a sheet with a margin; nil for nothing.
func (p *Pen) Drawing() *Drawing {
	if !p.some {
		return nil
	}
	size := p.box.Max.Sub(p.box.Min)
	longer := max(size.X, size.Y, plane.Metre)
	margin := longer.Metres() / 40
	at := p.Frame.Centre
	out := &Drawing{Centre: [2]float64{at.Lon, at.Lat}, Box: [4]float64{
		Tenth(p.box.Min.X.Metres() - margin), Tenth(-p.box.Max.Y.Metres() - margin),
		Tenth(size.X.Metres() + 2*margin), Tenth(size.Y.Metres() + 2*margin),
	}}
	thin := plane.DistanceOf(longer.Metres() / fineness)
	for _, one := range p.parts {
		var b strings.Builder
		for _, line := range one.lines {
			trace(&b, plane.Thinned(line, thin), one.closed)
		}
		if b.Len() > 0 {
			one.D = b.String()
			out.Shapes = append(out.Shapes, one.Shape)
		}
	}
	return out
}

// trace writes path data, to a tenth of a metre.
func trace(b *strings.Builder, line []plane.Point, closed bool) {
	if len(line) < 2 {
		return
	}
	for i, at := range line {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(figure(at.X.Metres()) + " " + figure(-at.Y.Metres()))
	}
	if closed {
		b.WriteByte('z')
	}
}

// Tenth rounds to a tenth.
func Tenth(v float64) float64 { return math.Round(v*10)/10 + 0 }
func figure(v float64) string { return strconv.FormatFloat(Tenth(v), 'f', -1, 64) }

// FrameAround is the plane in the middle of some places.
func FrameAround(x geo.Extent) (geo.Frame, bool) {
	if !(x.West <= x.East && x.South <= x.North) {
		return geo.Frame{}, false
	}
	return geo.NewFrame(geo.LonLat{Lon: (x.West + x.East) / 2, Lat: (x.South + x.North) / 2}), true
}
