package cover

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo"
)

// What tells the shape of polygons, in figures: judgement. No test holds them closely.
const (
	mostUneven = 0.25 // by how much of its width a polygon may be wider here than there
	leastArea  = 0.5  // m²: a smaller polygon is a remainder of some computation
)

// LongestWay is how long may lie between two places of a bar, in seconds, for the way
// between them to be a direction. Judgement; no test holds it closely.
const LongestWay = 5.0

// A cell is one polygon as a part of the bar on its way.
type cell struct {
	polygon     int
	left, right []vec // of its stations, from the trailing edge to the leading one
	before      int   // the cell that it follows, or -1
	after       int   // the one that follows it, or -1
	step        int
}

func (c *cell) trail() vec { return between(c.left[0], c.right[0], 0.5) }
func (c *cell) lead() vec  { n := len(c.left) - 1; return between(c.left[n], c.right[n], 0.5) }

// shape finds the stations of each polygon.
func (c *composer) shape() {
	order := make([]int, len(c.rings))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.fixes[a].Time, c.fixes[b].Time) })
	ways := c.ways(order)
	first, forward := c.alike(order, ways)
	for _, i := range order {
		outline := c.outline(i)
		if area := areaOf(outline); area < leastArea {
			c.tiny++
			c.small += area
			continue
		}
		half := max(1, len(outline)/2)
		a, b := stations(outline, (first+half)%half)
		switch {
		case uneven(a, b) > mostUneven:
			if a, b = strip(outline, ways[i]); a == nil {
				continue
			}
			c.odd++
		case !forward:
			slices.Reverse(a)
			slices.Reverse(b)
		}
		if way(a, b).cross(b[0].sub(a[0])) > 0 {
			a, b = b, a // b is right of the way
		}
		c.cells = append(c.cells, cell{polygon: i, left: a, right: b, before: -1, after: -1, step: -1})
	}
}

// outline is a polygon on the plane.
func (c *composer) outline(polygon int) []vec {
	out := make([]vec, len(c.rings[polygon]))
	for i, p := range c.rings[polygon] {
		out[i].x, out[i].y = c.frame.Metres(p)
	}
	return out
}

// stations are the pairs of corners of an outline whose trailing edge begins at
// corner first: left and right as they come; nil for one of an odd number.
func stations(outline []vec, first int) (a, b []vec) {
	n := len(outline) / 2
	if len(outline)%2 != 0 {
		return nil, nil
	}
	for k := range n {
		a = append(a, outline[(first+1+k)%len(outline)])
		b = append(b, outline[(first-k+len(outline))%len(outline)])
	}
	return a, b
}

// uneven is how much the widths of stations differ, as a share of their mean.
func uneven(a, b []vec) float64 {
	least, most, sum := math.Inf(1), 0.0, 0.0
	for i := range a {
		w := b[i].sub(a[i]).length()
		least, most, sum = min(least, w), max(most, w), sum+w
	}
	if len(a) < 2 || sum == 0 {
		return math.Inf(1)
	}
	return (most - least) / (sum / float64(len(a)))
}

// way is that from the first station to the last, in the middle.
func way(a, b []vec) vec {
	n := len(a) - 1
	return between(a[n], b[n], 0.5).sub(between(a[0], b[0], 0.5))
}

// alike finds at which corner the trailing edge begins, counted from the end where
// that is below zero, and whether the stations after it lead forward. A program
// writes all its polygons alike, so that those of six corners and more, of which but
// one edge can trail, tell which edge it is of four. If there are none, the way that
// the work went does.
func (c *composer) alike(order []int, ways []vec) (first int, forward bool) {
	type vote struct {
		first   int
		forward bool
	}
	for _, least := range []int{6, 4} {
		votes, best := map[vote]int{}, vote{0, true}
		for _, i := range order {
			outline := c.outline(i)
			if n := len(outline); n%2 == 1 || n < least || ways[i] == (vec{}) {
				continue
			}
			worst, at := 2*mostUneven, -1
			for k := range len(outline) / 2 {
				a, b := stations(outline, k)
				bar := b[0].sub(a[0])
				if u := uneven(a, b) + math.Abs(bar.dot(ways[i]))/bar.length(); u < worst {
					worst, at = u, k
				}
			}
			if at < 0 {
				continue
			}
			a, b := stations(outline, at)
			v := vote{at, way(a, b).dot(ways[i]) > 0}
			if half := len(outline) / 2; 2*at >= half {
				v.first -= half // the same for any number of corners
			}
			if votes[v]++; votes[v] > votes[best] {
				best = v
			}
		}
		if len(votes) > 0 {
			return best.first, best.forward
		}
	}
	return 0, true
}

// ways are the directions in which the work went at each polygon: from the
// polygons of the time before to those of the time after. Zero where that is not
// known.
func (c *composer) ways(order []int) []vec {
	type moment struct {
		at     geo.Instant
		middle vec
		from   int // in order
	}
	var moments []moment
	for k := 0; k < len(order); {
		m := moment{at: c.fixes[order[k]].Time, from: k}
		for ; k < len(order) && c.fixes[order[k]].Time == m.at; k++ {
			m.middle = m.middle.add(centroid(c.outline(order[k])))
		}
		m.middle = m.middle.times(1 / float64(k-m.from))
		moments = append(moments, m)
	}
	out := make([]vec, len(c.rings))
	for i, m := range moments {
		a, b := moments[max(0, i-1)], moments[min(i+1, len(moments)-1)]
		way := b.middle.sub(a.middle)
		if d := way.length(); d > 0 && b.at.Sub(a.at).Seconds() < 2*LongestWay {
			way = way.times(1 / d)
		} else {
			way = vec{}
		}
		end := len(order)
		if i+1 < len(moments) {
			end = moments[i+1].from
		}
		for _, k := range order[m.from:end] {
			out[k] = way
		}
	}
	return out
}

// strip is a polygon of any outline as a strip along the way of the work, as long
// as it and of its area. It is nil where the way is not known.
func strip(outline []vec, way vec) (a, b []vec) {
	if way == (vec{}) || len(outline) < 3 {
		return nil, nil
	}
	area, middle := areaOf(outline), centroid(outline)
	from, to := math.Inf(1), math.Inf(-1)
	for _, p := range outline {
		from, to = min(from, p.dot(way)), max(to, p.dot(way))
	}
	if to <= from {
		return nil, nil
	}
	half := vec{way.y, -way.x}.times(area / (to - from) / 2) // to the right
	base := middle.sub(way.times(middle.dot(way)))
	start, end := base.add(way.times(from)), base.add(way.times(to))
	return []vec{start.sub(half), end.sub(half)}, []vec{start.add(half), end.add(half)}
}
