package season

import (
	"cmp"
	_ "embed"
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/lapsum"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed learn.html
var learnHTML string

var learnPage = page.NewTemplate(learnHTML)

// The learnContents are everything on the page of an operator.
type learnContents struct {
	page.Base
	Answer    words.Text
	Kind      string
	Block     []page.Entry
	Charts    []*chart.Chart
	Days      page.Table
	Hangs     []words.Text
	PassesSay string
	Passes    []dayPasses
	Table     string // the file beside the page
}

// The dayPasses are the passes of one day.
type dayPasses struct {
	Says  words.Text
	Open  bool
	Table page.Table
}

// Page writes the operator's page: how the lap was kept, for who learns to drive the line.
func (o *operator) Page(w io.Writer) error {
	p := &learnContents{
		Base:   page.New(o.Units, o.name, "the lap kept", o.run()),
		Kind:   "This page is to learn by: it says nothing of anybody else, and a lap is as much the ground's, the receiver's and the machine's as it is the driver's.",
		Answer: o.sentences(o.answer), Block: o.block(), Charts: o.charts(), Days: o.dayTable(), Hangs: o.hangWords(),
		Table: path.Base(o.table()),
	}
	p.Styled("learn.css")
	p.Book = "../" + PageFile
	p.PassesSay, p.Passes = o.passTables()
	p.Notes = learnNotes()
	return learnPage.Execute(w, p)
}

// answer says how the lap was kept, in sentences.
func (o *operator) answer(u quantity.Units) []string {
	all, days := o.sum(o.passes...), o.days()
	if all.Passes == 0 {
		return []string{"No pass ran straight beside ground of its kind that was worked before: there is no lap to tell of yet."}
	}
	on := words.Count(len(days), "day")
	if days[0].day == "" {
		on = "a day that the log does not tell"
	}
	kept := "a lap of "
	if all.Kept < 0 {
		kept = "a gap of "
	}
	out := []string{fmt.Sprintf("On the mean %s%s was kept where %s; spread %s, %s on %s.",
		kept, words.LapLength(u, math.Abs(all.Kept)), aimWords(u, &all), words.LapLength(u, all.Spread), words.Count(all.Passes, "pass"), on)}
	if all.Spread <= all.Receiver {
		out = append(out, fmt.Sprintf("The receivers alone move such a lap by about %s, so no steadier line could be told from these logs.", words.LapLength(u, all.Receiver)))
	} else {
		out = append(out, fmt.Sprintf("The receivers alone move such a lap by about %s.", words.LapLength(u, all.Receiver)))
	}
	withLaps := slices.DeleteFunc(days, func(d workDay) bool { return d.laps.Passes == 0 || d.day == "" })
	if len(withLaps) > 1 {
		first, last := &withLaps[0], &withLaps[len(withLaps)-1]
		out = append(out, fmt.Sprintf("Spread on the first day %s, on the last %s.", words.LapLength(u, first.laps.Spread), words.LapLength(u, last.laps.Spread)))
	}
	return out
}

// aimWords say what was aimed for, and whether the job says so.
func aimWords(u quantity.Units, l *lapsum.Sum) string {
	if !l.Planned {
		return "the job plans none, and bars are taken to meet edge to edge"
	}
	if l.LeastAimed < l.MostAimed {
		return words.LapLength(u, l.Aimed) + " was aimed for on the mean"
	}
	return words.LapLength(u, l.Aimed) + " was aimed for"
}

func (o *operator) block() []page.Entry {
	all := o.sum(o.passes...)
	var machines []string
	fields := map[*Entry]bool{}
	for _, p := range o.passes {
		fields[p.entry] = true
		if name := words.Name(p.Machine); !slices.Contains(machines, name) {
			machines = append(machines, name)
		}
	}
	slices.Sort(machines)
	out := []page.Entry{
		{Name: "Fields", Text: words.Same(fmt.Sprint(len(fields)))},
		{Name: "Passes", Text: words.Same(quantity.Number(float64(len(o.passes)), 0))},
		{Name: "Beside earlier work", Text: words.Both(o.Units, func(u quantity.Units) string { return u.Metres(all.Along) })},
		{Name: "Machines", Text: words.Same(strings.Join(machines, ", "))},
	}
	if o.machine {
		out[3] = page.Entry{Name: "Operator", Text: words.Same("not named in the job")}
	}
	return out
}

// dayName is a day for people.
func dayName(day, layout string) string {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return "no clock"
	}
	return at.Format(layout)
}

const wholeDay = "2 Jan 2006"

// lapColumns head what a row tells of a lap, and lapCells are that.
func lapColumns() []page.Column {
	return []page.Column{page.Figures("Beside earlier work"), page.Figures("Lap aimed for"), page.Figures("Lap kept"), page.Figures("Off the aim"), page.Figures("Spread"), page.Figures("Receiver")}
}

// noLap sorts below every lap, in metres.
const noLap = -1e9

