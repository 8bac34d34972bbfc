package cover

import (
	"math"
	"slices"
)

// fullWidth is how much of the bar's width is the whole bar. Judgement; no test holds
// it closely.
const fullWidth = 0.98

// place finds where the bar's middle was beside the cells of each step: of a step
// as wide as the bar, in their middle; of others, where it was in the step before
// or after.
func (c *composer) place() {
	c.wide = c.width()
	full := fullWidth * c.wide
	for k := range c.steps {
		c.steps[k].middle = math.NaN()
		if c.steps[k].width >= full {
			c.steps[k].middle = 0
		}
	}
	carry := func(k, to int, linked func(i int) int) {
		if k < 0 || to < 0 || math.IsNaN(c.steps[k].middle) || !math.IsNaN(c.steps[to].middle) {
			return
		}
		shift, n := 0.0, 0.0
		for _, i := range c.steps[k].cells {
			if j := linked(i); j >= 0 && c.cells[j].step == to {
				shift += c.offset(k, i) - c.offset(to, j)
				n++
			}
		}
		if n > 0 {
			c.steps[to].middle = c.steps[k].middle + shift/n
		}
	}
	forward := func(i int) int { return c.cells[i].after }
	backward := func(i int) int { return c.cells[i].before }
	for head := range c.steps {
		if c.steps[head].before >= 0 {
			continue
		}
		last := head
		for k := head; k >= 0; k = c.steps[k].after {
			carry(k, c.steps[k].after, forward)
			last = k
		}
		for k := last; k >= 0; k = c.steps[k].before {
			carry(k, c.steps[k].before, backward)
		}
		for k := head; k >= 0; k = c.steps[k].after { // never as wide as the bar: these cells are all that is known
			if math.IsNaN(c.steps[k].middle) {
				c.steps[k].middle = 0
			}
			carry(k, c.steps[k].after, forward)
		}
	}
}

// offset is how far right of the middle of a step's cells one of them is, at its
// trailing edge.
func (c *composer) offset(step, i int) float64 {
	s := &c.steps[step]
	return c.cells[i].trail().sub(between(c.left(s, 0), c.right(s, 0), 0.5)).dot(c.across(s))
}

// width is that of the bar: as wide as the steps are on most of the way on which
// they are at their widest.
func (c *composer) width() float64 {
	widths := make([]float64, len(c.steps))
	for k := range c.steps {
		widths[k] = c.steps[k].width
	}
	slices.Sort(widths)
	// So many of the steps are narrower, so that a turn's or a wrong one's does not count:
	// TestSections fails where it is halved.
	const widest = 0.95
	return widths[int(widest*float64(len(widths)-1))]
}
