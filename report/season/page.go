package season

import (
	_ "embed"
	"fmt"
	"io"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed season.html
var seasonHTML string

var seasonPage = page.Parsed(seasonHTML)

// Page writes season.html: the season book's index, one file that loads nothing
// but the entries its reader opens.
func (s *Book) Page(w io.Writer) error {
	p := &platBook{
		Base:      page.New(s.Units, s.title(), "all fields", s.run()),
		Answer:    words.Both(s.Units, func(u quantity.Units) string { return strings.Join(s.answer(u), " ") }),
		Block:     s.titleBlock(),
		Chart:     s.chart(),
		Fields:    s.fieldTable(),
		Machines:  s.tallyTable("machines", "Machine", "Operators", s.machineTallies()),
		Operators: s.tallyTable("operators", "Operator", "Machines", s.operatorTallies()),
		Failed:    s.failureTable(),
	}
	for _, entry := range s.Entries {
		p.Entries = append(p.Entries, s.stamp(entry))
	}
	for i := range s.Returns {
		p.Returns = append(p.Returns, s.returned(&s.Returns[i]))
	}
	p.Warnings, p.Notes = s.warnings(), s.notes()
	return seasonPage.Execute(w, p)
}

// A platBook is everything on season.html as it is to be read.
type platBook struct {
	page.Base
	Answer                      words.Text
	Block                       []page.Entry
	Chart                       *chart.Chart
	Entries                     []stampLine
	Fields, Machines, Operators page.Table
	Failed                      page.Table
	Returns                     []returned
}

// A stampLine is an entry in the index.
type stampLine struct {
	Number int
	Name   string
	Link   string
	Map    chart.SmallMap
	Lines  []page.Entry
}

func (s *Book) stamp(entry *Entry) stampLine {
	out := stampLine{Number: entry.Number, Name: s.label(entry), Link: entry.Dir + "/report.html", Map: entry.sketch.Map}
	out.Map.Label = "Small map of " + words.Name(entry.Name()) + ", north up"
	out.Lines = []page.Entry{
		{Name: "Area", Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(entry.Field.Area.Float()) })},
		{Name: "Skips", Text: words.Both(s.Units, func(u quantity.Units) string {
			if entry.skips() == 0 && entry.skipped() == 0 {
				return "none"
			}
			return fmt.Sprintf("%d, %s", entry.skips(), u.SquareMetres(entry.skipped()))
		})},
		{Name: "Edge open", Text: words.Both(s.Units, func(u quantity.Units) string {
			switch {
			case entry.Field.Worked:
				return "no boundary"
			case entry.open() == 0:
				return "none"
			}
			return u.Metres(entry.open())
		})},
		{Name: "Worked twice", Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(entry.Ground.Excess.Float()) })},
	}
	if entry.unworked() > 0 {
		out.Lines = append(out.Lines, page.Entry{Name: "Not worked yet", Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(entry.unworked()) })})
	}
	return out
}

func (s *Book) titleBlock() []page.Entry {
	t := s.total()
	machines, operators := s.machineTallies(), s.operatorTallies()
	named := 0
	for _, o := range operators {
		if o.name != "not named" {
			named++
		}
	}
	return []page.Entry{
		{Name: "Fields", Text: words.Same(fmt.Sprint(len(s.Entries)))},
		{Name: "Area", Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(t.area) })},
		{Name: "Machines", Text: words.Same(fmt.Sprint(len(machines)))},
		{Name: "Operators named", Text: words.Same(fmt.Sprint(named))},
	}
}

// chart shows where the skipped ground lies: a bar for each of the first
// entries; nil where none has any.
func (s *Book) chart() *chart.Chart {
	const most = 12
	var bars []chart.Bar
	rest, restFields := 0.0, 0
	for i, entry := range s.current() {
		m2 := entry.skipped()
		switch {
		case m2 == 0:
		case i < most:
			bars = append(bars, chart.Bar{Name: words.Same(fmt.Sprintf("%d. %s", entry.Number, words.Short(s.label(entry), 17))), Class: "skip", Value: m2,
				Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(m2) })})
		default:
			rest += m2
			restFields++
		}
	}
	if len(bars) == 0 {
		return nil
	}
	if restFields > 0 {
		bars = append(bars, chart.Bar{Name: words.Same(words.Count(restFields, "other field")), Class: "skip", Value: rest,
			Text: words.Both(s.Units, func(u quantity.Units) string { return u.SquareMetres(rest) })})
	}
	largest := 0.0
	for _, b := range bars {
		largest = max(largest, b.Value)
	}
	t := s.total()
	first := s.Entries[0]
	says := words.Both(s.Units, func(u quantity.Units) string {
		return fmt.Sprintf("%s of the %s skipped lies on %s.", words.Share(first.skipped(), t.skipped), u.SquareMetres(t.skipped), words.Short(s.label(first), 60))
	})
	us, metric := chart.Scale{Unit: "acres", One: quantity.Acre}, chart.Scale{Unit: "ha", One: quantity.Hectare}
	return chart.NewBarsForPhone(words.Same("Skipped ground by field"), says, chart.Axis{Name: "skipped ground", US: us, Metric: metric, Most: largest, Ticks: 3}, bars)
}

