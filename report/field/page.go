package field

import (
	_ "embed"
	"io"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed field.html
var assessmentHTML string

var assessmentPage = page.Parsed(assessmentHTML)

// Page writes report.html: the map of the field with its tables, one file
// that loads nothing from elsewhere.
func (r *Document) Page(w io.Writer) error {
	return assessmentPage.Execute(w, r.page())
}

// An contents is everything on report.html as it is to be read: the template
// only places it.
type contents struct {
	page.Base
	Answer                    words.Text
	Block                     []page.Entry
	Map                       *chart.Map
	Skips, Overlaps           page.Table
	SmallSkips, SmallOverlaps words.Text // how many are too small to list
	Ground, Depths, Headland  page.Table
	Strips                    []*chart.Chart
	Products                  page.Table
	Reckoning                 reckoning
	WhatIf                    *whatIfPage
	Machines                  page.Table
	Passes                    page.Table
}

func (r *Document) page() *contents {
	p := &contents{
		Base:   page.New(r.Units, r.FieldName(), "field coverage", r.Run, page.MapScript),
		Answer: r.both(func(u quantity.Units) string { return strings.Join(r.answer(u), " ") }),
		Block:  r.titleBlock(),
		Map:    chart.NewMap(r.Assessment), Strips: r.strips(),
		Skips: r.skipTable(), Overlaps: r.overlapTable(),
		SmallSkips: r.tooSmall(r.Skips()), SmallOverlaps: r.tooSmall(r.Overlaps()),
		Ground: r.groundTable(), Depths: r.depthTable(), Headland: r.headlandTable(),
		Products: r.productTable(), Reckoning: r.reckoning(), Machines: r.machineTable(), Passes: r.passTable(),
		WhatIf: r.whatIfPage(),
	}
	for _, w := range r.AllWarnings() {
		p.Warnings = append(p.Warnings, words.Warning(w))
	}
	p.Notes = r.notes()
	p.Book = r.Book
	if r.HasAmmonia() {
		p.Ammonia = page.AmmoniaCautions()
	}
	return p
}

func (r *Document) titleBlock() []page.Entry {
	centre := r.Map.Field.Frame.Centre
	block := []page.Entry{
		{Name: "Area", Text: r.bothAreas(r.Map.Ground.Field)},
		{Name: "Worked", Text: words.Same(r.dates())},
		{Name: "Machines", Text: words.Same(strings.Join(r.MachineNames(indices(len(r.Map.Machines))), ", "))},
		{Name: "Middle", Text: words.Same(assess.LonLat(centre.Lon, centre.Lat))},
	}
	return slices.DeleteFunc(block, func(e page.Entry) bool { return e.Text.Shown == "" })
}

// dates gives the first and the last day of work.
func (r *Document) dates() string {
	const layout = "2 January 2006"
	var first, last time.Time
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		if !r.HasClock(p) {
			continue
		}
		if start := r.Local(p.Start); first.IsZero() || start.Before(first) {
			first = start
		}
		if end := r.Local(p.End); end.After(last) {
			last = end
		}
	}
	switch {
	case first.IsZero():
		return ""
	case first.Format(layout) == last.Format(layout):
		return first.Format(layout) + " (" + r.ZoneName() + ")"
	}
	return first.Format(layout) + " to " + last.Format(layout) + " (" + r.ZoneName() + ")"
}
