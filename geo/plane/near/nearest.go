package near

import "iter"

// A Nearest is the place of an edge that is nearest to another place.
type Nearest struct {
	Edge *Edge // of the index; nil for none
	X, Y float64
	D2   float64 // the square of the distance, in square ticks
}

// Nearest returns the edge nearest to x, y, if the square of its distance is
// below d2 (+Inf: any edge). Where there is none, Edge is nil and D2 is d2.
// Which of several equally near edges it is depends on how they lie, not on
// the order they were given in.
func (n *Index) Nearest(x, y, d2 float64) Nearest {
	m := Nearest{D2: d2}
	if top := len(n.levels) - 1; top >= 0 {
		n.look(x, y, top, n.levels[top], 0, &m)
	} else {
		m.look(x, y, n.edges)
	}
	return m
}

// Around yields every edge nearer to x, y than some distance, in no order to rely
// on.
func (n *Index) Around(x, y, within float64) iter.Seq[*Edge] {
	return func(yield func(*Edge) bool) {
		if top := len(n.levels) - 1; top >= 0 {
			n.around(x, y, within*within, top, n.levels[top], 0, yield)
		} else {
			eachNearer(x, y, within*within, n.edges, yield)
		}
	}
}

// around is Around in some boxes of a level, the first of which is box first.
// Like yield, it reports whether to go on.
func (n *Index) around(x, y, d2 float64, level int, boxes []box, first int, yield func(*Edge) bool) bool {
	for i := range boxes {
		if boxes[i].away(x, y) >= d2 {
			continue
		}
		more := false
		if level == 0 {
			more = eachNearer(x, y, d2, n.leaf(first+i), yield)
		} else {
			below, from := n.below(level, first+i)
			more = n.around(x, y, d2, level-1, below, from, yield)
		}
		if !more {
			return false
		}
	}
	return true
}

// eachNearer is Around among some edges, one by one.
func eachNearer(x, y, d2 float64, edges []Edge, yield func(*Edge) bool) bool {
	for i := range edges {
		if _, _, d := edges[i].Nearest(x, y); d < d2 && !yield(&edges[i]) {
			return false
		}
	}
	return true
}

// look searches some boxes of a level, the first of which is box first, from
// the nearest on.
func (n *Index) look(x, y float64, level int, boxes []box, first int, m *Nearest) {
	var r ranking
	for i := range boxes {
		if d := boxes[i].away(x, y); d < m.D2 {
			r.add(d, first+i)
		}
	}
	for _, o := range r.list[:r.count] {
		if o.away >= m.D2 {
			return
		}
		if level == 0 {
			m.look(x, y, n.leaf(o.at))
		} else {
			below, from := n.below(level, o.at)
			n.look(x, y, level-1, below, from, m)
		}
	}
}

// look compares the edges one by one.
func (m *Nearest) look(x, y float64, edges []Edge) {
	for i := range edges {
		if px, py, d := edges[i].Nearest(x, y); d < m.D2 {
			*m = Nearest{&edges[i], px, py, d}
		}
	}
}
