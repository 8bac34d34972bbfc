package work

import (
	"math"
	"sort"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// ratesAt returns the rates of a track at some poses: those of the fix before
// each, until the next fix says otherwise.
func (s *splitter) ratesAt(poses []Pose) [][]float32 {
	if s.log.Rates == nil {
		return nil
	}
	rows := make([]int32, len(poses))
	at := sort.Search(len(s.Fixes), func(i int) bool { return s.Fixes[i].Time > poses[0].Time })
	for i := range poses {
		for at < len(s.Fixes) && s.Fixes[at].Time <= poses[i].Time {
			at++
		}
		rows[i] = s.Fixes[max(0, at-1)].Row
	}
	out := make([][]float32, len(s.log.Rates))
	for k, rates := range s.log.Rates {
		if rates == nil {
			continue
		}
		out[k] = make([]float32, len(poses))
		for i, row := range rows {
			out[k][i] = rates[row]
		}
	}
	return out
}

// Rate returns what the log says was put down of a product from pose i to the
// next, as a share of what should have been; NaN where it does not say.
func (p *Pass) Rate(product, i int) float64 {
	if product >= len(p.Rates) || p.Rates[product] == nil {
		return math.NaN()
	}
	return float64(p.Rates[product][i])
}

// TellsRate reports whether the log of the pass tells of a product.
func (p *Pass) TellsRate(product int) bool {
	return product < len(p.Rates) && p.Rates[product] != nil
}

// DrySpans returns the stretches, from one pose to another, over which the log
// says that nothing of a product was put down, for [machine.DryFor] or longer.
func (p *Pass) DrySpans(product int) [][2]int {
	if !p.TellsRate(product) {
		return nil
	}
	return machine.DrySpans(len(p.Poses)-1, func(i int) bool { return p.Rates[product][i] == 0 }, func(i int) geo.Instant { return p.Poses[i].Time })
}

// StepGround returns the m² from each pose to the next: the travel of the
// bar's centre × the width at work, 0 in silences. In turns the sum is a
// little off what the pass swept.
func (p *Pass) StepGround(machines []machine.Machine) []float64 {
	im := &machines[p.Machine].Implement
	out := make([]float64, max(0, len(p.Poses)-1))
	for i := range out {
		out[i] = p.step(i) * p.openWidth(i, im).Metres()
	}
	return out
}

// ShutGround returns the m² that sections went over while they were shut, reckoned as
// [Pass.StepGround] does.
func (p *Pass) ShutGround(machines []machine.Machine) (sum float64) {
	im := &machines[p.Machine].Implement
	for i := range max(0, len(p.Poses)-1) {
		sum += p.step(i) * max(0, im.Width-p.openWidth(i, im)).Metres()
	}
	return sum
}

// step returns how many metres the bar's centre travels from pose i to the next; 0 in
// a silence.
func (p *Pass) step(i int) float64 {
	if p.Poses[i].Silent {
		return 0
	}
	return (p.Poses[i+1].Along - p.Poses[i].Along).Metres()
}

// openWidth returns the width at work from pose i to the next.
func (p *Pass) openWidth(i int, im *machine.Implement) plane.Length {
	state := int(p.Poses[i].State)
	if state >= len(p.States) || p.States[state] == nil {
		return im.Width
	}
	width := plane.Length(0)
	for _, part := range p.States[state] {
		width += part.Right - part.Left
	}
	return width
}

// A Stretch is a part of a pass, from and to a distance along it.
type Stretch struct{ From, To plane.Distance }

// Worked returns the ground that a part of the bar, from left to right of its
// centre, sweeps over a stretch of the pass, in square metres: its
// width by the way of its middle, which is longer on the outside of a turn.
func (p *Pass) Worked(left, right plane.Distance, s Stretch) float64 {
	middle, way := float64((left+right)/2), 0.0
	from := PoseAt(p.Poses, s.From)
	for i := max(1, int(from)); i < len(p.Poses); i++ {
		a, b := &p.Poses[i-1], &p.Poses[i]
		lo, hi := max(a.Along, s.From), min(b.Along, s.To)
		if a.Along >= s.To {
			break
		}
		if hi <= lo || a.Silent {
			continue
		}
		part := float64((hi - lo) / (b.Along - a.Along))
		way += max(0, float64(hi-lo)-middle*part*float64(a.Heading.To(b.Heading)))
	}
	return (right - left).Metres() * way / float64(plane.Metre)
}
