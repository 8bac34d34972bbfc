package years

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/book"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// causeName writes a cause of waste for people.
func causeName(c cause.OverlapCause) string {
	switch c {
	case book.TooSmall:
		return "too small to look into"
	case "":
		return "cause not told"
	}
	return words.WasteCause(c)
}

// lastYear is the last year of a list.
func lastYear[T any](list []T, year func(*T) int) (last int) {
	for i := range list {
		last = max(last, year(&list[i]))
	}
	return last
}

// A yearly sum of waste, over all farms.
type yearly struct {
	n, area float64
	causes  map[cause.OverlapCause]float64
}

// byYear sums waste up over farms.
func (d *Document) byYear() map[int]*yearly {
	out := map[int]*yearly{}
	seen := map[string]bool{}
	for i := range d.Wasted {
		w := &d.Wasted[i]
		y := out[w.Year]
		if y == nil {
			y = &yearly{causes: map[cause.OverlapCause]float64{}}
			out[w.Year] = y
		}
		y.n += w.N
		y.causes[w.Cause] += w.N
		if key := fmt.Sprint(w.Year, w.Farm); !seen[key] {
			seen[key] = true
			y.area += w.Area
		}
	}
	return out
}

// ranked are the causes of a year, the most first; a cause that is none comes last.
func (y *yearly) ranked() []cause.OverlapCause {
	var out []cause.OverlapCause
	for c := range y.causes {
		out = append(out, c)
	}
	none := func(c cause.OverlapCause) int {
		if c == "" || c == book.TooSmall {
			return 1
		}
		return 0
	}
	slices.SortFunc(out, func(a, b cause.OverlapCause) int {
		return cmp.Or(cmp.Compare(none(a), none(b)), cmp.Compare(y.causes[b], y.causes[a]), cmp.Compare(a, b))
	})
	return out
}

// answer says the most pressing of all of it.
func (d *Document) answer() words.Text {
	if len(d.Hours) == 0 && len(d.Sections) == 0 {
		return words.Same("Nothing stands in the book that you may see: once fields are put into it, this page answers.")
	}
	return d.both(func(u quantity.Units) string {
		text := ""
		if all := d.byYear(); len(all) > 0 {
			last := lastYear(d.Wasted, func(w *book.WastedNitrogen) int { return w.Year })
			y := all[last]
			text = fmt.Sprintf("%s of nitrogen went to waste %s, %s %s", u.Mass(y.n), inYear(last), perArea(u, y.n, y.area), perAreaUnit(u))
			if worst := y.ranked()[0]; y.n > 0 {
				text += fmt.Sprintf("; most of it %s, %s", causeName(worst), words.Share(y.causes[worst], y.n))
			}
			text += ". "
		}
		switch n := len(d.Returns); {
		case d.More:
			text += fmt.Sprintf("Skips came back in more than %s. ", words.Count(n, "place"))
		case n > 0:
			text += fmt.Sprintf("Skips came back in %s. ", words.Count(n, "place"))
		default:
			text += "No skip came back. "
		}
		if n := len(d.suspects()); n > 0 {
			text += fmt.Sprintf("%s to have a width or an offset that is mis-set.", words.Capital(words.Count(n, "machine")+verb(n, " looks", " look")))
		} else {
			text += "No machine looks mis-set."
		}
		return text
	})
}

func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// wasted is the nitrogen, with a row for all causes before those of each farm and year.
func (d *Document) wasted() (says words.Text, t page.Table, bars *chart.Chart) {
	t = page.Table{
		ID: "nitrogen", Label: "Table of nitrogen wasted", Empty: "No product of any job says what nitrogen is in it: there is nothing to reckon.",
		Caption: "Farm by farm, the last year first, and the most first; the causes make the whole.",
		Columns: []page.Column{page.Names("Farm", "name"), page.Words("Year"), page.Words("Cause"), page.FiguresIn("N wasted", d.unit("lb", "kg")),
			page.FiguresIn("On the field's ground", d.unit("lb/ac", "kg/ha")), page.Figures("Share"), page.Classed("What mends it", "where")},
	}
	all := d.byYear()
	if len(all) == 0 {
		return words.Same("What was wasted is told in pounds of nitrogen, for that is what one pays for, whatever the product."), t, nil
	}
	for i := 0; i < len(d.Wasted); {
		first := &d.Wasted[i]
		end, sum := i, 0.0
		for ; end < len(d.Wasted) && d.Wasted[end].Farm == first.Farm && d.Wasted[end].Year == first.Year; end++ {
			sum += d.Wasted[end].N
		}
		add := func(cause string, n float64, mends string) *page.Row {
			w := d.line(farmName(first.Farm))
			w.year(first.Year)
			w.text(words.Same(cause))
			w.mass(n)
			w.figure(n/max(first.Area, 1), func(u quantity.Units) string { return perArea(u, n, first.Area) })
			w.text(words.Same(words.Share(n, sum)))
			w.text(words.Same(mends))
			return w.put(&t)
		}
		add("All causes", sum, "")
		for _, w := range d.Wasted[i:end] {
			if w.N > 0 {
				add(words.Capital(causeName(w.Cause)), w.N, words.Capital(words.Remedy(w.Cause))).Class = "part"
			}
		}
		i = end
	}
	last := lastYear(d.Wasted, func(w *book.WastedNitrogen) int { return w.Year })
	says = d.both(func(u quantity.Units) string {
		text := ""
		var years []int
		for year := range all {
			years = append(years, year)
		}
		slices.Sort(years)
		for i, year := range slices.Backward(years) {
			if len(years)-i > 4 {
				break
			}
			text += fmt.Sprintf("%s: %s, %s %s. ", words.Capital(yearName(year)), u.Mass(all[year].n), perArea(u, all[year].n, all[year].area), perAreaUnit(u))
		}
		return strings.TrimSpace(text)
	})
	return says, t, d.causeBars(last, all[last])
}

