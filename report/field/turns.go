package field

import (
	"fmt"

	"lapwing/coverage/sweep"
	"lapwing/report/chart"
	"lapwing/report/words"
)

// doseSentence says how much ground turns left off its rate; "" where there
// is nothing to say.
func (d *Document) doseSentence() string {
	turns := &d.TurnRates
	if turns.OffTarget() == 0 {
		return ""
	}
	s := fmt.Sprintf("Turns put %s of the ground worked more than 10 %% off its rate", words.Share(turns.OffTarget(), turns.Total()))
	if turns.Reversing > 0.001*turns.Total() {
		s += fmt.Sprintf(", %s of it under a bar's end that stood or ran backward", words.Share(turns.Reversing, turns.Total()))
	}
	return s + "."
}

// turnChart draws the ground off its rate by class; nil where none is.
func (d *Document) turnChart() *chart.Chart {
	turns := &d.TurnRates
	total := turns.Total()
	if turns.OffTarget() == 0 {
		return nil
	}
	names := []string{"under half", "50 to 70 %", "70 to 90 %", "", "110 to 150 %", "150 to 200 %", "over double"}
	var bars []chart.Bar
	x := chart.Axis{Name: "share of the ground worked, %", Ticks: 4}
	add := func(name, class string, ground float64) {
		v := 100 * ground / total
		x.Most = max(x.Most, v)
		bars = append(bars, chart.Bar{Name: words.Same(name), Class: class, Value: v, Text: words.Same(words.Share(ground, total))})
	}
	for i, g := range turns.Ground {
		switch {
		case i < sweep.OnTarget:
			add(names[i]+" of the rate", "lean", g)
		case i > sweep.OnTarget:
			add(names[i]+" of the rate", "rich", g)
		}
	}
	add("ran backward", "off", turns.Reversing)
	says := d.doseSentence() + " " + words.Share(turns.Ground[sweep.OnTarget], total) + " is within 10 % of it, which is not drawn."
	if turns.Most > 0 {
		says += fmt.Sprintf(" The ends of the bar ranged from %s to %s of the set rate.", words.Percent(turns.Least), atMost(turns.Most))
	}
	return chart.NewBarsForPhone(words.Same("Rate in turns"), words.Same(words.Typeset(says)), x, bars)
}

// atMost writes the highest rate at a bar's end; "over ten times" where the end nearly
// stood, since the rate there grows without bound.
func atMost(v float64) string {
	if v > 10 {
		return "over ten times"
	}
	return words.Percent(v)
}