func lapCells(w *sorting, u quantity.Units, l *lapsum.Sum) {
	w.figure(words.Both(u, func(u quantity.Units) string { return u.Metres(l.Along) }), l.Along)
	if l.Passes == 0 {
		for range len(lapColumns()) - 1 {
			w.figure(words.Text{}, noLap)
		}
		return
	}
	w.figure(words.Both(u, func(u quantity.Units) string {
		if !l.Planned {
			return "edge to edge"
		}
		return words.LapLength(u, l.Aimed)
	}), l.Aimed)
	for _, v := range []float64{l.Kept, l.Kept - l.Aimed} {
		w.figure(words.Both(u, func(u quantity.Units) string { return words.SignedLap(u, v) }), v)
	}
	for _, v := range []float64{l.Spread, l.Receiver} {
		w.figure(words.Both(u, func(u quantity.Units) string { return words.LapLength(u, v) }), v)
	}
}

// dayTable has a row for each day, the last one first.
func (o *operator) dayTable() page.Table {
	t := page.Table{
		ID: "days", Label: "Table of days", Sorts: true, Empty: "No passes.",
		Caption: "Below zero is a gap. Receiver is what the receivers alone move such a lap by: a spread of that size is none of the driver's.",
		Columns: append([]page.Column{page.Classed("Day", "when"), page.Figures("Passes")}, lapColumns()...),
	}
	for _, d := range slices.Backward(o.days()) {
		var w sorting
		w.text(words.Same(dayName(d.day, wholeDay)))
		w.figure(words.Same(fmt.Sprint(len(d.passes))), float64(len(d.passes)))
		lapCells(&w, o.Units, &d.laps)
		w.put(&t).Cells[0].Sort = d.day
	}
	return t
}

// mostPasses is how many passes stand on the page; all of them are in the table beside
// it. A page of so many has half a megabyte.
const mostPasses = 600

// passTables list the passes, the last day first.
func (o *operator) passTables() (says string, out []dayPasses) {
	says = "The last day first. A pass is listed where ground of its kind that was worked before lies straight beside it: only there a lap is kept."
	listed := 0
	for _, d := range slices.Backward(o.days()) {
		if d.laps.Passes == 0 {
			continue
		}
		if listed+d.laps.Passes > mostPasses && listed > 0 {
			says += fmt.Sprintf(" The last %s stand here.", words.Count(listed, "pass"))
			break
		}
		listed += d.laps.Passes
		p := dayPasses{Open: len(out) == 0, Says: words.Both(o.Units, func(u quantity.Units) string {
			return fmt.Sprintf("%s: %s, lap kept %s, spread %s", dayName(d.day, wholeDay), words.Count(d.laps.Passes, "pass"), words.SignedLap(u, d.laps.Kept), words.LapLength(u, d.laps.Spread))
		})}
		p.Table = page.Table{
			Label: "Table of passes, " + dayName(d.day, wholeDay), Sorts: true, Caption: "In the order driven.",
			Columns: append([]page.Column{page.Figures("Pass"), page.Names("Field", "name"), page.Names("Machine", "name"), page.Words("Kind")}, lapColumns()...),
		}
		for _, one := range told(d.passes) {
			var w sorting
			l := o.sum(one)
			w.figure(words.Same(fmt.Sprint(one.ID)), float64(one.ID))
			w.text(words.Same(one.entry.Name()))
			w.text(words.Same(one.Machine))
			w.text(words.Same(one.Kind))
			lapCells(&w, o.Units, &l)
			w.put(&p.Table).Cells[1].Link = "../" + one.entry.page()
		}
		out = append(out, p)
	}
	return says, out
}

// When a bar hangs to one side. Judgement: two inches more on the one side and less on the
// other are more than hand steering favours one by.
const (
	leastHang = 2 * quantity.Inch
	mostHangs = 6 // sentences
)

// hangWords say which machines lap otherwise on the left than on the right, by more than
// their receivers do; the most first.
func (o *operator) hangWords() []words.Text {
	passes := map[machineOn][]drivenPass{}
	var all []machineOn
	for _, p := range o.passes {
		on := machineOn{p.entry, p.Machine}
		if passes[on] == nil {
			all = append(all, on)
		}
		passes[on] = append(passes[on], p)
	}
	slices.SortStableFunc(all, func(a, b machineOn) int { return cmp.Compare(math.Abs(o.hangs[b]), math.Abs(o.hangs[a])) })
	var out []words.Text
	for _, on := range all {
		l := o.sum(passes[on]...)
		if hang := math.Abs(o.hangs[on]); hang < leastHang || hang < l.Receiver || len(out) == mostHangs {
			continue
		}
		out = append(out, words.Both(o.Units, func(u quantity.Units) string {
			return fmt.Sprintf("%s on %s: %s of lap on the left, %s on the right (below zero a gap).", words.Name(on.machine), words.Name(on.entry.Name()), words.SignedLap(u, l.Left.Kept), words.SignedLap(u, l.Right.Kept))
		}))
	}
	return out
}

