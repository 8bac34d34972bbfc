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

var lastPage = page.NewTemplate(lastHTML)

// The contents are everything on last.html.
type contents struct {
	page.Base
	Sign     string // of the finding to act on first
	Headline words.Text
	Also     words.Text
	Still    words.Text // what is still to do
	Mend     bool       // mend.html is beside it
	Map      *chart.Map
	Where    words.Text // heads the places
	Places   []listedPlace
	Beyond   words.Text
	Passes   []block
}

// A listedPlace is a place in the list.
type listedPlace struct {
	Label, Key string
	Says       words.Text
	Place      *page.Place
}

// A block is one pass with its charts.
type block struct {
	Name   words.Text
	Charts []*chart.Chart
	Sides  []words.Text // of those sides that no chart can show
}

// signs stand before the headline, so that it is told without colour too.
var signs = map[assess.Finding]string{
	assess.HeadlandOpen: "\u25b2", assess.GoBack: "\u21a9", assess.CannotSay: "?", assess.WideLap: "\u2194", assess.CarryOn: "\u2713",
}

func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// Page writes last.html: for a phone in the cab, the verdict first.
func (d *Document) Page(w io.Writer) error {
	p := &contents{
		Base:     page.OfField(d.Assessment, "the last pass"),
		Sign:     signs[d.Verdict.First()],
		Headline: d.both(d.Headline), Also: d.both(func(u quantity.Units) string { return strings.Join(d.Also(u), " ") }),
		Mend: d.Assessment.Mend != nil, Map: d.fieldMap(), Where: words.Same(d.placesTitle()), Beyond: d.both(d.Beyond),
	}
	if len(d.Passes) > 0 {
		p.Still = d.both(d.stillWords)
	}
	for _, at := range d.places() {
		p.Places = append(p.Places, listedPlace{at.label, at.key, d.both(func(u quantity.Units) string { return at.says(u) + "." }),
			page.PlaceAt(d.Map.Field.Frame.ToEarth(at.at), "place "+at.label, words.Text{})})
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
	p.Marks = nil // but for those that are in the list
	for _, at := range d.places() {
		x, y := p.XY(at.at)
		p.Marks = append(p.Marks, chart.Pin{Label: at.label, Key: at.key, X: x, Y: y})
	}
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
	for _, s := range p.sides() {
		if s.seam.Beside > 0 {
			b.Charts = append(b.Charts, d.seamChart(p.Pass, s.seam, s.name))
		} else {
			b.Sides = append(b.Sides, d.both(func(u quantity.Units) string { return s.name + ": " + d.sideWords(u, s.seam) + "." }))
		}
	}
	return b
}

// A side of a pass as driven, with its name for people.
type side struct {
	name string
	seam *beside.Seam
}

func (p *Pass) sides() []side { return []side{{"Left", &p.Left}, {"Right", &p.Right}} }

// reach is how far all charts of the page reach, up and down and along, so that what is
// larger looks larger.
func (d *Document) reach() (across, along plane.Distance) {
	across = max(3*plane.Distance(d.Map.Headland.Edge.Tolerance)/2, plane.Distance(10*plane.Centimetre))
	for i := range d.Passes {
		p := &d.Passes[i]
		for _, s := range p.sides() {
			if s.seam.Beside > 0 {
				across, along = max(across, s.seam.WidestGap, s.seam.WidestLap), max(along, p.Pass.Length)
			}
		}
	}
	return across, along
}

// seamChart draws gap and lap along one side of a pass, from where it ended
// back to where it began.
func (d *Document) seamChart(p *coverage.Pass, s *beside.Seam, name string) *chart.Chart {
	us, metric := chart.LengthScales()
	across, along := d.reach()
	high, highMetric := us, metric // in the unit that the sentences tell such lengths in
	if across < plane.Distance(quantity.Foot*float64(plane.Metre)) {
		high = chart.Scale{Unit: "in", One: us.One / 12}
	}
	if across < plane.Distance(plane.Metre) {
		highMetric = chart.Scale{Unit: "cm", One: metric.One / 100}
	}
	says := func(u quantity.Units) string {
		text := words.Capital(d.sideWords(u, s)) + "."
		if s.Beside < p.Length-plane.Distance(plane.Metre) {
			text += " Grey: no neighbour beside it."
		}
		return text
	}
	c := chart.NewForCab(d.both(func(quantity.Units) string { return name + " side" }), d.both(says),
		chart.Axis{Name: "back from the end", US: us, Metric: metric, Most: float64(along), Ticks: 4},
		chart.Axis{Name: "lap up, gap down", US: high, Metric: highMetric, Least: -float64(across), Most: float64(across), Ticks: 3})
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
	for i := range s.Gaps {
		if label := d.labelAt(&s.Gaps[i]); label != "" {
			c.Mark(float64(p.Length-(s.Gaps[i].From+s.Gaps[i].To)/2), label)
		}
	}
	return c
}
