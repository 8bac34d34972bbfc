package worklog

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// A log may have the ground of each moment instead of the machine's place: a
// polygon for each section of the bar, from where the bar was to where it went.
// They are put together to fixes of the bar's middle with the part of the bar that
// worked, as a log with a column of sections has them.

// covered is what a log made of polygons knows of the bar.
type covered struct {
	states []machine.State // by code of the column of sections; nil for the whole bar
	width  float64         // m
	notes  []field.Warning
}

// on are the states for a bar: one that is as wide as it is the whole bar.
func (c *covered) on(bar plane.Length) []machine.State {
	out := make([]machine.State, len(c.states))
	slack := plane.Metres(widerThanBar * bar.Metres())
	for i, s := range c.states {
		whole := len(s) == 1 && max(s[0].Left+bar/2, -s[0].Left-bar/2, s[0].Right-bar/2, bar/2-s[0].Right) <= slack
		if !whole {
			out[i] = s
		}
	}
	return out
}

// joinCover makes a log of the bar's middle of one of polygons; any other is left
// as it is.
func (l Log) joinCover() Log {
	if len(l.Cover) == 0 {
		return l
	}
	way := joinPolygons(l.Fixes, l.Cover)
	if way == nil {
		l.cover, l.sections = &covered{}, nil
		return l
	}
	log := *l.Log
	log.Fixes, log.Breaks, log.Lines, log.Columns, log.Cover = way.fixes, way.breaks, nil, nil, nil
	for _, p := range way.polygons {
		log.Lines = append(log.Lines, l.Lines[p])
	}
	for _, col := range l.Columns {
		codes := make([]uint32, len(way.polygons))
		for i, p := range way.polygons {
			codes[i] = col.Codes[p]
		}
		log.Columns = append(log.Columns, gnsslog.Column{Name: col.Name, Distinct: col.Distinct, Codes: codes})
	}
	out := l
	out.Log, out.cover = &log, &covered{states: way.states, width: way.width, notes: Noted(l.File, way.notes)}
	out.working, out.machine = out.same(l.working), out.same(l.machine)
	out.sections, out.width, out.part = &gnsslog.Column{Name: "polygon", Codes: way.codes}, nil, nil
	for _, col := range l.Columns {
		n := way.differ(col.Codes)
		if _, _, rate := rateOf(col.Name); rate && n > 0 {
			out.cover.notes = append(out.cover.notes, field.Warning{File: l.File, Count: n,
				Text: where(col.Name) + ": polygons side by side differ; that of the widest is taken for the bar"})
		}
	}
	return out
}

// A log may have the ground of each moment instead of the machine's place: a
// polygon for each section of the bar, from where the bar was to where it went.
// They are put together here to fixes of the bar's middle with the part of the bar
// that worked, as a log with a column of sections has them.
//
//	 lead    lead         A polygon's corners go along one side, as many as on
//	┌─────┬─────┐         the other, from the trailing edge to the leading one:
//	│  a  │  b  │         each pair is a station of the bar. What leads one polygon
//	├─────┼─────┘  trail  trails the next; a and b side by side are one step of the
//	│  c  │               bar. Steps that follow each other are a run; where c has no
//	└─────┘               neighbour, that section was shut.

// What tells how polygons hang together, in figures: judgement. No test holds them
// closely.
const (
	coverUneven = 0.25 // by how much of its width a polygon may be wider here than there
	coverNear   = 0.3  // m between a leading edge and the trailing one that follows it, in the middle
	coverSpeed  = 3.0  // m/s, where no two times tell it
	coverSame   = 0.1  // of its length two sections that open and shut at once may differ
	coverSeam   = 0.05 // m between parts of the bar that are one
	coverFull   = 0.98 // of the bar's width is the whole bar
	leastCell   = 0.5  // m²: a smaller polygon is a remainder of some computation
	coverScan   = 200  // polygons of a time that are looked through for the one that follows
)

