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

// A contents is everything on last.html.
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

func (l *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(l.Units, write)
}

// Page writes last.html: for a phone in the cab, the verdict first.
func (l *Document) Page(w io.Writer) error {
	p := &contents{
		Base:    page.New(l.Units, l.FieldName(), "the last pass", l.Run, page.MapScript),
		Verdict: l.both(func(u quantity.Units) string { return strings.Join(l.verdict(u), " ") }),
		Map:     l.fieldMap(), Headland: l.headlandTitle(),
	}
	if len(l.Passes) > 0 {
		p.Left = l.both(l.leftWords)
	}
	for i := range l.Passes {
		p.Passes = append(p.Passes, l.block(i))
	}
	for _, w := range l.AllWarnings() {
		p.Warnings = append(p.Warnings, words.Warning(w))
	}
	p.Notes = l.lastNotes()
	if l.HasAmmonia() {
		p.Ammonia = page.AmmoniaCautions()
	}
	return lastPage.Execute(w, p)
}

func (l *Document) lastNotes() []string {
	tolerance := float64(l.Map.Headland.Edge.Tolerance)
	return []string{
		fmt.Sprintf("A gap counts from %s (%s). Back is along the pass, from where it ended; left and right are as driven.", quantity.US.Length(tolerance), quantity.Metric.Length(tolerance)),
		"A neighbour is a pass that ran side by side; ground not worked yet has none.",
		"An antenna that is off by so much moves a seam by as much: look at the ground before you go back for an inch.",
	}
}

// fieldMap is the field's map with the passes asked about drawn over it.
func (l *Document) fieldMap() *chart.Map {
	p := chart.NewMap(l.Assessment)
	for i := range l.Passes {
		pass := l.Passes[i].Pass
		p.Over = append(p.Over, chart.Shape{Class: "run", Path: p.Line(assess.CentreLine(pass, chart.Tolerance)), Text: l.both(func(u quantity.Units) string {
			return l.passWords(u, &l.Passes[i]) + "."
		})})
	}
	p.Legend = append(p.Legend, chart.LegendLine{Layer: "run", Swatch: "run", Name: "The pass asked about"})
	return p
}

func (l *Document) block(i int) block {
	p := &l.Passes[i]
	b := block{Name: l.both(func(u quantity.Units) string { return l.passWords(u, p) })}
	for _, s := range []struct {
		name string
		seam *beside.Seam
	}{{"Left", &p.Left}, {"Right", &p.Right}} {
		if s.seam.Beside > 0 {
			b.Charts = append(b.Charts, l.seamChart(p.Pass, s.seam, s.name))
		} else {
			b.Gaps = append(b.Gaps, l.both(func(u quantity.Units) string { return s.name + ": " + l.sideWords(u, s.seam) + "." }))
		}
	}
	for _, g := range l.gaps() {
		if g.pass == p {
			b.Gaps = append(b.Gaps, l.both(func(u quantity.Units) string { return words.Capital(gapWords(u, p.Pass, g.gap, g.side)) + "." }))
		}
	}
	if i == 0 {
		for _, o := range l.openings() {
			b.Open = append(b.Open, l.both(func(u quantity.Units) string { return l.openingWords(u, &o) + "." }))
		}
	}
	return b
}

// seamChart draws gap and lap along one side of a pass, from where it ended
// back to where it began.
func (l *Document) seamChart(p *coverage.Pass, s *beside.Seam, name string) *chart.Chart {
	us, metric := chart.LengthScales()
	inches, centimetres := chart.Scale{Unit: "in", One: us.One / 12}, chart.Scale{Unit: "cm", One: metric.One / 100}
	reach := max(s.WidestGap, s.WidestLap, 1.5*float64(l.Map.Headland.Edge.Tolerance), float64(10*plane.Centimetre))
	c := chart.NewForCab(l.both(func(quantity.Units) string { return name + " side" }),
		l.both(func(u quantity.Units) string { return words.Capital(l.sideWords(u, s)) + "." }),
		chart.Axis{Name: "back from the end", US: us, Metric: metric, Most: p.Length, Ticks: 4},
		chart.Axis{Name: "lap up, gap down", US: inches, Metric: centimetres, Least: -reach, Most: reach, Ticks: 2})
	var gap, lap []chart.Point
	draw := func() {
		c.Area("skip", gap)
		c.Area("overlap", lap)
		gap, lap = nil, nil
	}
	for _, m := range slices.Backward(s.Marks) {
		from, to := p.Length-m.To, p.Length-m.From
		if !m.Beside {
			draw()
			c.Band("silent", from, to)
			continue
		}
		gap = append(gap, chart.Point{X: (from + to) / 2, Y: math.Min(m.By, 0)})
		lap = append(lap, chart.Point{X: (from + to) / 2, Y: math.Max(m.By, 0)})
	}
	draw()
	return c
}
