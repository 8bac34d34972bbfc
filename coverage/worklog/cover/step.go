package cover

import (
	"cmp"
	"math"
	"slices"
)

// sameLength is how much of its length two sections that open and shut at once may
// differ. Judgement; no test holds it closely.
const sameLength = 0.1

// A barStep is the cells that are side by side: what the bar did in one moment.
type barStep struct {
	cells         []int   // from left to right
	before, after int     // steps, or -1
	middle        float64 // of its cells, m right of the bar's middle
	width         float64 // m, from the left end of its cells to the right end
}

// sideBySide puts together the cells of each step, and links the steps as their cells
// are linked.
func (c *composer) sideBySide() {
	of := newGroups(len(c.cells))
	c.touching(of)
	c.throughNeighbours(of)
	c.number(of)
	for k := range c.steps {
		c.order(&c.steps[k])
	}
	c.follow()
	c.uncycle()
}

// A groups says of each cell with which it is in one step: a forest, of which each
// tree is a step.
type groups []int

func newGroups(n int) groups {
	g := make(groups, n)
	for i := range g {
		g[i] = i
	}
	return g
}

// root is the cell that stands for the step of cell i.
func (g groups) root(i int) int {
	for g[i] != i {
		g[i] = g[g[i]]
		i = g[i]
	}
	return i
}

// join puts the steps of two cells together.
func (g groups) join(i, k int) { g[g.root(i)] = g.root(k) }

// touching joins cells of one time that share a corner of their trailing edges, and
// nearly one of their leading edges.
func (c *composer) touching(of groups) {
	rights := map[corner][]int{}
	for i := range c.cells {
		at := cornerAt(c.cells[i].right[0])
		rights[at] = append(rights[at], i)
	}
	for i := range c.cells {
		p := &c.cells[i]
		for _, k := range rights[cornerAt(p.left[0])] {
			q := &c.cells[k]
			if n, m := len(p.left)-1, len(q.left)-1; k != i && c.fixes[p.polygon].Time == c.fixes[q.polygon].Time && p.left[n].sub(q.right[m]).length() < seam {
				of.join(i, k)
			}
		}
	}
}

// throughNeighbours joins cells that follow cells of one step or are followed by
// such: sections on both sides of one that is shut hang together through the steps
// before and after, where it was open.
func (c *composer) throughNeighbours(of groups) {
	before := func(i int) int { return c.cells[i].before }
	after := func(i int) int { return c.cells[i].after }
	for _, neighbour := range []func(i int) int{before, after} {
		for range 3 { // further than its neighbours a step is seldom told
			first := map[int]int{} // by the root of the neighbour: a cell beside it
			for i := range c.cells {
				k := neighbour(i)
				if k < 0 {
					continue
				}
				if j, known := first[of.root(k)]; known && c.together(i, j) {
					of.join(i, j)
				} else if !known {
					first[of.root(k)] = i
				}
			}
		}
	}
}

// together reports whether two cells may be of one step though they do not touch. A
// section that shut before the others is a step of its own: the bar's line where the
// step ends would be none.
func (c *composer) together(i, k int) bool {
	p, q := &c.cells[i], &c.cells[k]
	a, b := p.lead().sub(p.trail()).length(), q.lead().sub(q.trail()).length()
	return c.fixes[p.polygon].Time == c.fixes[q.polygon].Time && len(p.left) == len(q.left) && (len(p.left) > 2 || math.Abs(a-b) < sameLength*max(a, b))
}

// number makes the steps, in the order of their first cells.
func (c *composer) number(of groups) {
	number := map[int]int{}
	for i := range c.cells {
		r := of.root(i)
		k, known := number[r]
		if !known {
			k = len(c.steps)
			number[r] = k
			c.steps = append(c.steps, barStep{before: -1, after: -1})
		}
		c.cells[i].step = k
		c.steps[k].cells = append(c.steps[k].cells, i)
	}
}

// order puts the cells of a step in order from left to right, and measures it.
func (c *composer) order(s *barStep) {
	along := c.across(s)
	slices.SortFunc(s.cells, func(a, b int) int {
		return cmp.Compare(c.cells[a].trail().dot(along), c.cells[b].trail().dot(along))
	})
	s.width = c.right(s, 0).sub(c.left(s, 0)).dot(along)
}

// follow links each step to the one that most of its cells are followed by.
func (c *composer) follow() {
	for k := range c.steps {
		votes, best, most := map[int]int{}, -1, 0
		for _, i := range c.steps[k].cells {
			if after := c.cells[i].after; after >= 0 {
				to := c.cells[after].step
				if votes[to]++; votes[to] > most && to != k {
					best, most = to, votes[to]
				}
			}
		}
		if best >= 0 && c.steps[best].before < 0 {
			c.steps[k].after, c.steps[best].before = best, k
		}
	}
}

// uncycle cuts steps of one time that follow each other in a circle, at the first.
func (c *composer) uncycle() {
	seen := make([]bool, len(c.steps))
	walk := func(k int) {
		for ; k >= 0 && !seen[k]; k = c.steps[k].after {
			seen[k] = true
		}
	}
	for k := range c.steps {
		if c.steps[k].before < 0 {
			walk(k)
		}
	}
	for k := range c.steps {
		if !seen[k] {
			c.steps[c.steps[k].before].after, c.steps[k].before = -1, -1
			walk(k)
		}
	}
}

// across is the direction of the bar in a step, from left to right.
func (c *composer) across(s *barStep) vec {
	var sum vec
	for _, i := range s.cells {
		n := len(c.cells[i].left) - 1
		for _, at := range []int{0, n} {
			sum = sum.add(c.cells[i].right[at].sub(c.cells[i].left[at]))
		}
	}
	if d := sum.length(); d > 0 {
		return sum.times(1 / d)
	}
	return vec{1, 0}
}

// left is the left end of the cells of a step at a share of its way.
func (c *composer) left(s *barStep, t float64) vec { return onSide(c.cells[s.cells[0]].left, t) }

// right is the right end.
func (c *composer) right(s *barStep, t float64) vec {
	return onSide(c.cells[s.cells[len(s.cells)-1]].right, t)
}

// onSide is the place on one side of a cell at a share of its stations.
func onSide(side []vec, t float64) vec {
	at := t * float64(len(side)-1)
	k := min(int(at), len(side)-2)
	return between(side[k], side[k+1], at-float64(k))
}

// length is how far the bar went in a step.
func (c *composer) length(k int) float64 {
	s := &c.steps[k]
	return between(c.left(s, 1), c.right(s, 1), 0.5).sub(between(c.left(s, 0), c.right(s, 0), 0.5)).length()
}
