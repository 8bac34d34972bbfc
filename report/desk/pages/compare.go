package pages

import (
	"bytes"
	"fmt"

	"lapwing/coverage/region"
	"lapwing/geo/plane"
	"lapwing/report/desk/draw"
	"lapwing/report/words"
)

// A Comparison is two assessments side by side.
type Comparison struct {
	Sides   [2]Side  `json:"sides"`
	Figures []Figure `json:"figures"`
}

// A Side is one of two assessments, drawn to the scale of the other: both boxes are of
// one size.
type Side struct {
	Job     string        `json:"job"`
	Field   string        `json:"field"`
	Days    string        `json:"days"`
	Verdict string        `json:"verdict"`
	Page    string        `json:"page"`
	Drawing *draw.Drawing `json:"drawing"`
}

// A Figure is the same of both.
type Figure struct {
	Name  string    `json:"name"`
	Texts [2]string `json:"texts"`
	More  string    `json:"more"` // how much more the second has, with its sign; "" where that has no meaning
}

// kinds are what a comparison draws, from the bottom up.
var kinds = []struct {
	kind region.Kind
	name string
}{{region.Unlogged, "unlogged"}, {region.OverReach, "overreach"}, {region.Overlap, "overlap"}, {region.Skip, "skip"}}

// Compare puts two jobs side by side, on one scale.
func (m *Maker) Compare(jobs [2]string) (*Comparison, error) {
	out := &Comparison{}
	var both [2]Result
	for i, name := range jobs {
		part := *m
		part.Told = func(text string, share float64) { m.Told(text, (float64(i)+share)/2) }
		results, _, err := part.Results(name)
		if err != nil {
			return nil, err
		}
		if len(results) > 1 {
			return nil, wrong(fmt.Sprintf("found %d fields in %s", len(results), name), "one")
		}
		r := results[0]
		both[i] = r
		s := &out.Sides[i]
		s.Job, s.Field, s.Days, s.Page = name, r.FieldName(), daysOf(r), reportOf(name)
		var text bytes.Buffer
		if err := documentOf(r).Text(&text); err != nil {
			return nil, err
		}
		s.Verdict = firstOf(text.String())
		s.Drawing = groundOf(r)
	}
	oneScale(out.Sides[0].Drawing, out.Sides[1].Drawing)
	u := m.Units
	areas := func(name string, of func(r Result) plane.Area) {
		x, y := of(both[0]), of(both[1])
		f := Figure{Name: name, Texts: [2]string{u.Area(x), u.Area(y)}}
		switch {
		case y > x:
			f.More = "+" + u.Area(y-x)
		case y < x:
			f.More = "-" + u.Area(x-y)
		}
		out.Figures = append(out.Figures, f)
	}
	share := func(name string, of func(r Result) plane.Area) {
		f := Figure{Name: name}
		for i, r := range both {
			f.Texts[i] = words.Share(float64(of(r)), float64(r.Map.Totals.Field))
		}
		out.Figures = append(out.Figures, f)
	}
	skipped := func(r Result) plane.Area {
		return r.Map.Totals.Skip - r.Map.Totals.Remainder - r.Map.Totals.Outlined
	}
	overlap := func(r Result) plane.Area { return r.Map.Totals.Overlap }
	areas("Field", func(r Result) plane.Area { return r.Map.Totals.Field })
	areas("Covered", func(r Result) plane.Area { return r.Map.Totals.Covered })
	areas("Skips", skipped)
	share("Skips, of the field", skipped)
	areas("Not worked yet", func(r Result) plane.Area { return r.Map.Totals.Remainder - r.Map.Totals.Yards })
	areas("Worked twice or more", overlap)
	share("Worked twice or more, of the field", overlap)
	areas("Outside the boundary", func(r Result) plane.Area { return r.Map.Totals.OverReach })
	areas("Log silent", func(r Result) plane.Area { return r.Map.Totals.Unlogged })
	edge := Figure{Name: "Edge open"}
	for i, r := range both {
		edge.Texts[i] = "not known"
		if !r.Map.Field.Worked {
			edge.Texts[i] = u.Length(r.Map.Headland.Edge.Open)
		}
	}
	passes := Figure{Name: "Passes"}
	for i, r := range both {
		passes.Texts[i] = fmt.Sprint(len(r.Map.Passes))
	}
	out.Figures = append(out.Figures, edge, passes)
	for i := range out.Figures {
		f := &out.Figures[i]
		f.Texts, f.More = [2]string{words.Typeset(f.Texts[0]), words.Typeset(f.Texts[1])}, words.Typeset(f.More)
	}
	return out, nil
}

// daysOf are the days of the work of an assessment, in words.
func daysOf(r Result) string {
	const day = "2006-01-02"
	first, last := "", ""
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		if !r.HasClock(p) {
			continue
		}
		if from := r.Local(p.Start).Format(day); first == "" || from < first {
			first = from
		}
		last = max(last, r.Local(p.End).Format(day))
	}
	if first == last {
		return first
	}
	return first + " to " + last
}

// groundOf draws what needs attention on a field.
func groundOf(r Result) *draw.Drawing {
	p := draw.Pen{Frame: r.Map.Field.Frame}
	for _, k := range kinds {
		var shapes []plane.Polygon
		for i := range r.Map.Regions {
			if reg := &r.Map.Regions[i]; reg.Kind == k.kind {
				shapes = append(shapes, reg.Shape)
			}
		}
		if len(shapes) > 0 {
			p.Flat(draw.Shape{Kind: k.name}, shapes)
		}
	}
	p.Flat(draw.Shape{Kind: "boundary"}, r.Map.Field.Boundary)
	return p.Drawing()
}

// oneScale makes the boxes of two drawings equally wide and high, each around the middle
// of its own.
func oneScale(a, b *draw.Drawing) {
	if a == nil || b == nil {
		return
	}
	wide, high := max(a.Box[2], b.Box[2]), max(a.Box[3], b.Box[3])
	for _, d := range []*draw.Drawing{a, b} {
		d.Box = [4]float64{draw.Tenth(d.Box[0] - (wide-d.Box[2])/2), draw.Tenth(d.Box[1] - (high-d.Box[3])/2), wide, high}
	}
}
