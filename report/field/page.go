package field

import (
	_ "embed"
	"io"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed field.html
var assessmentHTML string

var assessmentPage = page.NewTemplate(assessmentHTML)

// Page writes report.html: the map of the field with its tables, one file
// that loads nothing from elsewhere.
func (d *Document) Page(w io.Writer) error {
	return assessmentPage.Execute(w, d.page())
}

// The contents are everything on report.html as it is to be read: the template
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
	Stated                    page.Table
	Leaf                      *page.Leaf // what is printed
	Mend                      string     // the plan of the drive beside the page; "" where there is none
}

func (d *Document) page() *contents {
	p := &contents{
		Base:   page.OfField(d.Assessment, "field coverage"),
		Answer: d.both(func(u quantity.Units) string { return strings.Join(d.answer(u), " ") }),
		Block:  d.titleBlock(),
		Map:    chart.NewMap(d.Assessment), Strips: d.strips(),
		Skips: d.skipTable(), Overlaps: d.overlapTable(),
		SmallSkips: d.tooSmall(d.Skips()), SmallOverlaps: d.tooSmall(d.Overlaps()),
		Ground: d.groundTable(), Depths: d.depthTable(), Headland: d.headlandTable(),
		Products: d.productTable(), Reckoning: d.reckoning(), Machines: d.machineTable(), Passes: d.passTable(),
		WhatIf: d.whatIfPage(), Stated: d.statedTable(), Leaf: d.Leaf(),
	}
	p.Notes = d.notes()
	p.Book, p.Mend = d.Book, d.Mend
	return p
}

func (d *Document) titleBlock() []page.Entry {
	centre := d.Map.Field.Frame.Centre
	block := []page.Entry{
		{Name: "Area", Text: d.bothAreas(d.Map.Totals.Field)},
		{Name: "Worked", Text: words.Same(d.dates())},
		{Name: "Machines", Text: words.Same(strings.Join(d.MachineNames(indices(len(d.Map.Machines))), ", "))},
		{Name: "Centre", Text: words.Same(quantity.LonLat(centre.Lon, centre.Lat))},
	}
	return slices.DeleteFunc(block, func(e page.Entry) bool { return e.Text.Shown == "" })
}

// dates gives the first and the last day of work.
func (d *Document) dates() string {
	const layout = "2 January 2006"
	var first, last time.Time
	for i := range d.Map.Passes {
		p := &d.Map.Passes[i]
		if !d.HasClock(p) {
			continue
		}
		if start := d.Local(p.Start); first.IsZero() || start.Before(first) {
			first = start
		}
		if end := d.Local(p.End); end.After(last) {
			last = end
		}
	}
	switch {
	case first.IsZero():
		return ""
	case first.Format(layout) == last.Format(layout):
		return first.Format(layout) + " (" + d.ZoneName() + ")"
	}
	return first.Format(layout) + " to " + last.Format(layout) + " (" + d.ZoneName() + ")"
}