// causeBars draw the causes of a year over all farms.
func (d *Document) causeBars(year int, y *yearly) *chart.Chart {
	if !(y.n > 0) {
		return nil
	}
	x := chart.Axis{Name: "nitrogen wasted", US: chart.Scale{Unit: "lb", One: quantity.Pound}, Metric: chart.Scale{Unit: "kg", One: 1}, Ticks: 3}
	var bars []chart.Bar
	for _, c := range y.ranked() {
		n := y.causes[c]
		if !(n > 0) {
			continue
		}
		class := "overlap"
		switch c {
		case agronomy.BeyondBoundary:
			class = "overreach"
		case "", book.TooSmall:
			class = "off"
		}
		x.Most = max(x.Most, n)
		bars = append(bars, chart.Bar{Name: words.Same(causeName(c)), Class: class, Value: n, Text: d.both(func(u quantity.Units) string { return u.Mass(n) })})
	}
	return chart.NewBarsForPhone(words.Same("Why nitrogen was wasted "+inYear(year)), words.Same("All farms that are shown, the most first."), x, bars)
}

// returns are the pieces of ground that were skipped twice.
func (d *Document) returns() (says words.Text, t page.Table) {
	t = page.Table{
		ID: "again", Label: "Table of skips that come back", Sorts: true, Empty: "No ground was skipped in two years.",
		Caption: "The most ground first. The number is that of the skip on the page of its later year.",
		Columns: []page.Column{page.Names("Field", "name"), page.Names("Farm", "name"), page.Words("Skipped in"), page.Figures("Skipped both times"), page.Words("On its page"), page.Classed("Place", "wide")},
	}
	if len(d.Returns) == 0 {
		return words.Same("A skip in the same place again is seldom chance: a pole, a wet corner, a boundary drawn wrongly or a section that does not open."), t
	}
	sum := 0.0
	for i := range d.Returns {
		r := &d.Returns[i]
		sum += r.Area
		w := d.line(r.Field, farmName(r.Farm))
		w.by[2] = float64(r.Later)
		w.text(words.Same(fmt.Sprintf("%d and %d", r.Earlier, r.Later)))
		w.figure(r.Area, func(u quantity.Units) string { return u.SquareMetres(r.Area) })
		w.by[4] = float64(r.Skip)
		w.text(words.Same(fmt.Sprintf("skip %d", r.Skip)))
		w.text(words.Text{})
		row := w.put(&t)
		if d.FieldPage != nil {
			row.Cells[0].Link = d.FieldPage(r.Job, r.Part)
		}
		row.Leads(5, page.PlaceAt(r.At, fmt.Sprintf("place %d, %s", i+1, words.Name(r.Field)), words.Text{}))
	}
	says = d.both(func(u quantity.Units) string {
		text := fmt.Sprintf("%s in two years, %s of ground in all.", words.Capital(words.Count(len(d.Returns), "place")+verb(len(d.Returns), " was", " were")+" skipped"), u.SquareMetres(sum))
		if d.More {
			text = fmt.Sprintf("The largest %s that were skipped in two years, %s of ground in all; there are more.", words.Count(len(d.Returns), "place"), u.SquareMetres(sum))
		}
		return text + " A skip in the same place again is seldom chance: look for a pole, a wet corner, a boundary drawn wrongly or a section that does not open."
	})
	return says, t
}

// When a machine looks mis-set. Judgement: on three fields it is no one field's shape, and
// four of five leave one that was worked otherwise.
const (
	leastFields = 3
	steadyShare = 0.8
)

