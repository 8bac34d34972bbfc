package whatif

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A SectionTrial is the field driven again just as it was, by bars in so many
// sections that shut by themselves: each works only where some of the ground under
// it is in the field and not covered yet.
type SectionTrial struct {
	Bar      Bar
	Sections int       // of the bar that has most; 0 as driven
	Swept    []float64 // by machine, m²
	Wasted   []float64 // by machine, m²: swept less the new ground in the field
}

// A Bar says which bars a [SectionTrial] was driven with.
type Bar string

// The bars of a trial.
const (
	AsDriven    Bar = "as driven"      // today's, as the log has it: nothing is changed
	OwnSections Bar = "own sections"   // today's, each section shut by itself
	Equal       Bar = "equal sections" // so many equal sections
)

// Switching is how long before it leaves covered ground a section opens, and
// how long after it comes onto some it shuts.
type Switching struct{ On, Off float64 } // s

// finestSection is how narrow a section may get, in metres, where the job does not
// say how many openers there are. Judgement; no answer of samples and no test of the
// package moves where it is halved or doubled.
const finestSection = 0.25

// Sections measures the field as it would be with sections. Where the ground
// is covered a section shuts, so what is new to each pass stays the same, and
// each section works from where the first new ground comes under it to where
// the last leaves it:
//
//	   covered        new
//	 _______________/
//	|  |  |  |  |  /       the whole bar works from a on,
//	|__|__|__|__|_/         the last section from b on
//	   a        b
//
// Where the bar was lifted it stays lifted: the runs never add ground.
//
// The first trial is what was driven, the second has each bar's own sections, and
// those after it more and more than any bar has.
func Sections(m *coverage.Map, with Switching) []SectionTrial {
	ground := NewGround(m)
	var trials []SectionTrial
	add := func(bar Bar, n int) {
		trials = append(trials, SectionTrial{Bar: bar, Sections: n, Swept: make([]float64, len(m.Machines)), Wasted: make([]float64, len(m.Machines))})
	}
	add(AsDriven, 0)
	own := 1
	for i := range m.Machines {
		own = max(own, len(m.Machines[i].Implement.Sections))
	}
	add(OwnSections, own)
	counts := sectionCounts(m)
	for _, n := range counts {
		if n > own {
			add(Equal, n)
		}
	}
	finest := max(own, counts[len(counts)-1])
	fresh := make([]float64, len(m.Machines))
	swept := make([][]float64, len(m.Swaths)) // of each swath, by trial
	parallel.Each(len(m.Swaths), func(s int) {
		swept[s] = sectionsOver(m, s, ground[s], trials, finest, with)
	})
	for i := range m.Passes {
		p := &m.Passes[i]
		fresh[p.Machine] += p.New.SquareMetres()
		trials[0].Swept[p.Machine] += p.Swept.SquareMetres()
	}
	for s := range m.Swaths {
		machine := m.Passes[m.Swaths[s].Pass].Machine
		for k := range trials {
			trials[k].Swept[machine] += swept[s][k]
		}
	}
	for k := range trials {
		for i := range fresh {
			trials[k].Wasted[i] = max(0, trials[k].Swept[i]-fresh[i])
		}
	}
	return trials
}

// sectionCounts are one section, and about twice as many and so on, up to one
// for each opener of the bar that has most: whole openers to each.
func sectionCounts(m *coverage.Map) []int {
	most := 1
	for i := range m.Machines {
		im := &m.Machines[i].Implement
		n := im.Openers
		for half := 1; im.Openers == 0 && float64(half)*finestSection <= im.Width.Metres(); half *= 2 {
			n = half
		}
		most = max(most, n)
	}
	out := []int{1}
	for n := 2; n <= most; n++ {
		if last := out[len(out)-1]; most%n == 0 && (n >= 2*last || n == most) {
			out = append(out, n)
		}
	}
	return out
}

// sectionsOver returns what the sections of each trial sweep over one swath, in
// square metres; nothing for what was driven, which needs no trying.
func sectionsOver(m *coverage.Map, swath int, rings [][]locate.Offset, trials []SectionTrial, finest int, with Switching) []float64 {
	sw := &m.Swaths[swath]
	p := &m.Passes[sw.Pass]
	im := &m.Machines[p.Machine].Implement
	width := plane.Distance(im.Width)
	lines := newScan(width, 2*finest, rings)
	speed := plane.Distance(0) // in a second
	if t := p.End.Sub(p.Start).Seconds(); t > 0 {
		speed = p.Length / plane.Distance(t)
	}
	out := make([]float64, len(trials))
	for k := range trials {
		for _, section := range trials[k].sections(im) {
			// All lines from the section's left edge to its right one.
			line := func(x plane.Length) float64 {
				return float64(plane.Distance(x)/width+0.5) * 2 * float64(finest)
			}
			from, to := int(math.Floor(line(section.Left)+onLine)), int(math.Ceil(line(section.Right)-onLine))
			for _, s := range lines.over(max(0, from), min(2*finest, to), speed*plane.Distance(with.On), speed*plane.Distance(with.Off), sw.From, sw.To) {
				out[k] += p.Worked(plane.Distance(section.Left), plane.Distance(section.Right), s)
			}
		}
	}
	return out
}

// onLine is how near a line of a scan an edge of a section lies that is taken to lie
// on it, in the lines' distance: edges are on whole ticks, a thousandth of that.
const onLine = 0.01

// sections are those of an implement in a trial; none as driven.
func (t *SectionTrial) sections(im *machine.Implement) []machine.Section {
	switch t.Bar {
	case AsDriven:
		return nil
	case OwnSections:
		return im.Sections
	}
	return machine.EqualSections(im.Width, t.Sections)
}

// A scan is lines along a pass, evenly spaced over its bar from end to end,
// each with the stretches of it that lie over new ground.
type scan [][]work.Stretch

// hair keeps the outermost lines off the ends of the bar, along which the outline of
// the ground itself runs.
const hair = plane.Distance(plane.Centimetre)

func newScan(width plane.Distance, parts int, rings [][]locate.Offset) scan {
	at := make([]plane.Distance, parts+1)
	for k := range at {
		at[k] = max(-width/2+hair, min(width*(plane.Distance(k)/plane.Distance(parts)-0.5), width/2-hair))
	}
	crossings := make([][]plane.Distance, parts+1)
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if a.Across > b.Across {
				a, b = b, a
			}
			k, _ := slices.BinarySearch(at, a.Across)
			for ; k <= parts && at[k] < b.Across; k++ {
				crossings[k] = append(crossings[k], a.Along+(at[k]-a.Across)/(b.Across-a.Across)*(b.Along-a.Along))
			}
		}
	}
	out := make(scan, parts+1)
	for k, x := range crossings {
		slices.Sort(x)
		for i := 0; i+1 < len(x); i += 2 {
			out[k] = append(out[k], work.Stretch{From: x[i], To: x[i+1]})
		}
	}
	return out
}

// over returns where any of some lines lies over new ground, made longer by
// what switching takes, within the swath.
func (s scan) over(first, last int, before, after, least, most plane.Distance) []work.Stretch {
	var all, out []work.Stretch
	for _, line := range s[first : last+1] {
		for _, x := range line {
			x = work.Stretch{From: max(least, x.From-before), To: min(most, x.To+after)}
			if x.From < x.To {
				all = append(all, x)
			}
		}
	}
	slices.SortFunc(all, func(a, b work.Stretch) int { return cmp.Compare(a.From, b.From) })
	for _, x := range all {
		if n := len(out); n > 0 && x.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, x.To)
		} else {
			out = append(out, x)
		}
	}
	return out
}
