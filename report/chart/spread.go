package chart

import (
	"strings"

	"lapwing/report/words"
)

// A Span is what is known of a value at a place of the level axis.
type Span struct{ X, Low, Middle, High float64 }

// Spreads draws each span as an upright from low to high with a dot in its middle.
func (c *Chart) Spreads(spans []Span) {
	var uprights, dots strings.Builder
	for _, s := range spans {
		x := fixed(c.atX(s.X))
		uprights.WriteString("M" + x + " " + fixed(c.atY(s.Low)) + "V" + fixed(c.atY(s.High)))
		dots.WriteString("M" + x + " " + fixed(c.atY(s.Middle)) + "h0")
	}
	c.Marks = append(c.Marks, Mark{"spread", uprights.String()}, Mark{"mean", dots.String()})
}

// Ribbon fills the ground between two lines over the same places.
func (c *Chart) Ribbon(class string, low, high []Point) {
	line := append([]Point{}, low...)
	for i := len(high) - 1; i >= 0; i-- {
		line = append(line, high[i])
	}
	c.Marks = append(c.Marks, Mark{class, c.path(line) + "z"})
}

// Foot writes what a value of the level axis is, below it.
func (c *Chart) Foot(value float64, text words.Text) {
	at, anchor := c.atX(value), "middle"
	const reach = 22 // of half a date; at an end the middle would push it off the drawing
	switch {
	case at < reach:
		anchor = "start"
	case at > c.Wide-reach:
		anchor = "end"
	}
	c.Names = append(c.Names, Label{X: fixed(at), Y: fixed(c.bottom + 16), Anchor: anchor, Text: text})
}
