package coverage

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// How unlike the others a machine must work for it to be likely another operation:
// judgement; TestLikelyOtherOperation fails where one of the first two is doubled.
const (
	otherWidth     = 0.15                            // of the wider bar
	otherDirection = plane.Angle(30 * math.Pi / 180) // between the directions of most of the work
	otherRate      = 0.25                            // of the higher rate
	oneDirection   = 0.5                             // how much of the work goes one way, at least, for it to have a direction
	sameGround     = 0.5                             // of its ground, at least, that the others worked too
)

// A habit is how a machine works on a field.
type habit struct {
	width    float64 // m at work, the mean
	days     map[geo.Instant]bool
	x, y     float64 // m driven, as a vector of twice the direction: to and fro are one
	length   float64 // m driven
	put      float64 // m driven, each times the share of the rate of the first product that was put down
	told     float64 // m driven of which the log tells that
	anywhere bool
}

// likelyOther warns of machines that are likely of another operation than the rest of
// those in the logs: another width, other days, another direction and another rate, on
// ground that the rest work as well.
func (m *Map) likelyOther() (out []field.Warning) {
	if len(m.Machines) < 2 {
		return nil // there are no others
	}
	habits := make([]habit, len(m.Machines))
	for i := range m.Passes {
		habits[m.Passes[i].Machine].add(m, &m.Passes[i])
	}
	var others []int
	working := 0
	for k := range habits {
		if !habits[k].anywhere {
			continue
		}
		working++
		if m.unlike(habits, k) && m.onGroundOfOthers(k) {
			others = append(others, k)
		}
	}
	if len(others) == working && working > 1 { // each is unlike the rest: the one that did most is what the field is about
		most := slices.MaxFunc(others, func(a, b int) int { return cmp.Compare(m.sweptBy(a), m.sweptBy(b)) })
		others = slices.DeleteFunc(others, func(k int) bool { return k == most })
	}
	for _, k := range others {
		rate := ""
		if !math.IsNaN(habits[k].rate()) {
			rate = ", at another rate"
		}
		out = append(out, field.Warning{File: strings.Join(slices.Compact(slices.Clone(m.Records[k].Files)), ", "), Count: 1, Text: fmt.Sprintf(
			"machine %q works %.1f m wide, unlike the others, on other days, in another direction%s and over ground that they worked: it is likely another operation, of which nothing is worked twice here; a job file that names only the machines to be counted leaves it out",
			m.Machines[k].Name, habits[k].width, rate)})
	}
	return out
}

// add takes a pass into the habit of its machine.
func (h *habit) add(m *Map, p *Pass) {
	if !h.anywhere {
		*h = habit{days: map[geo.Instant]bool{}, anywhere: true}
	}
	const day = geo.Instant(24 * 3600 * 1e9)
	for t := p.Start / day; t <= p.End/day && !p.NoClock; t++ {
		h.days[t] = true
	}
	for i, ground := range p.StepGround(m.Machines) {
		step := (p.Poses[i+1].Along - p.Poses[i].Along).Metres()
		if p.Poses[i].Silent || step == 0 {
			continue
		}
		h.width = (h.width*h.length + ground) / (h.length + step)
		h.length += step
		sin, cos := (2 * p.Poses[i].Heading).Sincos()
		h.x, h.y = h.x+step*sin, h.y+step*cos
		if rate := p.Rate(0, i); !math.IsNaN(rate) {
			h.put, h.told = h.put+rate*step, h.told+step
		}
	}
}

// rate is the mean share of what it should be that the logs tell of the first product;
// NaN where none does.
func (h *habit) rate() float64 { return h.put / h.told }

// unlike reports whether a machine works at another width, on other days, in another
// direction and at another rate than each of the others.
func (m *Map) unlike(habits []habit, k int) bool {
	a := &habits[k]
	alone := true
	for i := range habits {
		b := &habits[i]
		if i == k || !b.anywhere {
			continue
		}
		alone = false
		if len(a.days) == 0 || len(b.days) == 0 || math.Abs(a.width-b.width) <= otherWidth*max(a.width, b.width) || !a.crosses(b) {
			return false
		}
		for t := range a.days {
			if b.days[t] {
				return false
			}
		}
		if !math.IsNaN(a.rate()) && !math.IsNaN(b.rate()) && math.Abs(a.rate()-b.rate()) <= otherRate*max(a.rate(), b.rate()) {
			return false
		}
	}
	return !alone
}

// crosses reports whether two machines each have a direction, and not the same.
func (h *habit) crosses(o *habit) bool {
	p, q := math.Hypot(h.x, h.y), math.Hypot(o.x, o.y)
	if p < oneDirection*h.length || q < oneDirection*o.length {
		return false
	}
	return math.Acos(max(-1, min(1, (h.x*o.x+h.y*o.y)/(p*q))))/2 > float64(otherDirection)
}

// onGroundOfOthers reports whether a machine worked mostly ground inside the field that
// others worked too.
func (m *Map) onGroundOfOthers(k int) bool {
	var its, both plane.Area
	for i := range m.Regions {
		r := &m.Regions[i]
		if r.Kind == region.OverReach {
			continue
		}
		mine, theirs := false, false
		for _, s := range r.Swaths {
			if m.Passes[m.Swaths[s].Pass].Machine == k {
				mine = true
			} else {
				theirs = true
			}
		}
		if mine {
			its += r.Area
		}
		if mine && theirs {
			both += r.Area
		}
	}
	return its > 0 && float64(both) >= sameGround*float64(its)
}

// sweptBy returns the m² that a machine swept.
func (m *Map) sweptBy(k int) (sum float64) {
	for i := range m.Passes {
		if m.Passes[i].Machine == k {
			sum += m.Passes[i].Swept.SquareMetres()
		}
	}
	return sum
}