func learnNotes() []string {
	return []string{
		"A lap is kept by who comes second, to the ground that was worked before, on straight stretches: turns are left out, and so is what interior passes lap the headland by, which the field's width decides. Between two passes the side counts that is nearer to the aim.",
		"Lap aimed for: of rounds on the headland the job's headland.lap, else the machine's lap. Where the job plans none, bars are taken to meet edge to edge: that is the plan's silence, and perhaps not what you aimed for.",
		"Mean is by length. Spread is one standard deviation, as the middle 68 % tell it, so that a stretch or a pass round an obstacle does not make it; of several passes, within them and between their means. What a bar hangs to one side is left out of it.",
		"Receiver is one standard deviation of what the receivers are known to move two places apart by, in the time between the two passes, by the quality of their fixes or the job's gnss. It is not taken off.",
		"Days are those of the job's time zone.",
	}
}

// The charts.

// mostDots is how many passes, or days, a chart has room for.
const mostDots = 100

// fewDates is how many dates have room below a chart; of more, the first and the last
// stand there.
const fewDates = 6

// charts are the laps by day and by pass; none where there are none.
func (o *operator) charts() []*chart.Chart {
	var days, passes []lapsum.Sum
	var dates []string
	for _, d := range o.days() {
		if d.laps.Passes > 0 {
			days, dates = append(days, d.laps), append(dates, d.day)
		}
	}
	kept := told(o.passes)
	if len(kept) == 0 {
		return nil
	}
	for _, p := range kept[max(0, len(kept)-mostDots):] {
		passes = append(passes, o.sum(p))
	}
	if n := len(days) - mostDots; n > 0 {
		days, dates = days[n:], dates[n:]
	}
	byDay := o.chart("Day by day", "Each day", "days of work", days)
	few, layout := len(dates) <= fewDates, "2 Jan"
	if first, last := dates[0], dates[len(dates)-1]; first != "" && last != "" && first[:4] != last[:4] {
		few, layout = false, wholeDay
	}
	for i, day := range dates {
		if few || i == 0 || i == len(dates)-1 {
			byDay.Foot(float64(i), words.Same(dayName(day, layout)))
		}
	}
	return []*chart.Chart{byDay, o.chart("Pass by pass", fmt.Sprintf("Each of the last %s", words.Count(len(passes), "pass")), "passes, in the order driven", passes)}
}

// chart draws laps in their order, against the aim and what the receivers move them by.
func (o *operator) chart(title, each, along string, laps []lapsum.Sum) *chart.Chart {
	tick := float64(plane.Metre)
	us, metric := chart.LengthScales()
	us.Unit, us.One = "in", us.One/12
	metric.Unit, metric.One = "cm", metric.One/100
	var reaches []float64
	low, high := 0.0, 0.0
	for _, l := range laps {
		low, high = min(low, l.Aimed-l.Receiver), max(high, l.Aimed+l.Receiver)
		reaches = append(reaches, math.Abs(l.Kept-l.Aimed)+l.Spread)
	}
	// One pass round an obstacle would leave no height for all others.
	slices.Sort(reaches)
	const usual, times = 0.9, 1.5
	most := times * reaches[int(usual*float64(len(reaches)-1))]
	beyond := 0
	for _, l := range laps {
		low, high = min(low, max(l.Kept-l.Spread, l.Aimed-most)), max(high, min(l.Kept+l.Spread, l.Aimed+most))
		if l.Kept < l.Aimed-most || l.Kept > l.Aimed+most {
			beyond++
		}
	}
	more := ""
	if beyond > 0 {
		more = fmt.Sprintf(" %s farther off: drawn at the edge.", map[bool]string{true: "One is", false: fmt.Sprint(beyond) + " are"}[beyond == 1])
	}
	end := float64(max(1, len(laps)-1))
	c := chart.NewForPhone(words.Same(title), words.Same(each+": a dot for the mean lap, an upright of one spread either way. Dashed is the lap aimed for, grey what the receivers alone move it by."+more),
		chart.Axis{Name: along, Least: -0.5, Most: end + 0.5},
		chart.Axis{Name: "lap up, gap down", US: us, Metric: metric, Least: 1.1 * low * tick, Most: 1.1 * high * tick, Ticks: 4})
	var aim, under, over []chart.Point
	var spans []chart.Span
	for i, l := range laps {
		for _, x := range []float64{float64(i) - 0.5, float64(i) + 0.5} {
			aim = append(aim, chart.Point{X: x, Y: l.Aimed * tick})
			under = append(under, chart.Point{X: x, Y: (l.Aimed - l.Receiver) * tick})
			over = append(over, chart.Point{X: x, Y: (l.Aimed + l.Receiver) * tick})
		}
		spans = append(spans, chart.Span{X: float64(i), Low: (l.Kept - l.Spread) * tick, Middle: l.Kept * tick, High: (l.Kept + l.Spread) * tick})
	}
	c.Ribbon("wander", under, over)
	c.Line("aim", aim)
	c.Spreads(spans)
	return c
}
