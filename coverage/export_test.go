package coverage

// CausesOf works out the causes of a map again.
func CausesOf(m *Map) { m.causes() }

// BenchSweptBars hands the stances of passes as thinned for the swath, and
// the bar's whole width, to a benchmark of what the dose costs.
func BenchSweptBars(passes []Pass, machines []Machine) func() Dose {
	type swept struct {
		bars []bar
		of   Section
	}
	var all []swept
	for i := range passes {
		p := &passes[i]
		im := &machines[p.Machine].Implement
		var bars []bar
		for _, k := range thin(p.Poses, im.Width/2, float64(Thin)) {
			bars = append(bars, barOf(&p.Poses[k]))
		}
		all = append(all, swept{bars, stretches(im, nil, 0)[0]})
	}
	return func() Dose {
		var d Dose
		for i := range all {
			d.add(all[i].bars, all[i].of)
		}
		return d
	}
}