// look says how a machine looks; "" where nothing is steadily off.
func look(u quantity.Units, m *book.MachineWidth) string {
	steady := func(n, of int) bool { return of >= leastFields && float64(n) >= steadyShare*float64(of) }
	off := m.Kept - m.Aimed
	switch {
	case steady(m.HangsLeft, m.Sides), steady(m.HangsRight, m.Sides):
		side, n := "left", m.HangsLeft
		if m.Hang < 0 {
			side, n = "right", m.HangsRight
		}
		return fmt.Sprintf("On %d of %d fields it laps more on the %s: as if its bar hung %s to the %s. Measure it; write offset or antenna_right into the jobs.", n, m.Sides, side, words.LapLength(u, math.Abs(m.Hang)/2), side)
	case steady(m.Wide, m.Fields):
		return fmt.Sprintf("On %d of %d fields it laps %s more than was aimed for: the width that is steered by is too small, or that in the jobs too large.", m.Wide, m.Fields, words.LapLength(u, off))
	case steady(m.Narrow, m.Fields):
		return fmt.Sprintf("On %d of %d fields it laps %s less than was aimed for: the width that is steered by is too large, or that in the jobs too small.", m.Narrow, m.Fields, words.LapLength(u, -off))
	}
	return ""
}

// suspects are the machines that look mis-set in a year.
func (d *Document) suspects() (out []*book.MachineWidth) {
	for i := range d.Widths {
		if look(quantity.US, &d.Widths[i]) != "" {
			out = append(out, &d.Widths[i])
		}
	}
	return out
}

