package sweep

import (
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
)

// BenchSweptBars hands the stances of passes as thinned for the swath to a
// benchmark of what the dose costs.
func BenchSweptBars(passes []work.Pass, machines []machine.Machine) func() Dose {
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
