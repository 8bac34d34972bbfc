// Package years writes the page of questions over years: what nitrogen was wasted by what
// cause, which skips come back, whose width looks mis-set, who drove for how long, and what
// sections would have saved. A book answers them ([book.Years]); this says it in words.
package years

import (
	"context"
	_ "embed" // the template
	"fmt"
	"io"
	"strconv"

	"lapwing/coverage/book"
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed years.html
var yearsHTML string

var yearsPage = page.NewTemplate(yearsHTML)

// A Document is the answers of a book, and what the page says beside them.
type Document struct {
	Units quantity.Units
	Back  string // the address of the page that it leads back to; "" for none
	// Farms are those that may be chosen, where there are several.
	Farms []FarmLink
	// FieldPage is the address of the page of a field's job; nil where there is none.
	FieldPage func(job string, part int) string

	Wasted   []book.WastedNitrogen
	Returns  []book.SkipReturn
	More     bool // not all returns are in the list
	Widths   []book.MachineWidth
	Hours    []book.OperatorHours
	Sections []book.SectionSaving
}

// A FarmLink leads to the answers of one farm, or of all.
type FarmLink struct {
	Name, Link string
	Here       bool
}

// mostReturns is how many pieces of ground that come back are listed: what one looks into in
// a winter, on many farms.
const mostReturns = 100

// mostRows is how many rows a table has: a page of them takes a second to read in and
// nobody reads more.
const mostRows = 400

// Ask asks a book, as whoever asks.
func Ask(ctx context.Context, b book.Years) (d *Document, err error) {
	d = &Document{}
	if d.Wasted, err = b.Wasted(ctx); err != nil {
		return nil, err
	}
	if d.Returns, d.More, err = b.Returns(ctx, mostReturns); err != nil {
		return nil, err
	}
	if d.Widths, err = b.Widths(ctx); err != nil {
		return nil, err
	}
	if d.Hours, err = b.Hours(ctx); err != nil {
		return nil, err
	}
	d.Sections, err = b.Sections(ctx)
	return d, err
}

// The contents are everything on the page as it is to be read.
type contents struct {
	page.Base
	Back                                                             string
	Farms                                                            []FarmLink
	Answer, WastedSays, ReturnsSay, WidthsSay, HoursSay, SectionsSay words.Text
	Left                                                             string
	Wasted, Returns, Widths, Hours, Sections                         page.Table
	Causes, Saved                                                    *chart.Chart
}

// Policy is the Content-Security-Policy of the page.
func Policy() string {
	b := page.New(quantity.US, "", "", "")
	return b.PolicyText()
}

// Page writes the page.
func (d *Document) Page(w io.Writer) error {
	p := &contents{Base: page.New(d.Units, "Over the years", "questions", ""), Farms: d.Farms, Back: d.Back}
	p.Answer = d.answer()
	p.WastedSays, p.Wasted, p.Causes = d.wasted()
	p.ReturnsSay, p.Returns = d.returns()
	p.WidthsSay, p.Widths = d.widths()
	p.HoursSay, p.Hours = d.hours()
	p.SectionsSay, p.Sections, p.Saved = d.sections()
	p.Left = d.cut(&p.Wasted, &p.Widths, &p.Hours, &p.Sections)
	p.Notes = notes
	return yearsPage.Execute(w, p)
}

var notes = []string{
	"A year is that of the first work on a field by the clock of its logs; what has no clock stands under no year.",
	"Nitrogen wasted is what lay on ground already covered, each visit after the first, and outside the boundary, at the rates and analyses that the jobs state. Pounds to the acre are by the fields' area, each field once a year, however often it was worked.",
	"A skip comes back where ground of it was skipped in an earlier year too, of a square metre and more. Positions of two years differ by what their GNSS corrections differ, often a foot: a narrow skip may come back without being found. Ground not worked yet, and what is likely the outline's, is left out.",
	"Two inches off the aim count. What a log calls the bar's place, and what width it has, is believed: a lap that is steadily off says that one of three is wrong, the width that is steered by, the width in the job, or where the antenna is.",
	"Hours are those in fields: work, turns, stands and stops. The way between fields is not in them, nor what logs without a clock tell of. Pace and laps are as much the ground's and the machine's as they are the driver's.",
	"Sections are taken to shut at once, each as narrow as need be, over ground that is already covered: more than any bar saves. Point rows and work onto the headland count whole; laps between passes, ground driven again and turns are left as they were, though sections would shut over some of that too, and so is what lies outside the boundary.",
}

// cut shortens tables that nobody reads to the end, and says so.
func (d *Document) cut(tables ...*page.Table) string {
	left := 0
	for _, t := range tables {
		if n := len(t.Rows); n > mostRows {
			left += n - mostRows
			t.Rows = t.Rows[:mostRows]
		}
	}
	if left == 0 {
		return ""
	}
	return fmt.Sprintf("%s left out of the tables, which have %d at most: choose a farm above to see all of its own.", words.Capital(words.Count(left, "row")), mostRows)
}

// yearName is a year for people.
func yearName(year int) string {
	if year == 0 {
		return "no clock"
	}
	return strconv.Itoa(year)
}

// farmName is a farm for people.
func farmName(name string) string {
	if name == "" {
		return "no farm"
	}
	return name
}

// inYear is a year in a sentence.
func inYear(year int) string {
	if year == 0 {
		return "without a clock"
	}
	return "in " + strconv.Itoa(year)
}

// both writes a text in both systems of units.
func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// A line is a row that sorts by its figures.
type line struct {
	d     *Document
	texts []words.Text
	by    map[int]float64
}

func (d *Document) line(named ...string) *line {
	w := &line{d: d, by: map[int]float64{}}
	for _, s := range named {
		w.texts = append(w.texts, words.Same(s))
	}
	return w
}

func (w *line) text(t words.Text) { w.texts = append(w.texts, t) }

func (w *line) figure(by float64, write func(u quantity.Units) string) {
	w.by[len(w.texts)] = by
	w.texts = append(w.texts, w.d.both(write))
}

// area is a figure of m² in a column headed by acres or hectares, mass one of kg.
func (w *line) area(m2 float64) {
	w.figure(m2, func(u quantity.Units) string { return u.SquareMetresFigure(m2) })
}

func (w *line) mass(kg float64) {
	w.figure(kg, func(u quantity.Units) string { return u.MassFigure(kg) })
}

func (w *line) year(year int) {
	w.by[len(w.texts)] = float64(year)
	w.texts = append(w.texts, words.Same(yearName(year)))
}

func (w *line) put(t *page.Table) *page.Row {
	row := t.Add(w.texts...)
	for i, v := range w.by {
		row.By(i, v)
	}
	return row
}

// unit is a word by the system of units.
func (d *Document) unit(us, metric string) words.Text {
	return d.both(func(u quantity.Units) string { return [...]string{us, metric}[u] })
}

// perArea writes a mass to the acre or the hectare.
func perArea(u quantity.Units, kg, m2 float64) string {
	if !(m2 > 0) {
		return ""
	}
	if u == quantity.Metric {
		return quantity.Number(kg/m2*quantity.Hectare, 2)
	}
	return quantity.Number(quantity.InPoundsPerAcre(kg/m2), 2)
}

// perAreaUnit is its unit.
func perAreaUnit(u quantity.Units) string { return [...]string{"lb/ac", "kg/ha"}[u] }
