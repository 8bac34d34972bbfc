package words

import (
	"fmt"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
)

// LapKind says where the laps of a study lie.
func LapKind(l *agronomy.LapStudy) string {
	if l.Headland {
		return "on the headland"
	}
	return "in the interior"
}

// BestLap says which lap would have cost least.
func BestLap(u quantity.Units, w *assess.WhatIf, l *agronomy.LapStudy) string {
	return fmt.Sprintf("Passes %s were driven with %s on average, give or take %s; %s would have cost least and saved %s.",
		LapKind(l), Lap(u, l.Mean), u.Metres(l.Spread), Lap(u, l.Best), Money(l.Cost-l.BestCost, w.Strip.Currency))
}

// Sections tells of the fewest sections that save four fifths of what
// the most would; or that they save next to nothing, where the most save under a
// tenth of what a bar that shuts as a whole wastes.
func Sections(u quantity.Units, a *assess.Assessment) string {
	runs := a.WhatIf.Sections
	one, last := a.SectionWaste(0), len(runs)-1
	most := one - a.SectionWaste(last)
	if most <= 0 || 10*most < one {
		return "Sections that shut over covered ground would have saved next to nothing here."
	}
	k := 0
	for 5*(one-a.SectionWaste(k)) < 4*most {
		k++
	}
	s := fmt.Sprintf("%d sections that shut over covered ground and outside the field would have wasted %s less than a bar that shuts as a whole",
		runs[k].Sections, u.Area(one-a.SectionWaste(k)))
	if now, currency, ok := a.SectionCost(k); ok {
		whole, _, _ := a.SectionCost(0)
		s += ", " + Money(whole-now, currency)
	}
	if k < last {
		s += fmt.Sprintf("; %d would save %s", runs[last].Sections, u.Area(most))
	}
	return s + "."
}

// NoBestLap says why there is no best lap.
func NoBestLap(w *assess.WhatIf) string {
	if u := w.Strip.Unsaid; !w.Strip.Known() && len(u) > 0 {
		return "Which lap costs least cannot be told: " + strings.Join(u, "; ") + "."
	}
	return "Which lap costs least cannot be told: too few passes ran side by side."
}
