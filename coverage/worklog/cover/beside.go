package cover

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// merge adds runs to those at whose time they worked: a section opens and shuts by
// itself, and so is often a run of its own beside that of the rest. What lies beside
// none is put after the run at whose time it was; shifted counts those.
func (c *composer) merge(all []run) (out []run, shifted int) {
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
func (c *composer) beside(hosts []run, r *run) (alone []run) {
	met := c.meet(hosts, r)
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
		if m, known := met[s.step]; known && m.from < middle && middle < m.to {
			end()
			continue
		}
		rest.spans = append(rest.spans, s)
	}
	end()
	return alone
}

// A part is from which share of a step's way to which.
type part struct{ from, to float64 }

// meet adds the cells of a run to the spans of those at whose time it worked, and
// says of each of its steps which part of it lies beside them.
func (c *composer) meet(hosts []run, r *run) map[int]part {
	from, to := r.at[0]-LongestWay, r.at[len(r.at)-1]+LongestWay
	first, _ := slices.BinarySearchFunc(hosts, from, func(h run, t float64) int { return cmp.Compare(h.at[len(h.at)-1], t) })
	for h := first; h < len(hosts) && hosts[h].at[0] < to; h++ { // where in a long step the bar was at a time is a guess
		from, to = min(from, r.at[0]-hosts[h].longest()), max(to, r.at[len(r.at)-1]+hosts[h].longest())
	}
	met := map[int]part{}
	for _, k := range r.steps {
		for _, i := range c.steps[k].cells {
			for h := first; h < len(hosts) && hosts[h].at[0] < to; h++ {
				at, _ := slices.BinarySearchFunc(hosts[h].spans, from, func(s span, t float64) int { return cmp.Compare(s.till, t) })
				for ; at < len(hosts[h].spans) && hosts[h].spans[at].at < to && c.looks > 0; at++ {
					c.looks--
					s := &hosts[h].spans[at]
					section, share, ok := c.cross(s, &c.cells[i])
					if !ok {
						continue
					}
					s.beside = append(s.beside, section)
					half := c.length(s.step) * (s.to - s.from) / 2 / max(c.length(k), hostSpan)
					m, known := met[k]
					if !known {
						m = part{share, share}
					}
					met[k] = part{min(m.from, share-half), max(m.to, share+half)}
				}
			}
		}
	}
	return met
}

// cross is the part of the bar that a cell takes where the bar's line in the middle
// of a span runs across it, and at which share of the cell's way that is.
func (c *composer) cross(s *span, p *cell) (section machine.Section, share float64, ok bool) {
	step := &c.steps[s.step]
	t := (s.from + s.to) / 2
	along := c.right(step, t).sub(c.left(step, t))
	if along.length() == 0 {
		return section, 0, false
	}
	along = along.times(1 / along.length())
	ahead := vec{-along.y, along.x}
	middle := between(c.left(step, t), c.right(step, t), 0.5).sub(along.times(step.middle))
	reach := c.wide // a bar's end is half as far from its middle
	if d := p.trail().sub(middle).length(); d > reach+p.lead().sub(p.trail()).length() {
		return section, 0, false
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
	return section, 0, false
}
