package mend

import (
	_ "embed"
	"fmt"
	"io"
	"slices"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed mend.html
var mendHTML string

var pageTemplate = page.NewTemplate(mendHTML)

func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// Page writes mend.html: the map with the drive on it, and the stops in order.
func (d *Document) Page(w io.Writer) error {
	p := &contents{
		Base:   page.OfField(d.Assessment, "skips to mend"),
		Answer: d.both(func(u quantity.Units) string { return strings.Join(d.answer(u), " ") }),
		Block: []page.Entry{
			{Name: "Machine", Text: words.Same(d.machine())},
			{Name: "Start", Text: words.Same(d.startWords())},
		},
		Map: d.fieldMap(), Stops: d.stopTable(), Unknown: unknown, Last: d.Last, Field: d.Field,
	}
	p.Notes = notes()
	p.Book = d.Book
	return pageTemplate.Execute(w, p)
}

// The contents are everything on mend.html.
type contents struct {
	page.Base
	Answer  words.Text
	Unknown string
	Block   []page.Entry
	Map     *chart.Map
	Stops   page.Table
	Last    bool   // last.html is beside it
	Field   string // the field's page; "" where there is none
}

func notes() []string {
	return []string{
		"Lines and places are those of the bar's centre, not of the antenna. Sections count from the left as you drive.",
		"The way between stops is the shortest that stays inside the boundary and out of its holes; a turn counts as the way along its arc. Where it leads over worked ground, it says so.",
		"A run keeps the same sections open from end to end. A row beside an open section more or less is not told apart.",
		"The files for handhelds (mend.gpx, mend.kml, mend.geojson) hold the same stops and lines.",
	}
}

func (d *Document) stopTable() page.Table {
	t := page.Table{
		ID: "stops", Label: "Table of stops", Empty: "No stops.",
		Caption: "In driving order. Choose a letter to see it on the map.",
		Columns: []page.Column{page.Words("Stop"), page.Words("Way there, and sections"), page.Classed("Skip", "name"), page.Words("Go there")},
	}
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		sections := strings.ReplaceAll(sectionWords(s.Run.Open), "-", "\u2011") // "4-6" stays on one line
		row := t.Add(words.Same(stopLabel(i)),
			d.both(func(u quantity.Units) string {
				return words.Capital(d.wayWords(u, s)) + "; about " + d.minutes(i) + ". " + words.Capital(sections) + "."
			}),
			d.both(func(u quantity.Units) string {
				return d.skipWords(u, s) + ". " + words.Capital(sizeWords(u, &s.Run)) + "."
			}),
			words.Text{},
		)
		row.Goes(stopKey(i), fmt.Sprintf("Stop %s on the map", stopLabel(i)))
		row.Leads(3, page.PlaceAt(d.lonLat(s.Run.Line[0]), "stop "+stopLabel(i), words.Text{}))
	}
	return t
}

func stopKey(i int) string { return fmt.Sprintf("r%d", i+1) }

// fieldMap is the field's map with the drive on it, and without the ground that
// is covered: it only hides the way.
func (d *Document) fieldMap() *chart.Map {
	p := chart.NewMap(d.Assessment, region.Skip, region.Unlogged)
	numbers, mended := d.SkipNumbers(), map[string]bool{}
	for _, i := range d.Mend.Skips() {
		mended[chart.SkipKey(numbers[i])] = true
	}
	for i := range p.Regions {
		if r := &p.Regions[i]; mended[r.Key] {
			r.Class += " mended" // stays in sight under the run that goes over it
		}
	}
	p.Legend = slices.DeleteFunc(p.Legend, func(l chart.LegendLine) bool {
		return l.Layer == "overlap" || l.Layer == "deep" || l.Layer == "overreach" || l.Layer == "fill" || l.Layer == "rich" || l.Layer == "lean"
	})
	p.Legend = append(p.Legend,
		chart.LegendLine{Layer: "way", Swatch: "way", Name: "Travel", Area: d.both(func(u quantity.Units) string { return u.Length(d.Mend.Plan.Travel()) })},
		chart.LegendLine{Layer: "run", Swatch: "run", Name: "At work, letter where to enter", Area: d.both(func(u quantity.Units) string { return u.Length(d.Mend.Plan.Work()) })})
	p.Over = nil // skips keep their numbers
	if stops := d.Mend.Plan.Stops; len(stops) > 0 {
		x, y := p.XY(d.Mend.Plan.Start)
		p.Marks = append(p.Marks, chart.Pin{Label: "start", X: x, Y: y})
	}
	for i := range d.Mend.Plan.Stops {
		s := &d.Mend.Plan.Stops[i]
		p.Over = append(p.Over, chart.Shape{Class: "way", Path: p.Line(s.Leg.Way), Text: d.both(func(u quantity.Units) string {
			return fmt.Sprintf("To stop %s: %s.", stopLabel(i), d.wayWords(u, s))
		})})
		p.Over = append(p.Over, chart.Shape{Key: stopKey(i), Class: "run", Path: p.Line(s.Run.Line), Text: d.both(func(u quantity.Units) string {
			return fmt.Sprintf("Stop %s: %s; enter at the %s end; %s.", stopLabel(i), d.skipWords(u, s), s.Run.Enter, sectionWords(s.Run.Open))
		})})
		p.Arrows = append(p.Arrows, p.ArrowsAlong(s.Leg.Way)...)
		p.Arrows = append(p.Arrows, p.ArrowsAlong(s.Run.Line)...)
		x, y := p.XY(s.Run.Line[0])
		p.Marks = append(p.Marks, chart.Pin{Label: stopLabel(i), Key: stopKey(i), X: x, Y: y})
	}
	return p
}
