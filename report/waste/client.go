package waste

import (
	_ "embed"
	"fmt"
	"io"
	"slices"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed client.html
var clientHTML string

var clientPage = page.NewTemplate(clientHTML)

// A client is everything on waste-client.html as it is to be read.
type client struct {
	page.Base
	Found   []words.Text
	Without string // fields without products
	Advice  words.Text
	Map     chart.SmallMap
	MapSays words.Text
	Table   page.Table
	More    string // what the table leaves out
	Method  []words.Text
	Sources []string
	Care    string
}

// What fits on two printed pages, whatever the fields and products are. Judgement;
// TestBrowserClientIsTwoPages fails where it is more than fits.
const (
	mostRows  = 9  // of the table
	mostNames = 3  // of fields or machines in a sentence
	mostName  = 24 // letters of a name
	mostYears = 2  // told in sentences; the table has more
)

// Client writes waste-client.html, a report for a client on two printed pages: what
// and where, one map, one table, one recommendation, how it was measured and how sure
// that is, with sources.
func (d *Document) Client(out io.Writer) error {
	everything := d.group(everyYear)
	title := "Product put down twice or outside: " + words.Count(len(d.Fields), "field")
	if len(d.Fields) == 1 {
		title = "Product put down twice or outside: " + words.Plain(d.Fields[0].Name, 2*mostName)
	}
	p := &client{Base: page.New(d.Units, title, "report", d.Run), Sources: sources, Care: care}
	p.Styled("waste.css", "client.css")
	both := func(write func(quantity.Units) string) words.Text { return words.Both(d.Units, write) }
	for i := range d.found(d.Units) {
		p.Found = append(p.Found, both(func(u quantity.Units) string { return d.found(u)[i] }))
	}
	p.Without = few(d.without())
	p.Advice = both(d.advice)
	if worst := worstField(everything); worst != nil {
		p.Map = worst.Map
		p.MapSays = both(func(u quantity.Units) string { return d.mapWords(u, worst, len(everything)) })
		p.Map.Label = "Map of " + words.Plain(worst.Name, mostName) + ": where product was put down twice or outside"
	}
	p.Table, p.More = d.clientTable()
	for i := range d.method(d.Units) {
		p.Method = append(p.Method, both(func(u quantity.Units) string { return d.method(u)[i] }))
	}
	for i := range d.Fields {
		for _, v := range d.Fields[i].Warnings {
			p.Warnings = append(p.Warnings, d.Fields[i].Name+": "+words.Warning(v))
		}
		if d.Fields[i].Ammonia {
			p.Ammonia = page.AmmoniaCautions()
			p.Care = care + " With anhydrous ammonia the label, the local code and licensed practice have the last word."
		}
	}
	p.Notes = d.notes()
	return clientPage.Execute(out, p)
}

const care = "This is a record of where machines went; it is not a safety device."

// few names some of the names, and counts the rest.
func few(names []string) string {
	var out []string
	for i, name := range names {
		if i == mostNames {
			out = append(out, fmt.Sprintf("and %d more", len(names)-i))
			break
		}
		out = append(out, words.Short(name, mostName))
	}
	return strings.Join(out, ", ")
}

// found says in a sentence a year what was wasted and what that cost.
func (d *Document) found(u quantity.Units) []string {
	years := d.years()
	if len(years) == 0 {
		return []string{"No products given."}
	}
	if len(years) > mostYears {
		years = years[len(years)-mostYears:]
	}
	var out []string
	for _, y := range years {
		g := d.group(y)
		lists := g.lists()
		lead := d.where(u, g)
		if d.severalYears() && y > 0 {
			lead = fmt.Sprintf("%d: %s", y, lead)
		}
		var parts []string
		for _, m := range agronomy.Measures(lists) {
			if m.Nutrient != "N" {
				continue
			}
			sum, _ := m.Sum(lists)
			per := unit{perArea: true}
			s := u.Mass(sum.Best()) + " of nitrogen"
			if l := sum.Likely; l != nil {
				s += " (" + words.FromTo(u.Mass(l.Low), u.Mass(l.High)) + "; " + u.Mass(sum.Wasted) + " as measured)"
			}
			s += fmt.Sprintf(", %s %s over the field", quantity.Number(per.in(u, sum.Best()/g.areaOf(&m).SquareMetres()), 2), per.name(u))
			parts = append(parts, s)
		}
		all := g.together()
		if share, ok := worstShare(all); ok {
			parts = append(parts, fmt.Sprintf("up to %s of a product", share))
		}
		if len(parts) == 0 {
			parts = append(parts, "nothing that is known")
		}
		out = append(out, lead+": "+strings.Join(parts, ", ")+" went down twice or outside the boundary"+costs(all)+".")
	}
	return out
}

// worstShare is the largest share that was wasted of any product.
func worstShare(all []agronomy.Tally) (share string, ok bool) {
	most := -1.0
	for i := range all {
		of := agronomy.Tally{Applied: all[i].Applied, Wasted: *best(&all[i])}
		if part := of.WastedShare(); part != nil && *part > most {
			most = *part
		}
	}
	return words.Share(most, 1), most >= 0
}

// advice is the one recommendation: of the lap that costs least and the bars' own
// sections, which need nothing new on the machine, what saves more money; where
// neither is known to save any, the cause that wasted most.
func (d *Document) advice(u quantity.Units) string {
	everything := d.group(everyYear)
	driven, changes := everything.changes()
	var chosen *change
	for i := range changes {
		c := &changes[i]
		own := c.choice == nil || c.choice.Bar == whatif.OwnSections
		if own && !c.worse(driven) && len(c.saved) == 1 && c.saved[0].Value > 0 && (chosen == nil || c.saved[0].Currency == chosen.saved[0].Currency && c.saved[0].Value > chosen.saved[0].Value) {
			chosen = c
		}
	}
	worst := agronomy.Worst(everything.together())
	over := func(fields int) string { return "on " + words.Count(fields, "field") }
	switch {
	case chosen == nil && len(worst) == 0:
		return "Nothing was put down twice or outside: go on as you do."
	case chosen == nil:
		return words.Capital(words.Remedy(worst[0].Cause)) + ". Most was wasted " + place(words.WasteCause(worst[0].Cause)) + ": " + atMost(u, &worst[0]) + "."
	case chosen.choice == nil:
		return fmt.Sprintf("Drive with the lap that costs least: %s. That would have saved %s %s, by the prices of crop and products. It needs nothing new on the machine.",
			d.laps(u), words.Money(chosen.saved[0].Value, chosen.saved[0].Currency), over(chosen.fields))
	}
	return fmt.Sprintf("Let the bar's own sections shut by themselves over covered ground and outside the boundary. That would have saved %s %s against today's bars as they were driven.",
		strings.TrimSuffix(chosen.says(u, driven), " saved"), over(chosen.fields))
}

// place makes a cause a place in a sentence.
func place(cause string) string { return "\u201c" + cause + "\u201d" }

// atMost is what mending a cause saves at most.
func atMost(u quantity.Units, c *agronomy.Change) string {
	var parts []string
	if c.Cost != nil {
		parts = append(parts, words.Money(*c.Cost, c.Currency))
	}
	if c.N > 0 {
		parts = append(parts, u.Mass(c.N)+" of nitrogen")
	}
	if len(parts) == 0 {
		parts = append(parts, u.Area(c.Area)+" of ground given product it had")
	}
	return strings.Join(parts, " and ") + " at most"
}

// laps tells the laps that cost least, from the least to the largest of the fields.
func (d *Document) laps(u quantity.Units) string {
	var best []float64
	var mean, length float64
	for _, f := range d.group(everyYear).looked() {
		for _, l := range f.WhatIf.Laps {
			best = append(best, l.Best)
			mean, length = mean+l.Mean*l.Length, length+l.Length
		}
	}
	low, high := slices.Min(best), slices.Max(best)
	s := words.Lap(u, low)
	if u.Metres(low) != u.Metres(high) {
		s += " to " + words.Lap(u, high)
	}
	return s + ", where " + words.Lap(u, mean/length) + " was driven on average"
}

// worstField is the field with most wasted ground; nil where none wasted any.
func worstField(g group) *Field {
	var worst *Field
	most := int64(0)
	for _, f := range g {
		sum := int64(0)
		for i := range f.Tallies {
			sum = max(sum, int64(f.Tallies[i].Wasted.Area))
		}
		if sum > most && len(f.Map.Marks) > 0 {
			worst, most = f, sum
		}
	}
	return worst
}

func (d *Document) mapWords(u quantity.Units, f *Field, of int) string {
	s := words.Short(f.Name, mostName)
	if of > 1 {
		s += ", on which most ground was given product twice or outside"
	}
	s += ", " + u.Area(f.Area) + ", at " + quantity.LonLat(f.At.Lon, f.At.Lat)
	switch {
	case f.Days[0] == "":
	case f.Days[0] == f.Days[1]:
		s += ", worked on " + f.Days[0]
	default:
		s += ", worked from " + f.Days[0] + " to " + f.Days[1]
	}
	if of > 1 {
		var names []string
		for _, one := range d.group(everyYear) {
			if !slices.Contains(names, one.Name) {
				names = append(names, one.Name)
			}
		}
		return "Fields: " + few(names) + ". The map is of " + s + "."
	}
	return s + "."
}

// clientTable has a row for each nutrient and product of all fields, year by year,
// and says what it leaves out.
func (d *Document) clientTable() (page.Table, string) {
	var rows []counted
	left := 0
	years := d.years()
	for i := len(years) - 1; i >= 0; i-- {
		m, v := rowsOf(d.group(years[i]), "", yearName(years[i]))
		for _, r := range append(m, v...) {
			if len(rows) == mostRows {
				left++
				continue
			}
			rows = append(rows, r)
		}
	}
	t := page.Table{
		Label: "Table of what was wasted", Caption: "The best estimate first, then between what the truth lies nine times in ten, then what was measured.",
		Empty: "No products given.", Columns: []page.Column{page.Names("Of", "")},
	}
	if d.severalYears() {
		t.Columns = append(t.Columns, page.Words("Year"))
	}
	for _, name := range []string{"Best estimate", "Low to high", "As measured", "Put down", "Share", "Cost"} {
		t.Columns = append(t.Columns, page.Figures(name))
	}
	for i := range rows {
		r := &rows[i]
		n := unit{byVolume: r.tally != nil && measureOf(r.tally).ByVolume}
		amount := func(v float64) words.Text {
			return words.Both(d.Units, func(u quantity.Units) string { return n.amount(u, v) })
		}
		cells := []words.Text{words.Same(words.Plain(r.of, mostName))}
		if d.severalYears() {
			cells = append(cells, words.Same(r.year))
		}
		span, share, cost := words.Same("not told"), "", ""
		if l := r.sum.Likely; l != nil {
			span = words.Both(d.Units, func(u quantity.Units) string { return words.FromTo(n.amount(u, l.Low), n.amount(u, l.High)) })
		}
		if v, ok := r.sum.Share(); ok {
			share = words.Share(v, 1)
		}
		if r.tally != nil {
			cost = bestCost(r.tally)
		}
		t.Add(append(cells, amount(r.sum.Best()), span, amount(r.sum.Wasted), amount(r.sum.Applied), words.Same(share), words.Same(cost))...)
	}
	if left > 0 {
		return t, fmt.Sprintf("%s more in waste.html and waste-fields.csv.", words.Count(left, "row"))
	}
	return t, ""
}

// method says how it was measured, and how sure that is.
func (d *Document) method(u quantity.Units) []string {
	var names, receivers []string
	runs, unsure, from, to := 0, 0, "", ""
	for i := range d.Fields {
		f := &d.Fields[i]
		for _, m := range f.Machines {
			if !slices.Contains(names, m) {
				names = append(names, m)
			}
		}
		for _, r := range f.Receivers {
			s := fmt.Sprintf("%s by %s from minute to minute and %s over hours", words.Short(r.Machine, mostName), u.FineLength(plane.DistanceOf(r.ShortTerm)), u.FineLength(plane.DistanceOf(r.Drift)))
			if !slices.Contains(receivers, s) {
				receivers = append(receivers, s)
			}
		}
		if f.Runs == 0 && f.hasProducts() {
			unsure++
		}
		runs = max(runs, f.Runs)
		if f.Days[0] != "" && (from == "" || f.Days[0] < from) {
			from = f.Days[0]
		}
		to = max(to, f.Days[1])
	}
	when := ""
	switch {
	case from == "":
	case from == to:
		when = " on " + from
	default:
		when = " from " + from + " to " + to
	}
	out := []string{
		fmt.Sprintf("Measured from the position logs of %s%s. Where the bar was follows from antenna, hitch and width as the job gives them; its swaths are laid over one another and over the boundary on a plane of true areas [1].", few(names), when),
		"Wasted is every visit after the first inside the boundary, and each one outside it or in a hole, at the product's rate, or at what the log says was put down. Laps that were planned count too.",
	}
	if runs > 0 {
		s := fmt.Sprintf("How sure: each field was measured again %d times at most with the passes moved by what receivers err by, one standard deviation (%s). The best estimate is the middle of these; low to high holds the truth nine times in ten [2]. Half of what a field is off by is taken to be shared by all fields, whose receivers are of one kind, and the rest to be each field's own.", runs, fewAs(receivers))
		out = append(out, s)
	}
	if unsure > 0 {
		out = append(out, fmt.Sprintf("How sure the figures are was not looked into on %s: they are as measured.", words.Count(unsure, "field")))
	}
	out = append(out,
		"The lap that costs least balances what a skip loses against what doubled product costs [3]; doubled product is taken to bring no further yield [4]. Sections are tried on the passes as driven.",
		fmt.Sprintf("Not known: whether product really flowed, which no log of positions can say. %s about the input in waste.html.", words.Capital(words.Count(d.warnings(), "warning"))))
	for i := range d.Fields {
		if d.Fields[i].Worked {
			out = append(out, "Of a field without a boundary what went down outside it is not known.")
			break
		}
	}
	return out
}

func fewAs(parts []string) string {
	if len(parts) > mostNames {
		parts = append(slices.Clone(parts[:mostNames]), fmt.Sprintf("and %d more", len(parts)-mostNames))
	}
	return strings.Join(parts, "; ")
}

func (d *Document) warnings() (n int) {
	for i := range d.Fields {
		n += len(d.Fields[i].Warnings)
	}
	return n
}

// sources are what the method rests on.
var sources = []string{
	"J. P. Snyder, Map Projections: A Working Manual, U.S. Geological Survey Professional Paper 1395, 1987 (the azimuthal equal-area projection).",
	"R. Hyndman, Y. Fan, Sample quantiles in statistical packages, 1996 (type 6).",
	"S. Nahmias, Production and Operations Analysis (the critical fractile of the newsvendor problem).",
	"Kansas Agricultural Experiment Station Research Reports 9(4):20 and 7(5):24.",
}
