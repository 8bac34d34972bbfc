package last

import (
	_ "embed"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed last.html
var lastHTML string

var lastPage = page.Parsed(lastHTML)

// The contents are everything on last.html.
type contents struct {
	page.Base
	Verdict words.Text
	Left    words.Text // what is left to do
	Passes  []block
	Map     *chart.Map
	// Headland heads the places where it is open.
	Headland string
}

// A block is one pass: its two charts and the places to go back to.
type block struct {
	Name   words.Text
	Charts []*chart.Chart
	Gaps   []words.Text
	Open   []words.Text // of the headland, with the first pass only
}

func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// Page writes last.html: for a phone in the cab, the verdict first.
func (d *Document) Page(w io.Writer) error {
	p := &contents{
		Base:    page.OfField(d.Assessment, "the last pass"),
		Verdict: d.both(func(u quantity.Units) string { return strings.Join(d.verdict(u), " ") }),
		Map:     d.fieldMap(), Headland: d.headlandTitle(),
	}
	if len(d.Passes) > 0 {
		p.Left = d.both(d.leftWords)
	}
	for i := range d.Passes {
		p.Passes = append(p.Passes, d.block(i))
	}
	p.Notes = d.lastNotes()
	return lastPage.Execute(w, p)
}

func (d *Document) lastNotes() []string {
	tolerance := plane.Distance(d.Map.Headland.Edge.Tolerance)
	return []string{
		fmt.Sprintf("A gap counts from %s (%s). Back is along the pass, from where it ended; left and right are as driven.", quantity.US.Length(tolerance), quantity.Metric.Length(tolerance)),
		"A neighbour is a pass that ran side by side; ground not worked yet has none.",
		"An antenna that is off by so much moves a seam by as much: look at the ground before you go back for an inch.",
	}
}

// fieldMap is the field's map with the passes asked about drawn over it.
func (d *Document) fieldMap() *chart.Map {
	p := chart.NewMap(d.Assessment)
	for i := range d.Passes {
		pass := d.Passes[i].Pass
		p.Over = append(p.Over, chart.Shape{Class: "run", Path: p.Line(assess.CentreLine(pass, chart.Tolerance)), Text: d.both(func(u quantity.Units) string {
			return d.passWords(u, &d.Passes[i]) + "."
		})})
	}
	p.Legend = append(p.Legend, chart.LegendLine{Layer: "run", Swatch: "run", Name: "The pass asked about"})
	return p
}

func (d *Document) block(i int) block {
	p := &d.Passes[i]
	b := block{Name: d.both(func(u quantity.Units) string { return d.passWords(u, p) })}
	for _, s := range []struct {
		name string
		seam *beside.Seam
	}{{"Left", &p.Left}, {"Right", &p.Right}} {
		if s.seam.Beside > 0 {
			b.Charts = append(b.Charts, d.seamChart(p.Pass, s.seam, s.name))
		} else {
			b.Gaps = append(b.Gaps, d.both(func(u quantity.Units) string { return s.name + ": " + d.sideWords(u, s.seam) + "." }))
		}
	}
	for _, g := range d.gaps() {
		if g.pass == p {
			b.Gaps = append(b.Gaps, d.both(func(u quantity.Units) string { return words.Capital(gapWords(u, p.Pass, g.gap, g.side)) + "." }))
		}
	}
	if i == 0 {
		for _, o := range d.openings() {
			b.Open = append(b.Open, d.both(func(u quantity.Units) string { return d.openingWords(u, &o) + "." }))
		}
	}
	return b
}

// seamChart draws gap and lap along one side of a pass, from where it ended
// back to where it began.
func (d *Document) seamChart(p *coverage.Pass, s *beside.Seam, name string) *chart.Chart {
	us, metric := chart.LengthScales()
	inches, centimetres := chart.Scale{Unit: "in", One: us.One / 12}, chart.Scale{Unit: "cm", One: metric.One / 100}
	reach := float64(max(s.WidestGap, s.WidestLap, 1.5*plane.Distance(d.Map.Headland.Edge.Tolerance), plane.Distance(10*plane.Centimetre)))
	c := chart.NewForCab(d.both(func(quantity.Units) string { return name + " side" }),
		d.both(func(u quantity.Units) string { return words.Capital(d.sideWords(u, s)) + "." }),
		chart.Axis{Name: "back from the end", US: us, Metric: metric, Most: float64(p.Length), Ticks: 4},
		chart.Axis{Name: "lap up, gap down", US: inches, Metric: centimetres, Least: -reach, Most: reach, Ticks: 2})
	var gap, lap []chart.Point
	draw := func() {
		c.Area("skip", gap)
		c.Area("overlap", lap)
		gap, lap = nil, nil
	}
	for _, m := range slices.Backward(s.Marks) {
		from, to := float64(p.Length-m.To), float64(p.Length-m.From)
		if !m.Beside {
			draw()
			c.Band("silent", from, to)
			continue
		}
		gap = append(gap, chart.Point{X: (from + to) / 2, Y: math.Min(float64(m.By), 0)})
		lap = append(lap, chart.Point{X: (from + to) / 2, Y: math.Max(float64(m.By), 0)})
	}
	draw()
	return c
}