// A vec is a place or a way on the log's plane, in metres.
type vec struct{ x, y float64 }

func (a vec) sub(b vec) vec           { return vec{a.x - b.x, a.y - b.y} }
func (a vec) add(b vec) vec           { return vec{a.x + b.x, a.y + b.y} }
func (a vec) times(f float64) vec     { return vec{a.x * f, a.y * f} }
func (a vec) dot(b vec) float64       { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64     { return a.x*b.y - a.y*b.x }
func (a vec) length() float64         { return math.Hypot(a.x, a.y) }
func between(a, b vec, t float64) vec { return a.add(b.sub(a).times(t)) }

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

// A barStep is the cells that are side by side: what the bar did in one moment.
type barStep struct {
	cells         []int   // from left to right
	before, after int     // steps, or -1
	middle        float64 // of its cells, m right of the bar's middle
	width         float64 // m, from the left end of its cells to the right end
}

// A coverer puts the polygons of one log together.
type coverer struct {
	fixes []geo.Fix // of the middle of each polygon
	rings [][]geo.LonLat
	frame geo.Frame
	cells []cell
	steps []barStep
	odd   int     // polygons taken for a strip as wide all along
	wide  float64 // m, the bar
	looks int     // how many more times a cell may be held against a span
	room  int     // how many more spans there may be than stations
	tiny  int     // polygons too small to say anything of a bar
	small float64 // m², of them
}

// joinPolygons puts polygons together to the bar's way: fixes are of the middle of
// each, with its time. It is nil where nothing tells which way the work went.
func joinPolygons(fixes []geo.Fix, rings [][]geo.LonLat) *barWay {
	c := coverer{fixes: fixes, rings: rings, frame: geo.NewFrame(fixes[0].At)}
	if c.shape(); len(c.cells) == 0 {
		return nil
	}
	c.link()
	c.sideBySide()
	c.place()
	return c.join()
}

// outline is a polygon on the plane.
func (c *coverer) outline(polygon int) []vec {
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

// shape finds the stations of each polygon.
func (c *coverer) shape() {
	order := make([]int, len(c.rings))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.fixes[a].Time, c.fixes[b].Time) })
	ways := c.ways(order)
	first, forward := c.alike(order, ways)
	for _, i := range order {
		outline := c.outline(i)
		if area := areaOf(outline); area < leastCell {
			c.tiny++
			c.small += area
			continue
		}
		half := max(1, len(outline)/2)
		a, b := stations(outline, (first+half)%half)
		switch {
		case uneven(a, b) > coverUneven:
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
func (c *coverer) alike(order []int, ways []vec) (first int, forward bool) {
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
			worst, at := 2*coverUneven, -1
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
func (c *coverer) ways(order []int) []vec {
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
		if d := way.length(); d > 0 && b.at.Sub(a.at).Seconds() < 2*longestWay {
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

// areaOf is the area of an outline, in m².
func areaOf(outline []vec) (area float64) {
	for i, p := range outline {
		area += p.sub(outline[0]).cross(outline[(i+1)%len(outline)].sub(outline[0])) / 2
	}
	return math.Abs(area)
}

// centroid is the centre of the area of an outline; the mean of its corners where it
// has none.
func centroid(outline []vec) vec {
	var sum, mean vec
	twice := 0.0
	for i, p := range outline {
		a, b := p.sub(outline[0]), outline[(i+1)%len(outline)].sub(outline[0])
		sum, twice = sum.add(a.add(b).times(a.cross(b)/3)), twice+a.cross(b)
		mean = mean.add(p.times(1 / float64(len(outline))))
	}
	if math.Abs(twice) < leastCell {
		return mean
	}
	return outline[0].add(sum.times(1 / twice))
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

// A corner is where a cell's edge ends, to the millimetre.
type corner [2]int64

// cornerAt rounds a place, so that corners that are one are equal.
func cornerAt(p vec) corner {
	const perMetre = 500 // 2 mm: coordinates go through degrees, which keep a tenth of that
	return corner{int64(math.Round(p.x * perMetre)), int64(math.Round(p.y * perMetre))}
}

// link finds the cell that follows each: the one whose trailing edge is its leading
// edge, or else, of those of its time and the next, the one that begins nearest to
// where it ends.
func (c *coverer) link() {
	trailing := map[[2]corner][]int{}
	for i := range c.cells {
		trailing[c.cells[i].edge(0)] = append(trailing[c.cells[i].edge(0)], i)
	}
	for i := range c.cells {
		p := &c.cells[i]
		for _, k := range trailing[p.edge(len(p.left)-1)] {
			if q := &c.cells[k]; k != i && q.before < 0 && c.inTime(p, q, slowest) {
				p.after, q.before = k, i
				break
			}
		}
	}
	for i := range c.cells {
		p := &c.cells[i]
		if p.after >= 0 {
			continue
		}
		near, best, times := coverNear+0.1*p.right[0].sub(p.left[0]).length(), -1, 0
		for k := i + 1; k < len(c.cells) && k-i < coverScan; k++ {
			q := &c.cells[k]
			if c.fixes[q.polygon].Time != c.fixes[c.cells[k-1].polygon].Time {
				times++
			}
			if times > 1 || !c.inTime(p, q, coverSpeed) {
				break
			}
			if d := q.trail().sub(p.lead()).length(); q.before < 0 && d < near {
				near, best = d, k
			}
		}
		if best >= 0 {
			p.after, c.cells[best].before = best, i
		}
	}
}

// slowest is a speed in m/s below which no bar works for long. Judgement.
const slowest = 0.3

// inTime reports whether q may follow p without a pause, at a speed or faster.
func (c *coverer) inTime(p, q *cell, speed float64) bool {
	dt := c.fixes[q.polygon].Time.Sub(c.fixes[p.polygon].Time).Seconds()
	return dt >= 0 && dt < 2*longestWay+p.lead().sub(p.trail()).length()/speed
}

// edge is the ends of the bar at a station, in one order whichever side is left.
func (c *cell) edge(station int) [2]corner {
	a, b := cornerAt(c.left[station]), cornerAt(c.right[station])
	if a[0] > b[0] || a[0] == b[0] && a[1] > b[1] {
		a, b = b, a
	}
	return [2]corner{a, b}
}

// sideBySide puts together the cells of each step: those of one time that share a
// corner of their trailing edges, and those that follow cells of one step or are
// followed by such.
func (c *coverer) sideBySide() {
	parent := make([]int, len(c.cells))
	for i := range parent {
		parent[i] = i
	}
	root := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	rights := map[corner][]int{}
	for i := range c.cells {
		at := cornerAt(c.cells[i].right[0])
		rights[at] = append(rights[at], i)
	}
	// A section that shut before the others is a step of its own: the bar's line where
	// the step ends would be none.
	together := func(i, k int) bool {
		p, q := &c.cells[i], &c.cells[k]
		a, b := p.lead().sub(p.trail()).length(), q.lead().sub(q.trail()).length()
		return c.fixes[p.polygon].Time == c.fixes[q.polygon].Time && len(p.left) == len(q.left) && (len(p.left) > 2 || math.Abs(a-b) < coverSame*max(a, b))
	}
	for i := range c.cells {
		p := &c.cells[i]
		for _, k := range rights[cornerAt(p.left[0])] {
			q := &c.cells[k]
			if n, m := len(p.left)-1, len(q.left)-1; k != i && c.fixes[p.polygon].Time == c.fixes[q.polygon].Time && p.left[n].sub(q.right[m]).length() < coverSeam {
				parent[root(i)] = root(k)
			}
		}
	}
	// Sections on both sides of one that is shut hang together through the steps
	// before and after, where it was open.
	for _, beside := range []func(i int) int{func(i int) int { return c.cells[i].before }, func(i int) int { return c.cells[i].after }} {
		for range 3 { // further than its neighbours a step is seldom told
			first := map[int]int{} // by the root of the neighbour: a cell beside it
			for i := range c.cells {
				k := beside(i)
				if k < 0 {
					continue
				}
				if j, known := first[root(k)]; known && together(i, j) {
					parent[root(i)] = root(j)
				} else if !known {
					first[root(k)] = i
				}
			}
		}
	}
	number := map[int]int{}
	for i := range c.cells {
		r := root(i)
		k, known := number[r]
		if !known {
			k = len(c.steps)
			number[r] = k
			c.steps = append(c.steps, barStep{before: -1, after: -1})
		}
		c.cells[i].step = k
		c.steps[k].cells = append(c.steps[k].cells, i)
	}
	for k := range c.steps {
		s := &c.steps[k]
		along := c.across(s)
		slices.SortFunc(s.cells, func(a, b int) int {
			return cmp.Compare(c.cells[a].trail().dot(along), c.cells[b].trail().dot(along))
		})
		s.width = c.right(s, 0).sub(c.left(s, 0)).dot(along)
	}
	for k := range c.steps { // the step that most of its cells are followed by
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
	c.uncycle()
}

// uncycle cuts steps of one time that follow each other in a circle, at the first.
func (c *coverer) uncycle() {
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
func (c *coverer) across(s *barStep) vec {
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
func (c *coverer) left(s *barStep, t float64) vec { return onSide(c.cells[s.cells[0]].left, t) }

// right is the right end.
func (c *coverer) right(s *barStep, t float64) vec {
	return onSide(c.cells[s.cells[len(s.cells)-1]].right, t)
}

// onSide is the place on one side of a cell at a share of its stations.
func onSide(side []vec, t float64) vec {
	at := t * float64(len(side)-1)
	k := min(int(at), len(side)-2)
	return between(side[k], side[k+1], at-float64(k))
}

// place finds where the bar's middle was beside the cells of each step: of a step
// as wide as the bar, in their middle; of others, where it was in the step before
// or after.
func (c *coverer) place() {
	c.wide = c.width()
	full := coverFull * c.wide
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
func (c *coverer) offset(step, i int) float64 {
	s := &c.steps[step]
	return c.cells[i].trail().sub(between(c.left(s, 0), c.right(s, 0), 0.5)).dot(c.across(s))
}

// byTime are the steps in the order of their time.
func (c *coverer) byTime() []int {
	order := make([]int, len(c.steps))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(c.fixes[c.cells[c.steps[a].cells[0]].polygon].Time, c.fixes[c.cells[c.steps[b].cells[0]].polygon].Time)
	})
	return order
}

// width is that of the bar: as wide as the steps are on most of the way on which
// they are at their widest.
func (c *coverer) width() float64 {
	widths := make([]float64, len(c.steps))
	for k := range c.steps {
		widths[k] = c.steps[k].width
	}
	slices.Sort(widths)
	const widest = 0.95 // of the steps are narrower, so that a turn's or a wrong one's does not count
	return widths[int(widest*float64(len(widths)-1))]
}

// A run is steps that follow each other.
type run struct {
	steps []int
	at    []float64 // the time at the beginning of each and at the end of the last, in seconds after the first
	spans []span
	host  bool // a section that is a run of its own works beside it
}

// A span is the bar's way between two fixes of a run.
type span struct {
	step     int
	from, to float64       // shares of the step's way
	at, till float64       // s
	beside   machine.State // what runs beside it add to the step's own part of the bar
}

// runs are all of the log, in the order of their time. Several polygons may have one
// time: between two times the bar is taken to go at one speed.
func (c *coverer) runs() []run {
	var all []run
	begin := c.timeOf(c.byTime()[0])
	usual := c.usualSpeed()
	for _, k := range c.byTime() {
		if c.steps[k].before >= 0 {
			continue
		}
		r := run{}
		var ways, stamps []float64 // by step: how far the bar had come, and its time
		way := 0.0
		for ; k >= 0; k = c.steps[k].after {
			r.steps = append(r.steps, k)
			ways = append(ways, way)
			stamps = append(stamps, c.timeOf(k).Sub(begin).Seconds())
			way += c.length(k)
		}
		r.at = spread(append(ways, way), stamps, usual)
		all = append(all, r)
	}
	return all
}

// longest is how long the longest step of a run took, in seconds.
func (r *run) longest() (most float64) {
	for i := range r.steps {
		most = max(most, r.at[i+1]-r.at[i])
	}
	return most
}

// timeOf is the time that the polygons of a step bear.
func (c *coverer) timeOf(k int) geo.Instant {
	return c.fixes[c.cells[c.steps[k].cells[0]].polygon].Time
}

// divide divides the way of a run into spans.
func (c *coverer) divide(r *run) {
	for i, k := range r.steps {
		s := &c.steps[k]
		n := 1
		for _, at := range s.cells {
			n = max(n, len(c.cells[at].left)-1)
		}
		took := r.at[i+1] - r.at[i]
		more := took / longestSpan
		if r.host {
			more = max(more, c.length(k)/hostSpan)
		}
		if extra := math.Ceil(more) - float64(n); extra > 0 && extra < float64(c.room) {
			n += int(extra)
			c.room -= int(extra)
		}
		for j := range n {
			from, to := float64(j)/float64(n), float64(j+1)/float64(n)
			r.spans = append(r.spans, span{step: k, from: from, to: to, at: r.at[i] + from*took, till: r.at[i] + to*took})
		}
	}
}

// merge adds runs to those at whose time they worked: a section opens and shuts by
// itself, and so is often a run of its own beside that of the rest. What lies beside
// none is put after the run at whose time it was; shifted counts those.
func (c *coverer) merge(all []run) (out []run, shifted int) {
	// A file made to be slow must not be: of others no more than a tenth is needed.
	c.room, c.looks = 1<<12+20*len(c.cells), min(1<<16+1000*len(c.cells), 1<<26)
	var sides []run
	last := math.Inf(-1)
	for _, r := range all {
		if len(out) > 0 && r.at[0] < last-1e-3 {
			out[len(out)-1].host = true
			sides = append(sides, r)
			continue
		}
		out = append(out, r)
		last = max(last, r.at[len(r.at)-1])
	}
	for i := range out {
		c.divide(&out[i])
	}
	var alone []run
	for i := range sides {
		alone = append(alone, c.beside(out, &sides[i])...)
	}
	out = append(out, alone...)
	slices.SortStableFunc(out, func(a, b run) int { return cmp.Compare(a.at[0], b.at[0]) })
	last = math.Inf(-1)
	for i := range out {
		late := max(0, last-out[i].at[0])
		if late > 0 {
			shifted++
		}
		for j := range out[i].spans {
			out[i].spans[j].at += late
			out[i].spans[j].till += late
		}
		last = out[i].spans[len(out[i].spans)-1].till + 1e-3
	}
	return out, shifted
}

// beside adds the cells of a run to the spans of those at whose time it worked, and
// returns what of it lies beside none.
func (c *coverer) beside(hosts []run, r *run) (alone []run) {
	from, to := r.at[0]-longestWay, r.at[len(r.at)-1]+longestWay
	first, _ := slices.BinarySearchFunc(hosts, from, func(h run, t float64) int { return cmp.Compare(h.at[len(h.at)-1], t) })
	for h := first; h < len(hosts) && hosts[h].at[0] < to; h++ { // where in a long step the bar was at a time is a guess
		from, to = min(from, r.at[0]-hosts[h].longest()), max(to, r.at[len(r.at)-1]+hosts[h].longest())
	}
	beside := map[int][2]float64{} // by step: from which share of its way to which it is beside another run
	for _, k := range r.steps {
		for _, i := range c.steps[k].cells {
			for h := first; h < len(hosts) && hosts[h].at[0] < to; h++ {
				at, _ := slices.BinarySearchFunc(hosts[h].spans, from, func(s span, t float64) int { return cmp.Compare(s.till, t) })
				for ; at < len(hosts[h].spans) && hosts[h].spans[at].at < to && c.looks > 0; at++ {
					c.looks--
					s := &hosts[h].spans[at]
					part, share, ok := c.cross(s, &c.cells[i])
					if !ok {
						continue
					}
					s.beside = append(s.beside, part)
					half := c.length(s.step) * (s.to - s.from) / 2 / max(c.length(k), hostSpan)
					b, known := beside[k]
					if !known {
						b = [2]float64{share, share}
					}
					beside[k] = [2]float64{min(b[0], share-half), max(b[1], share+half)}
				}
			}
		}
	}
	r.host = true // in short spans, so that little is lost where the other run ends
	c.divide(r)
	var rest run
	end := func() {
		if n := len(rest.spans); n > 0 {
			rest.at = []float64{rest.spans[0].at, rest.spans[n-1].till}
			alone = append(alone, rest)
		}
		rest = run{}
	}
	for _, s := range r.spans {
		middle := (s.from + s.to) / 2
		if b, known := beside[s.step]; known && b[0] < middle && middle < b[1] {
			end()
			continue
		}
		rest.spans = append(rest.spans, s)
	}
	end()
	return alone
}

// cross is the part of the bar that a cell takes where the bar's line in the middle
// of a span runs across it, and at which share of the cell's way that is.
func (c *coverer) cross(s *span, p *cell) (part machine.Section, share float64, ok bool) {
	step := &c.steps[s.step]
	t := (s.from + s.to) / 2
	along := c.right(step, t).sub(c.left(step, t))
	if along.length() == 0 {
		return part, 0, false
	}
	along = along.times(1 / along.length())
	ahead := vec{-along.y, along.x}
	middle := between(c.left(step, t), c.right(step, t), 0.5).sub(along.times(step.middle))
	reach := c.wide // a bar's end is half as far from its middle
	if d := p.trail().sub(middle).length(); d > reach+p.lead().sub(p.trail()).length() {
		return part, 0, false
	}
	before := between(p.left[0], p.right[0], 0.5).sub(middle)
	for k := 1; k < len(p.left); k++ {
		now := between(p.left[k], p.right[k], 0.5).sub(middle)
		u, v := before.dot(ahead), now.dot(ahead)
		if u <= 0 && v > 0 && math.Abs(before.dot(along)) < reach {
			f := u / (u - v)
			a := between(p.left[k-1], p.left[k], f).sub(middle).dot(along)
			b := between(p.right[k-1], p.right[k], f).sub(middle).dot(along)
			return machine.Section{Left: plane.Metres(min(a, b)), Right: plane.Metres(max(a, b))}, (float64(k-1) + f) / float64(len(p.left)-1), true
		}
		before = now
	}
	return part, 0, false
}

// spread gives a time to each of ways, of which all but the last have a stamp. Where
// a stamp repeats, and at the end, the speed tells.
func spread(ways, stamps []float64, usual float64) []float64 {
	out := make([]float64, len(ways))
	from := 0
	for from < len(stamps) {
		to := from + 1
		for to < len(stamps) && stamps[to] <= stamps[from] {
			to++
		}
		speed := usual
		if to < len(stamps) && ways[to] > ways[from] {
			speed = (ways[to] - ways[from]) / (stamps[to] - stamps[from])
		}
		for k := from; k < to; k++ {
			out[k] = stamps[from] + (ways[k]-ways[from])/speed
		}
		from = to
	}
	n := len(out) - 1
	out[n] = out[n-1] + (ways[n]-ways[n-1])/usual
	for k := 1; k < len(out); k++ {
		out[k] = max(out[k], out[k-1]+1e-3)
	}
	return out
}

// length is how far the bar went in a step.
func (c *coverer) length(k int) float64 {
	s := &c.steps[k]
	return between(c.left(s, 1), c.right(s, 1), 0.5).sub(between(c.left(s, 0), c.right(s, 0), 0.5)).length()
}

// usualSpeed is the median speed from one step to the next of another time.
func (c *coverer) usualSpeed() float64 {
	var speeds []float64
	for k := range c.steps {
		to := c.steps[k].after
		if to < 0 {
			continue
		}
		dt := c.fixes[c.cells[c.steps[to].cells[0]].polygon].Time.Sub(c.fixes[c.cells[c.steps[k].cells[0]].polygon].Time).Seconds()
		if v := c.length(k) / dt; dt > 0 && v > 0 {
			speeds = append(speeds, v)
		}
	}
	if len(speeds) == 0 {
		return coverSpeed
	}
	slices.Sort(speeds)
	return speeds[len(speeds)/2]
}

// own is the part of the bar that the cells of a step take.
func (c *coverer) own(k int) (out machine.State) {
	s := &c.steps[k]
	along := c.across(s)
	for _, i := range s.cells {
		p := &c.cells[i]
		n := len(p.left) - 1
		at := (p.trail().sub(between(c.left(s, 0), c.right(s, 0), 0.5)).dot(along)+p.lead().sub(between(c.left(s, 1), c.right(s, 1), 0.5)).dot(along))/2 + s.middle
		half := (p.right[0].sub(p.left[0]).length() + p.right[n].sub(p.left[n]).length()) / 4
		out = append(out, machine.Section{Left: plane.Metres(at - half), Right: plane.Metres(at + half)})
	}
	return out
}

// joinParts joins parts of the bar that touch, each end rounded to a grain.
func joinParts(parts machine.State, grain plane.Length) machine.State {
	round := func(l plane.Length) plane.Length { return plane.Round(float64(l)/float64(grain)) * grain }
	slices.SortFunc(parts, func(a, b machine.Section) int { return cmp.Compare(a.Left, b.Left) })
	var out machine.State
	for _, p := range parts {
		left, right := round(p.Left), round(p.Right)
		switch n := len(out) - 1; {
		case n >= 0 && left <= out[n].Right+plane.Metres(coverSeam):
			out[n].Right = max(out[n].Right, right)
		case right > left:
			out = append(out, machine.Section{Left: left, Right: right})
		}
	}
	return out
}

// states are the parts of the bar that work on the spans of runs, each distinct one
// once: to a centimetre, or coarser where there are too many.
func (c *coverer) states(runs []run) (distinct []machine.State, codes [][]uint32) {
	own := make([]machine.State, len(c.steps))
	for k := range own {
		own[k] = c.own(k)
	}
	for grain := plane.Metre / 100; ; grain *= 4 {
		distinct, codes = nil, make([][]uint32, len(runs))
		known := map[string]uint32{}
		for i := range runs {
			for j := range runs[i].spans {
				s := &runs[i].spans[j]
				if j > 0 && s.step == runs[i].spans[j-1].step && len(s.beside)+len(runs[i].spans[j-1].beside) == 0 {
					codes[i] = append(codes[i], codes[i][j-1])
					continue
				}
				state := joinParts(slices.Concat(own[s.step], s.beside), grain)
				key := fmt.Sprint(state)
				code, ok := known[key]
				if !ok {
					code = uint32(len(distinct))
					known[key] = code
					distinct = append(distinct, state)
				}
				codes[i] = append(codes[i], code)
			}
		}
		if len(distinct) < math.MaxUint16 || grain > plane.Metre {
			return distinct, codes
		}
	}
}

// Between two fixes no more time passes than longestSpan, so that the log is not
// silent there, and the bar goes no farther than hostSpan where a section beside the
// run opens and shuts by itself: that far off its ground may begin and end. Judgement.
const (
	longestSpan = 1.0 // s
	hostSpan    = 0.5 // m
)

// A barWay is the way of a bar.
type barWay struct {
	fixes    []geo.Fix       // of its middle
	breaks   []int           // fixes that do not continue from the one before
	polygons []int           // of each fix, the one that stands for it: the widest of those side by side
	codes    []uint32        // of each fix, its state
	states   []machine.State // the parts of the bar that work, by code
	width    float64         // m, of the bar
	notes    []geo.Note      // what was taken on trust
	steps    [][]int         // the polygons that are side by side
}

// join makes the bar's way of the runs of its steps.
func (c *coverer) join() *barWay {
	runs, shifted := c.merge(c.runs())
	states, codes := c.states(runs)
	w := &barWay{states: states, width: c.wide}
	begin := c.timeOf(c.byTime()[0])
	for i := range runs {
		if len(w.fixes) > 0 {
			w.breaks = append(w.breaks, len(w.fixes))
		}
		add := func(s *span, t, at float64, code uint32) {
			w.fixes = append(w.fixes, c.fix(&c.steps[s.step], t, begin, at))
			w.polygons = append(w.polygons, c.widest(s.step))
			w.codes = append(w.codes, code)
		}
		for j := range runs[i].spans {
			s := &runs[i].spans[j]
			add(s, s.from, s.at, codes[i][j])
		}
		s := &runs[i].spans[len(runs[i].spans)-1]
		add(s, s.to, s.till, codes[i][len(codes[i])-1])
	}
	for k := range c.steps {
		var polygons []int
		for _, i := range c.steps[k].cells {
			polygons = append(polygons, c.cells[i].polygon)
		}
		w.steps = append(w.steps, polygons)
	}
	w.notes = c.notes(shifted)
	return w
}

// differ counts the steps whose polygons do not all have one code.
func (w *barWay) differ(codes []uint32) (n int) {
	for _, polygons := range w.steps {
		if slices.ContainsFunc(polygons, func(p int) bool { return codes[p] != codes[polygons[0]] }) {
			n++
		}
	}
	return n
}

// widest is the polygon of the widest cell of a step.
func (c *coverer) widest(k int) int {
	best, most := c.steps[k].cells[0], 0.0
	for _, i := range c.steps[k].cells {
		if w := c.cells[i].right[0].sub(c.cells[i].left[0]).length(); w > most {
			best, most = i, w
		}
	}
	return c.cells[best].polygon
}

// fix is the bar's middle at a share of a step's way.
func (c *coverer) fix(s *barStep, t float64, begin geo.Instant, at float64) geo.Fix {
	left, right := c.left(s, t), c.right(s, t)
	along := right.sub(left)
	if d := along.length(); d > 0 {
		along = along.times(1 / d)
	} else {
		along = c.across(s)
	}
	middle := between(left, right, 0.5).sub(along.times(s.middle))
	bearing := math.Mod(math.Atan2(-along.y, along.x)*180/math.Pi+360, 360)
	return geo.Fix{Time: begin + geo.Instant(at*1e9), At: c.frame.FromMetres(middle.x, middle.y), Heading: geo.BearingOf(bearing), Speed: math.NaN()}
}

// notes say what was taken on trust.
func (c *coverer) notes(shifted int) (notes []geo.Note) {
	add := func(count int, text string) {
		if count > 0 {
			notes = append(notes, geo.Note{Count: count, Text: text})
		}
	}
	add(1, fmt.Sprintf("%d polygons of worked ground are put together to %d steps of a bar of %.2f m", len(c.cells), len(c.steps), c.wide))
	add(c.odd, "polygon that is no strip from one place of the bar to the next; taken as one, as long and of its area")
	add(c.tiny, fmt.Sprintf("polygon of less than %.1f m²; left out, %.1f m² in all", leastCell, c.small))
	add(len(c.rings)-len(c.cells)-c.tiny, "polygon of which nothing tells which way the work went; left out")
	add(shifted, "stretch of polygons at the time of another that it does not touch; taken as worked after it")
	return notes
}
