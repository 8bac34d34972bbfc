package field

import (
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/chart"
	"lapwing/report/words"
)

// finish says when the ground left will be worked, and whether that is before
// the rain; "" where only skips are left, or no log has times.
func (d *Document) finish(u quantity.Units) string {
	f := d.Forecast
	if f == nil || d.Map.Totals.Remainder == d.Map.Totals.Yards {
		return ""
	}
	s := "Done about " + words.TimeOfDay(d.Local(f.Finish), d.Local(f.Now))
	if early, late := words.TimeOfDay(d.Local(f.Early), d.Local(f.Now)), words.TimeOfDay(d.Local(f.Late), d.Local(f.Now)); f.Late != 0 && early != late {
		s += " (" + early + " to " + late + ")"
	}
	s += " at the pace so far" + d.againstRain(u)
	since := "Counted from the end of the last pass, " + words.Dated(d.Local(f.Now))
	if d.RainAt != nil && geo.InstantOf(*d.RainAt) <= f.Now {
		since += "; the rain was expected before that, at " + words.Dated(d.Local(geo.InstantOf(*d.RainAt)))
	}
	return s + " " + since + "."
}

// againstRain ends the sentence on the finish by whether it is before the rain.
func (d *Document) againstRain(u quantity.Units) string {
	f := d.Forecast
	if d.RainAt == nil {
		return "."
	}
	rain := geo.InstantOf(*d.RainAt)
	if rain <= f.Now {
		return "."
	}
	by := " before the rain expected at " + words.TimeOfDay(d.Local(rain), d.Local(f.Now))
	left := "; " + u.Area(f.By(rain)) + " would not be worked by then."
	switch assess.BeforeRain(f, rain) {
	case "yes":
		return "," + by + "."
	case "likely":
		return ", likely" + by + "."
	case "unlikely":
		return ", likely not" + by + left
	}
	return ", not" + by + left
}

// finishChart draws the ground left against the time to come, with the
// interval of the finish and the rain; nil without a forecast.
func (d *Document) finishChart() *chart.Chart {
	f := d.Forecast
	if f == nil {
		return nil
	}
	after := func(t geo.Instant) float64 { return t.Sub(f.Now).Hours() }
	x := chart.Axis{Name: "hours after " + words.TimeOfDay(d.Local(f.Now), d.Local(f.Now)), Most: 1.08 * max(after(f.Finish), after(f.Late)), Ticks: 5}
	rain := -1.0
	if d.RainAt != nil {
		if rain = after(geo.InstantOf(*d.RainAt)); rain > 0 && rain < 4*x.Most {
			x.Most = max(x.Most, 1.08*rain)
		}
	}
	y := chart.AreaAxis("not worked yet")
	y.Most = float64(f.Left)
	c := chart.NewForPhone(words.Same("When it will be done"), d.both(d.finish), x, y)
	if f.Late != 0 {
		c.Band("silent", after(f.Early), after(f.Late))
	}
	c.Line("line", []chart.Point{{X: 0, Y: float64(f.Left)}, {X: after(f.Finish), Y: 0}})
	if rain > 0 && rain <= x.Most {
		c.Upright(rain, words.Same("rain"), "end", 10)
	}
	return c
}
