package coverage

import "lapwing/geo/plane"

// BenchSweptBars hands the stances of passes as thinned for the swath to a
// benchmark of what the dose costs.
func BenchSweptBars(passes []WorkPass, machines []Machine) func() Dose {
	var all []*sweeper
	for i := range passes {
		s := new(sweeper)
		s.follow(&passes[i], machines)
		all = append(all, s)
	}
	return func() Dose {
		var d Dose
		for _, s := range all {
			s.dose(&d, s.keep)
		}
		return d
	}
}

// SweptQuads returns what the open parts of the bar swept from each pose to
// the next, each part by itself: the slow way to the ground of a pass.
func SweptQuads(p *WorkPass, machines []Machine) []plane.Ring {
	var s sweeper
	s.follow(p, machines)
	var out []plane.Ring
	for i := range len(s.bars) - 1 {
		for _, part := range s.open(int32(i)) {
			out = Strip(out, s.bars[i:i+2], part)
		}
	}
	return out
}
