package chart

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// nearCurve is the stretch of the curve about today's lap and the best one
// that costs no more than a few times as much as either. Drawn to its ends, the
// steep side of the gaps would leave no height for the stretch about the least cost.
func nearCurve(l *agronomy.LapStudy) []agronomy.LapCost {
	const times = 4
	dear := func(c agronomy.LapCost) bool { return c.Skipped+c.Doubled > times*max(l.Cost, l.BestCost) }
	low, high := min(l.Mean, l.Best), max(l.Mean, l.Best)
	near := l.Curve
	for len(near) > 1 && near[1].Lap <= low && dear(near[0]) {
		near = near[1:]
	}
	for len(near) > 1 && near[len(near)-2].Lap >= high && dear(near[len(near)-1]) {
		near = near[:len(near)-1]
	}
	return near
}

// Laps draws what the field would have cost with another mean lap.
func Laps(u quantity.Units, currency string, l *agronomy.LapStudy) *Chart {
	curve := nearCurve(l)
	more := ""
	if len(curve) < len(l.Curve) {
		more = " Laps that cost over four times as much as today's are not drawn."
	}
	us, metric := LengthScales()
	us.Unit, us.One = "in", us.One/12
	metric.Unit, metric.One = "cm", metric.One/100
	tick := float64(plane.Metre)
	x := Axis{Name: "lap between neighbours", US: us, Metric: metric, Ticks: 5, Least: curve[0].Lap * tick, Most: curve[len(curve)-1].Lap * tick}
	y := Axis{Name: currency, Ticks: 4}
	var skipped, doubled, sum []Point
	for _, c := range curve {
		y.Most = max(y.Most, c.Skipped+c.Doubled)
		skipped = append(skipped, Point{c.Lap * tick, c.Skipped})
		doubled = append(doubled, Point{c.Lap * tick, c.Doubled})
		sum = append(sum, Point{c.Lap * tick, c.Skipped + c.Doubled})
	}
	c := NewForPhone(words.Same("What another lap would have cost, "+words.LapKind(l)), words.Both(u, func(u quantity.Units) string {
		return words.BestLap(u, currency, l) + " Skips cost the orange, what is worked twice the blue; the line is both." + more
	}), x, y)
	c.Area("skip", skipped)
	c.Area("overlap", doubled)
	c.Line("line", sum)
	left, right := "end", "start"
	if l.Best < l.Mean {
		left, right = right, left
	}
	c.Upright(l.Mean*tick, words.Same("today"), left, 10)
	c.Upright(l.Best*tick, words.Same("least"), right, 24)
	return c
}

// Sections draws what bars of more and more sections would waste.
func Sections(u quantity.Units, choices []assess.SectionChoice) *Chart {
	x := AreaAxis("ground given product it had, or outside")
	var bars []Bar
	for k := range choices {
		c := &choices[k]
		x.Most = max(x.Most, float64(c.Ground))
		b := Bar{Name: words.Same(words.Count(c.Sections, "section")), Class: "overlap", Value: float64(c.Ground), Text: words.Both(u, func(u quantity.Units) string { return u.Area(c.Ground) })}
		switch c.Bar {
		case whatif.AsDriven:
			b.Name, b.Class = words.Same("as driven"), "off"
		case whatif.OwnSections:
			b.Name = words.Same("own sections")
		}
		bars = append(bars, b)
	}
	return NewBarsForPhone(words.Same("Waste by number of sections"), words.Both(u, func(u quantity.Units) string { return words.Sections(u, choices) }), x, bars)
}
