package cover

import "math"

// What tells which polygon follows which, in figures: judgement. No test holds them
// closely.
const (
	mostApart    = 0.3 // m between a leading edge and the trailing one that follows it, in the middle
	mostLooked   = 200 // polygons of a time that are looked through for the one that follows
	guessedSpeed = 3.0 // m/s, where no two times tell it
	slowest      = 0.3 // m/s, below which no bar works for long
)

// A corner is where a cell's edge ends, to two millimetres.
type corner [2]int64

// cornerAt rounds a place, so that corners that are one are equal.
func cornerAt(p vec) corner {
	const perMetre = 500 // coordinates go through degrees, which keep a tenth of that
	return corner{int64(math.Round(p.x * perMetre)), int64(math.Round(p.y * perMetre))}
}

// link finds the cell that follows each: the one whose trailing edge is its leading
// edge, or else, of those of its time and the next, the one that begins nearest to
// where it ends.
func (c *composer) link() {
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
		near, best, times := mostApart+0.1*p.right[0].sub(p.left[0]).length(), -1, 0
		for k := i + 1; k < len(c.cells) && k-i < mostLooked; k++ {
			q := &c.cells[k]
			if c.fixes[q.polygon].Time != c.fixes[c.cells[k-1].polygon].Time {
				times++
			}
			if times > 1 || !c.inTime(p, q, guessedSpeed) {
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

// inTime reports whether q may follow p without a pause, at a speed or faster.
func (c *composer) inTime(p, q *cell, speed float64) bool {
	dt := c.fixes[q.polygon].Time.Sub(c.fixes[p.polygon].Time).Seconds()
	return dt >= 0 && dt < 2*LongestWay+p.lead().sub(p.trail()).length()/speed
}

// edge is the ends of the bar at a station, in one order whichever side is left.
func (c *cell) edge(station int) [2]corner {
	a, b := cornerAt(c.left[station]), cornerAt(c.right[station])
	if a[0] > b[0] || a[0] == b[0] && a[1] > b[1] {
		a, b = b, a
	}
	return [2]corner{a, b}
}