// widths lists machines, those that look mis-set first.
func (d *Document) widths() (says words.Text, t page.Table) {
	t = page.Table{
		ID: "widths", Label: "Table of widths", Sorts: true, Empty: "No pass ran straight beside ground that was worked before: no lap can be told.",
		Caption: "Means by length over the fields of a year; below zero is a gap. Left and right are as driven.",
		Columns: []page.Column{page.Names("Machine", "name"), page.Names("Farm", "name"), page.Words("Year"), page.Figures("Fields"), page.Figures("Width"), page.Figures("Lap aimed for"),
			page.Figures("Lap kept"), page.Figures("On the left"), page.Figures("On the right"), page.Classed("How it looks", "where")},
	}
	list := make([]*book.MachineWidth, len(d.Widths))
	for i := range d.Widths {
		list[i] = &d.Widths[i]
	}
	slices.SortStableFunc(list, func(a, b *book.MachineWidth) int {
		rank := func(m *book.MachineWidth) int {
			if look(quantity.US, m) != "" {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(b.Year, a.Year))
	})
	for _, m := range list {
		w := d.line(m.Machine, farmName(m.Farm))
		w.year(m.Year)
		w.figure(float64(m.Fields), func(quantity.Units) string { return fmt.Sprint(m.Fields) })
		w.figure(m.Width, func(u quantity.Units) string { return u.Metres(m.Width) })
		w.figure(m.Aimed, func(u quantity.Units) string { return words.LapLength(u, m.Aimed) })
		w.figure(m.Kept, func(u quantity.Units) string { return words.SignedLap(u, m.Kept) })
		for _, side := range []float64{m.Left, m.Right} {
			if math.IsNaN(side) {
				w.figure(-1e9, func(quantity.Units) string { return "" })
				continue
			}
			w.figure(side, func(u quantity.Units) string { return words.SignedLap(u, side) })
		}
		w.text(d.both(func(u quantity.Units) string {
			switch text := look(u, m); {
			case text != "":
				return text
			case m.Fields < leastFields:
				return "too few fields to tell"
			}
			return "nothing steadily off"
		}))
		w.put(&t)
	}
	if n := len(d.suspects()); n > 0 {
		return words.Same(fmt.Sprintf("%s off on field after field, which nobody steers: they stand first. It takes %d fields of a year, and four of five of them.", words.Capital(words.Count(n, "machine")+verb(n, " is", " are")), leastFields)), t
	}
	return words.Same(fmt.Sprintf("A lap or a gap that is off by the same on field after field is nobody's steering, but a width or an offset that is set wrongly. It takes %d fields of a year, and four of five of them, to be told here; no machine is.", leastFields)), t
}

// hours lists operators.
func (d *Document) hours() (says words.Text, t page.Table) {
	t = page.Table{
		ID: "hours", Label: "Table of operators", Sorts: true, Empty: "Nothing was worked.",
		Caption: "Hours are of the fields whose logs have a clock; pace is the new ground of those in an hour there.",
		Columns: []page.Column{page.Names("Operator", "name"), page.Names("Farm", "name"), page.Words("Year"), page.Figures("Fields"), page.Figures("With a clock"), page.Figures("Hours in fields"), page.Figures("At work"),
			page.FiguresIn("New ground", d.unit("acres", "ha")), page.FiguresIn("Worked twice", d.unit("acres", "ha")), page.FiguresIn("Pace", d.unit("acres/h", "ha/h"))},
	}
	var sum float64
	for i := range d.Hours {
		o := &d.Hours[i]
		sum += o.InField
		name := o.Operator
		if name == "" {
			name = "not named"
		}
		w := d.line(name, farmName(o.Farm))
		w.year(o.Year)
		for _, n := range []int{o.Fields, o.Clocked} {
			w.figure(float64(n), func(quantity.Units) string { return fmt.Sprint(n) })
		}
		for _, s := range []float64{o.InField, o.Working} {
			w.figure(s, func(quantity.Units) string {
				if o.Clocked == 0 {
					return "not known"
				}
				return words.Hours(time.Duration(s * float64(time.Second)))
			})
		}
		w.area(o.New)
		w.area(o.Lapped)
		pace := o.ClockedNew / max(o.InField, 1)
		w.figure(pace, func(u quantity.Units) string {
			if o.Clocked == 0 {
				return "not known"
			}
			return u.CapacityFigure(pace)
		})
		w.put(&t)
	}
	return words.Same(fmt.Sprintf("%s hours in fields, by who drove as the jobs name them.", words.Capital(words.Hours(time.Duration(sum*float64(time.Second)))))), t
}

// sections lists what sections would have saved.
func (d *Document) sections() (says words.Text, t page.Table, bars *chart.Chart) {
	t = page.Table{
		ID: "sections", Label: "Table of what sections would have saved", Sorts: true, Empty: "Nothing was worked.",
		Caption: "Ground counts once for each visit after the first.",
		Columns: []page.Column{page.Names("Farm", "name"), page.Words("Year"), page.Figures("Fields"), page.FiguresIn("Worked twice", d.unit("acres", "ha")),
			page.FiguresIn("Of it in point rows", d.unit("acres", "ha")), page.FiguresIn("Of it onto the headland", d.unit("acres", "ha")), page.Figures("Share saved"), page.FiguresIn("N saved", d.unit("lb", "kg")), page.Figures("Money saved")},
	}
	var sum book.SectionSaving
	money := map[string]float64{}
	for i := range d.Sections {
		s := &d.Sections[i]
		sum.Excess, sum.PointRows, sum.Headland, sum.N = sum.Excess+s.Excess, sum.PointRows+s.PointRows, sum.Headland+s.Headland, sum.N+s.N
		if s.Currency != "" {
			money[s.Currency] += s.Cost
		}
		w := d.line(farmName(s.Farm))
		w.year(s.Year)
		w.figure(float64(s.Fields), func(quantity.Units) string { return fmt.Sprint(s.Fields) })
		w.area(s.Excess)
		w.area(s.PointRows)
		w.area(s.Headland)
		ended := s.PointRows + s.Headland
		w.figure(ended/max(s.Excess, 1), func(quantity.Units) string { return words.Share(ended, s.Excess) })
		w.mass(s.N)
		w.figure(s.Cost, func(quantity.Units) string {
			if s.Currency == "" {
				return "not known"
			}
			return words.Money(s.Cost, s.Currency)
		})
		w.put(&t)
	}
	ended := sum.PointRows + sum.Headland
	says = d.both(func(u quantity.Units) string {
		text := "At most"
		if ended == 0 {
			return "No ground was worked twice where sections would have shut: in point rows, or onto the headland."
		}
		text += fmt.Sprintf(" %s, %s of the %s worked twice, in all years: %s in point rows and %s onto the headland", u.SquareMetres(ended), words.Share(ended, sum.Excess), u.SquareMetres(sum.Excess), u.SquareMetres(sum.PointRows), u.SquareMetres(sum.Headland))
		if sum.N > 0 {
			text += fmt.Sprintf("; %s of nitrogen lay there", u.Mass(sum.N))
		}
		var currencies []string
		for c := range money {
			currencies = append(currencies, c)
		}
		slices.Sort(currencies)
		for _, c := range currencies {
			text += ", " + words.Money(money[c], c)
		}
		return text + ". That takes sections to shut at once and to be as narrow as need be: a bar saves less, and its field's page tells by how much, where it was asked what if."
	})
	if ended > 0 {
		x := chart.AreaAxis("ground worked twice")
		x.Most = sum.Excess * float64(plane.SquareMetre)
		area := func(name, class string, m2 float64) chart.Bar {
			return chart.Bar{Name: words.Same(name), Class: class, Value: m2 * float64(plane.SquareMetre), Text: d.both(func(u quantity.Units) string { return u.SquareMetres(m2) })}
		}
		bars = chart.NewBarsForPhone(words.Same("What sections end"), words.Same("All farms and years that are shown."), x,
			[]chart.Bar{area("point rows", "overlap", sum.PointRows), area("onto headland", "overlap", sum.Headland), area("what stays", "off", max(0, sum.Excess-ended))})
	}
	return says, t, bars
}
