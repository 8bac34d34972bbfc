package chart

import "lapwing/report/words"

// A Bar is one row of a bar chart.
type Bar struct {
	Name  words.Text
	Class string // "off", "skip", "overlap"
	Value float64
	Text  words.Text // the value for people
}

// NewBarsForPhone lays out a chart with a bar for each row, the longest as long as
// the chart is wide. It fits a phone held upright.
func NewBarsForPhone(title, says words.Text, x Axis, bars []Bar) *Chart {
	c := &Chart{Title: title, Says: says, Narrow: true, Wide: 360, x: x}
	c.left, c.right = 142, 268 // room for "outside the boundary"
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