// returned is a field that was there in an earlier year too.
type returned struct {
	Name  string
	Says  words.Text
	Map   chart.SmallMap
	Table page.Table
}

func (s *Book) returned(r *Return) returned {
	years := fmt.Sprintf("%d and %d", r.Earlier.Year(), r.Later.Year())
	out := returned{Name: r.Later.Name() + ", " + years}
	out.Says = words.Both(s.Units, func(u quantity.Units) string {
		again := r.Again.SquareMetres()
		if again == 0 {
			return fmt.Sprintf("No ground skipped in %d was skipped again in %d.", r.Earlier.Year(), r.Later.Year())
		}
		return fmt.Sprintf("%s of the %s skipped in %d was skipped in %d too. By chance alone it would be about %s.",
			u.SquareMetres(again), u.SquareMetres(r.LaterArea.SquareMetres()), r.Later.Year(), r.Earlier.Year(), u.SquareMetres(r.Chance))
	})
	t := chart.NewStamp(r.Boundary)
	t.Frame(&out.Map)
	out.Map.Label = "Skips of " + years + " laid over each other on " + words.Name(r.Later.Name()) + ", north up"
	mark := func(class string, shapes []plane.Polygon) {
		if d := t.Path(shapes); d != "" {
			out.Map.Marks = append(out.Map.Marks, chart.Mark{Class: class, D: d})
		}
	}
	var again []plane.Polygon
	list := page.Table{
		Label: "Table of skips that came back on " + out.Name, Sorts: true, Empty: "Nothing to list.",
		Caption: "Numbers as in the lists of the two pages; ground under 1 m² (11 sq ft) is left out.",
		Columns: []page.Column{page.Words(fmt.Sprintf("Skip in %d", r.Later.Year())), page.Words(fmt.Sprintf("Skip in %d", r.Earlier.Year())),
			page.Figures("Ground"), page.Classed("Where", "when")},
	}
	for _, patch := range r.Returns {
		again = append(again, patch.Shape...)
		if patch.Area < plane.SquareMetre {
			continue
		}
		var w sorting
		w.figure(words.Same(fmt.Sprint(patch.Later)), float64(patch.Later))
		w.figure(words.Same(fmt.Sprint(patch.Earlier)), float64(patch.Earlier))
		w.figure(words.Both(s.Units, func(u quantity.Units) string { return u.Area(patch.Area) }), float64(patch.Area))
		w.text(words.Same(quantity.LonLat(patch.At.Lon, patch.At.Lat)))
		w.put(&list)
	}
	mark("before", r.Comparison.Earlier)
	mark("skip", r.Comparison.Later)
	mark("again", again)
	mark("boundary", r.Boundary)
	out.Table = list
	return out
}

func (s *Book) warnings() []string {
	var out []string
	for _, entry := range s.Entries {
		if n := len(entry.Warnings); n > 0 {
			out = append(out, fmt.Sprintf("Field %d, %s: %s, told on its page.", entry.Number, words.Name(entry.Name()), words.Count(n, "warning")))
		}
	}
	return out
}

func (s *Book) notes() []string {
	notes := []string{
		"Fields are numbered by what needs attention: the most skipped ground first, then the most ground worked twice or outside. Ground simply not worked yet is no skip.",
		"Efficiency is the new ground covered, by what the machine would cover at its working speed and full width in the same time in the field; stops and turns are in that time, the way between fields is not.",
		"Where two currencies are in one column, the column sorts by their bare sum.",
		"The small maps leave out patches under 10 m² (108 sq ft); the figures hold them.",
	}
	if n := len(s.Entries) - len(s.current()); n > 0 {
		notes = append(notes, fmt.Sprintf("The sentence on top, the chart and the lists by machine and operator leave out %s of an earlier year that a later one of the same field stands for.", words.Count(n, "page")))
	}
	if len(s.Returns) > 0 {
		notes = append(notes, "Fields of two years are held to be one where they have the same name or half of the smaller lies in the other. Positions of two years differ by what their GNSS corrections differ, often a foot: a narrow skip may come back without being found.")
	}
	clockless := 0
	for _, entry := range s.Entries {
		if entry.Year() == 0 && len(entry.Passes) > 0 {
			clockless++
		}
	}
	if clockless > 0 {
		notes = append(notes, fmt.Sprintf("The logs of %s have no clock: no year, no hours, no comparison with other years.", words.Count(clockless, "field")))
	}
	return notes
}
