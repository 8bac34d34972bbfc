package words

import (
	"fmt"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
)

// LapKind says where the laps of a study lie.
func LapKind(l *agronomy.LapStudy) string {
	if l.Headland {
		return "on the headland"
	}
	return "in the interior"
}

// BestLap says which lap would have cost least.
func BestLap(u quantity.Units, currency string, l *agronomy.LapStudy) string {
	return fmt.Sprintf("Passes %s were driven with %s on average, give or take %s; %s would have cost least and saved %s.",
		LapKind(l), Lap(u, l.Mean), u.Metres(l.Spread), Lap(u, l.Best), Money(l.Cost-l.BestCost, currency))
}

// Sections tells what sections would have wasted against today's bar as it was
// driven: its own first, then the fewest more that save four fifths of what the most
// would, and the most.
func Sections(u quantity.Units, choices []assess.SectionChoice) string {
	driven, own, finer := &choices[0], &choices[1], choices[2:]
	s := fmt.Sprintf("As driven %s was wasted. %s that shut by themselves over covered ground and outside the field would have wasted %s",
		u.Area(driven.Ground), Capital(Bars(own)), AgainstDriven(u, driven, own))
	if len(finer) == 0 {
		return s + "."
	}
	last := len(finer) - 1
	most := own.Ground - finer[last].Ground
	if 10*most < driven.Ground {
		return s + "; more sections would have saved next to nothing more."
	}
	k := 0
	for 5*(own.Ground-finer[k].Ground) < 4*most {
		k++
	}
	s += fmt.Sprintf("; %s %s", Bars(&finer[k]), AgainstDriven(u, driven, &finer[k]))
	if k < last {
		s += fmt.Sprintf("; %s %s", Bars(&finer[last]), AgainstDriven(u, driven, &finer[last]))
	}
	return s + "."
}

// Bars names the bars of a choice.
func Bars(c *assess.SectionChoice) string {
	switch {
	case c.Bar == whatif.AsDriven:
		return "today's bars as driven"
	case c.Bar == whatif.Equal:
		return Count(c.Sections, "section")
	case !c.OneBar:
		return "the bars' own sections"
	case c.Sections == 1:
		return "bars of one section, as today,"
	}
	return fmt.Sprintf("the bar's own %d sections", c.Sections)
}

// AgainstDriven tells a choice against what was driven: "0.21 ac less (8.50 USD)", or
// that it is worse.
func AgainstDriven(u quantity.Units, driven, c *assess.SectionChoice) string {
	saved, by := driven.Ground-c.Ground, "less"
	if saved < 0 {
		saved, by = -saved, "more"
	}
	if u.Area(saved) == u.Area(0) {
		return "as much"
	}
	s := u.Area(saved) + " " + by
	var money []string
	for _, m := range driven.Costs {
		cost := m.Value - c.CostIn(m.Currency)
		if by == "more" {
			cost = -cost
		}
		money = append(money, Money(cost, m.Currency))
	}
	if len(money) > 0 {
		s += " (" + strings.Join(money, ", ") + ")"
	}
	if by == "more" {
		s += ", worse than today"
	}
	return s
}

// FromTo writes two figures with their unit: "31.0 to 31.5 lb", or "60 m2 to 0.20 ha"
// where their units differ.
func FromTo(low, high string) string {
	from, unit, _ := strings.Cut(low, " ")
	if _, same, _ := strings.Cut(high, " "); same != unit {
		from = low
	}
	return from + " to " + high
}

// NoBestLap says why there is no best lap.
func NoBestLap(strip agronomy.StripCosts) string {
	if u := strip.Unsaid; !strip.Known() && len(u) > 0 {
		return "Which lap costs least cannot be told: " + strings.Join(u, "; ") + "."
	}
	return "Which lap costs least cannot be told: too few passes ran side by side."
}
