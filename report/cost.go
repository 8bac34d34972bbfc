package report

import (
	"fmt"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// What it cost and when the rest will be done, in words.

// wasteCause writes a cause of waste for people.
func wasteCause(c coverage.Cause) string {
	switch c {
	case agronomy.BeyondBoundary:
		return "outside the boundary"
	case coverage.Turn:
		return "in turns"
	case coverage.ReWorked:
		return "worked again"
	}
	return causeWords(c)
}

// remedy says what mends a cause of waste.
func remedy(c coverage.Cause) string {
	switch c {
	case coverage.ReWorked:
		return "lift or shut off on ground already done"
	case coverage.RoundClosing:
		return "lift where the round began"
	case coverage.Turn:
		return "lift before the turn"
	case coverage.OntoHeadland:
		return "lift and lower at the edge of the headland"
	case coverage.PointRows:
		return "shut sections as the rows run out"
	case coverage.BetweenMachines:
		return "agree where one machine's ground ends and the next one's begins"
	case coverage.BetweenPasses:
		return "drive passes nearer to the full width apart"
	case agronomy.BeyondBoundary:
		return "shut off at the boundary"
	}
	return ""
}

// bestChange says which one change would save most, and what; "" where
// nothing was wasted that has a cause.
func (r *Report) bestChange(u quantity.Units) string {
	if len(r.Changes) == 0 {
		return ""
	}
	return saving(u, &r.Changes[0], func(i int) string { return r.Accounts[i].Product.Name })
}

// saving says what mending one cause saves at most.
func saving(u quantity.Units, c *agronomy.Change, product func(i int) string) string {
	var saves []string
	if c.Cost != nil {
		saves = append(saves, money(*c.Cost, c.Currency))
	}
	for i := range c.Saves {
		if s := wasted(u, product(i), &c.Saves[i]); s != "" {
			saves = append(saves, s)
		}
	}
	s := "Most to save: " + remedy(c.Cause) + " (" + wasteCause(c.Cause) + ")"
	if len(saves) > 0 {
		s += ": " + strings.Join(saves, ", ")
	}
	return s + "."
}

// wasted says what was wasted of a product: as nitrogen where it is there for
// that.
func wasted(u quantity.Units, name string, a *agronomy.Amount) string {
	name = plain(name, 30)
	switch {
	case a.Ground == 0:
		return ""
	case a.N != nil && *a.N > 0:
		return fmt.Sprintf("%s N in %s", u.Mass(*a.N), name)
	case a.Mass != nil:
		return u.Mass(*a.Mass) + " " + name
	case a.Volume != nil:
		return u.Volume(*a.Volume) + " " + name
	}
	return ""
}

// money writes an amount of a currency.
func money(v float64, currency string) string {
	return quantity.Number(v, 2) + " " + plain(currency, 8)
}

// skipLoss says what the skips cost; "" without a crop or without skips.
func (r *Report) skipLoss(u quantity.Units) string {
	l := r.Loss
	switch {
	case l == nil || l.Ground == 0:
		return ""
	case l.Value == nil:
		return fmt.Sprintf("Skips cost %s of crop.", u.Mass(l.Crop))
	case l.Net == nil:
		return fmt.Sprintf("Skips cost %s of crop (%s).", money(*l.Value, l.Currency), plain(strings.Join(l.Unsaid, "; "), 120))
	case *l.Unspent == 0:
		return fmt.Sprintf("Skips cost %s of crop.", money(*l.Value, l.Currency))
	}
	return fmt.Sprintf("Skips cost %s: %s of crop, less %s of product not spent there.",
		money(*l.Net, l.Currency), money(*l.Value, l.Currency), money(*l.Unspent, l.Currency))
}

// doseSentence says how much ground turns left off its rate; "" where there
// is nothing to say.
func (r *Report) doseSentence() string {
	d := &r.Dose
	if d.OffTarget() == 0 {
		return ""
	}
	s := fmt.Sprintf("Turns left %s of the ground swept more than 10 %% off its rate", share(d.OffTarget(), d.Total()))
	if d.Reversing > 0.001*d.Total() {
		s += fmt.Sprintf(", %s of it under a bar's end that stood or ran backward", share(d.Reversing, d.Total()))
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
	s := "Done about " + timeOfDay(r.local(f.Finish), r.local(f.Now))
	if early, late := timeOfDay(r.local(f.Early), r.local(f.Now)), timeOfDay(r.local(f.Late), r.local(f.Now)); f.Late != 0 && early != late {
		s += " (" + early + " to " + late + ")"
	}
	s += " at the pace so far" + r.againstRain(u)
	since := "Counted from the end of the last pass, " + dated(r.local(f.Now))
	if r.RainAt != nil && geo.InstantOf(*r.RainAt) <= f.Now {
		since += "; the rain was expected before that, at " + dated(r.local(geo.InstantOf(*r.RainAt)))
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
	by := " before the rain expected at " + timeOfDay(r.local(rain), r.local(f.Now))
	left := "; " + u.Area(f.By(rain)) + " would be left then."
	switch beforeRain(f, rain) {
	case "yes":
		return "," + by + "."
	case "likely":
		return ", likely" + by + "."
	case "unlikely":
		return ", likely not" + by + left
	}
	return ", not" + by + left
}

// dated writes a time with its date.
func dated(t time.Time) string {
	s := t.Format("2 Jan 2006 15:04")
	if t.Location() == time.UTC {
		s += " UTC"
	}
	return s
}

// timeOfDay writes a time of day, with its date where that is another than the
// one of now.
func timeOfDay(t, now time.Time) string {
	layout := "15:04"
	if t.YearDay() != now.YearDay() || t.Year() != now.Year() {
		layout = "2 Jan 15:04"
	}
	s := t.Format(layout)
	if t.Location() == time.UTC {
		s += " UTC"
	}
	return s
}

func (r *Report) local(i geo.Instant) time.Time { return i.Time().In(r.zone()) }

// zone is the time zone for people.
func (r *Report) zone() *time.Location {
	if r.Zone == nil || r.Zone.String() == "UTC" {
		return time.UTC
	}
	return r.Zone
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
		of := func(d time.Duration) string { return percent(d.Seconds() / c.FieldTime().Seconds()) }
		rows = append(rows, timeRow{
			r.machineName(c.Machine), hours(c.FieldTime()), of(c.Working), of(c.Turning), of(c.Standing), of(c.Stopped), of(c.Travelling),
			u.CapacityFigure(c.Capacity()), percent(c.Efficiency()),
		})
	}
	return rows
}

// percent writes a share in whole per cent.
func percent(v float64) string { return quantity.Number(100*v, 0) + " %" }

// hours writes hours and minutes.
func hours(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	return fmt.Sprintf("%d:%02d", minutes/60, minutes%60)
}

// tankWords says how far the tank of a product went on one machine, and
// whether it ran dry at work.
func (r *Report) tankWords(u quantity.Units, a *agronomy.Account, l *agronomy.Ledger) string {
	s := fmt.Sprintf("Tank of %s, %s: %s a fill; %s expected", plain(a.Product.Name, 30),
		plain(a.Map.Machines[l.Machine].Name, 30), u.SquareMetres(l.Ground), count(l.Expected, "fill"))
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
		s += fmt.Sprintf(" Likely dry %s: %s worked without (%s).", r.markWords(u, a.Map, d.From), u.SquareMetres(d.Ground), why)
	}
	return s
}

// markWords says where a tank was filled or empty. The passes of a product
// with a working column of its own have other numbers than the machine's.
func (r *Report) markWords(u quantity.Units, m *coverage.Map, at agronomy.Mark) string {
	when := ""
	if clockOn(m, &m.Passes[at.Pass-1]) {
		when = ", " + r.local(at.Time).Format("2 Jan 15:04")
	}
	if m != r.Map {
		e := m.Field.Frame.ToEarth(at.At)
		return lonLat(e.Lon, e.Lat) + when
	}
	return fmt.Sprintf("%s along pass %d%s", u.Length(at.Along), at.Pass, when)
}
