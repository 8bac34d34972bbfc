package report

import (
	"fmt"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/words"
)

// What it cost and when the rest will be done, in words.

// bestChange says which one change would save most, and what; "" where
// nothing was wasted that has a cause.
func (r *Report) bestChange(u quantity.Units) string {
	if len(r.Changes) == 0 {
		return ""
	}
	return words.Saving(u, &r.Changes[0], func(i int) string { return r.Accounts[i].Product.Name })
}

// skipLoss says what the skips cost; "" without a crop or without skips.
func (r *Report) skipLoss(u quantity.Units) string {
	l := r.Loss
	switch {
	case l == nil || l.Area == 0:
		return ""
	case l.Value == nil:
		return fmt.Sprintf("Skips cost %s of crop.", u.Mass(l.Crop))
	case l.Net == nil:
		return fmt.Sprintf("Skips cost %s of crop (%s).", words.Money(*l.Value, l.Currency), words.Plain(strings.Join(l.Unsaid, "; "), 120))
	case *l.Unspent == 0:
		return fmt.Sprintf("Skips cost %s of crop.", words.Money(*l.Value, l.Currency))
	}
	return fmt.Sprintf("Skips cost %s: %s of crop, less %s of product not spent there.",
		words.Money(*l.Net, l.Currency), words.Money(*l.Value, l.Currency), words.Money(*l.Unspent, l.Currency))
}

// doseSentence says how much ground turns left off its rate; "" where there
// is nothing to say.
func (r *Report) doseSentence() string {
	d := &r.TurnRates
	if d.OffTarget() == 0 {
		return ""
	}
	s := fmt.Sprintf("Turns left %s of the ground swept more than 10 %% off its rate", words.Share(d.OffTarget(), d.Total()))
	if d.Reversing > 0.001*d.Total() {
		s += fmt.Sprintf(", %s of it under a bar's end that stood or ran backward", words.Share(d.Reversing, d.Total()))
	}
	return s + "."
}

// finish says when the ground left will be worked, and whether that is before
// the rain; "" where nothing is left but skips, or nobody can tell.
func (r *Report) finish(u quantity.Units) string {
	f := r.Forecast
	if f == nil || r.Map.Ground.Remainder == 0 {
		return ""
	}
	s := "Done about " + words.TimeOfDay(r.Local(f.Finish), r.Local(f.Now))
	if early, late := words.TimeOfDay(r.Local(f.Early), r.Local(f.Now)), words.TimeOfDay(r.Local(f.Late), r.Local(f.Now)); f.Late != 0 && early != late {
		s += " (" + early + " to " + late + ")"
	}
	s += " at the pace so far" + r.againstRain(u)
	since := "Counted from the end of the last pass, " + words.Dated(r.Local(f.Now))
	if r.RainAt != nil && geo.InstantOf(*r.RainAt) <= f.Now {
		since += "; the rain was expected before that, at " + words.Dated(r.Local(geo.InstantOf(*r.RainAt)))
	}
	return s + " " + since + "."
}

// againstRain ends the sentence on the finish by whether it is before the rain.
func (r *Report) againstRain(u quantity.Units) string {
	f := r.Forecast
	if r.RainAt == nil {
		return "."
	}
	rain := geo.InstantOf(*r.RainAt)
	if rain <= f.Now {
		return "."
	}
	by := " before the rain expected at " + words.TimeOfDay(r.Local(rain), r.Local(f.Now))
	left := "; " + u.Area(f.By(rain)) + " would be left then."
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

// A timeRow is one line of the table of times.
type timeRow struct {
	Machine                         string
	Field                           string // h:min
	Work, Turn, Stand, Stop, Travel string // shares of it
	Capacity, Efficiency            string
}

func (r *Report) timeRows(u quantity.Units) []timeRow {
	var rows []timeRow
	for i := range r.Clocks {
		c := &r.Clocks[i]
		of := func(d time.Duration) string { return words.Percent(d.Seconds() / c.FieldTime().Seconds()) }
		rows = append(rows, timeRow{
			r.MachineName(c.Machine), words.Hours(c.FieldTime()), of(c.Working), of(c.Turning), of(c.Standing), of(c.Stopped), of(c.Travelling),
			u.CapacityFigure(c.Capacity()), words.Percent(c.Efficiency()),
		})
	}
	return rows
}

// tankWords says how far the tank of a product went on one machine, and
// whether it ran dry at work.
func (r *Report) tankWords(u quantity.Units, a *agronomy.Account, l *agronomy.Ledger) string {
	s := fmt.Sprintf("Tank of %s, %s: %s a fill; %s expected", words.Plain(a.Product.Name, 30),
		words.Plain(a.Map.Machines[l.Machine].Name, 30), u.SquareMetres(l.FillArea), words.Count(l.Expected, "fill"))
	if l.Reported > 0 {
		s += fmt.Sprintf(", %d reported", l.Reported)
	}
	if last := l.Fills[len(l.Fills)-1]; len(l.Dry) == 0 && l.DryBy != agronomy.ByCount {
		s += fmt.Sprintf(", %s left in the last", u.Volume(last.Left))
	}
	s += "."
	for i, d := range l.Dry {
		if i == 3 {
			return s + " And more."
		}
		why := "the crew reported too few fills for it"
		switch l.DryBy {
		case agronomy.ByTimes:
			why = "by the reported times"
		case agronomy.ByStops:
			why = "no stop of 3 minutes to fill at"
		}
		if l.DryBy == agronomy.ByRate {
			break // the sentence on the rate tells
		}
		s += fmt.Sprintf(" Likely dry %s: %s worked without (%s).", r.markWords(u, a.Map, d.From), u.SquareMetres(d.Area), why)
	}
	return s
}

// markWords says where a tank was filled or empty. The passes of a product
// with a working column of its own have other numbers than the machine's.
func (r *Report) markWords(u quantity.Units, m *coverage.Map, at agronomy.Mark) string {
	when := ""
	if assess.HasClock(m, &m.Passes[at.Pass-1]) {
		when = ", " + r.Local(at.Time).Format("2 Jan 15:04")
	}
	if m != r.Map {
		e := m.Field.Frame.ToEarth(at.At)
		return assess.LonLat(e.Lon, e.Lat) + when
	}
	return fmt.Sprintf("%s along pass %d%s", u.Length(at.Along), at.Pass, when)
}
