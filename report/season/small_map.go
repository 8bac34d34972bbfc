package season

import (
	"cmp"
	"io"

	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/season/shape"
	"lapwing/report/words"
)

// A Sketch is what a book needs of an entry beside its summary.json. To draw it takes
// ten times as long as to read all else of an entry, so it may be kept, as JSON.
type Sketch struct {
	Map chart.SmallMap `json:"map"`
	Box LonLatBox      `json:"box"`   // of the boundary
	Row float64        `json:"row_m"` // spacing of its rows; 0 where no job says
	// Leaf is its printed page, and Mend its plan, from the folder of its page; nothing
	// where none was made.
	Leaf *page.Leaf `json:"leaf,omitempty"`
	Mend string     `json:"mend,omitempty"`
	// Takes are the minutes that each skip takes of the drive in that plan, by its number.
	Takes map[int]float64 `json:"takes_min,omitempty"`
}

// Note notes what an assessment says beside its shapes: how far apart the rows are, the
// printed page, and of the plan that mends the skips its page, what it says, and what each
// skip takes of it.
func (s *Sketch) Note(a *assess.Assessment, leaf *page.Leaf, plan string, says words.Text) {
	s.Row = machine.FinestRows(a.Map.Machines).Metres()
	s.Leaf, s.Mend = leaf, plan
	s.Leaf.Says = s.Leaf.Says.And(says)
	s.Takes = map[int]float64{}
	numbers := a.SkipNumbers()
	for i, took := range a.Detours() {
		s.Takes[numbers[i]] = took.Minutes()
	}
}

// Draw draws a coverage.geojson, and says where on the Earth it is.
func Draw(shapes io.Reader) (*Sketch, error) {
	var boundary []geo.Polygon
	parts := map[string][]geo.Polygon{}
	err := shape.Each(shapes, func(s *shape.Shape) bool { return s.Kind == "field" || markOf(s) != "" }, func(s shape.Shape) error {
		if s.Kind == "field" {
			boundary = append(boundary, s.Polygons...)
		} else if mark := markOf(&s); mark != "" {
			parts[mark] = append(parts[mark], s.Polygons...)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(boundary) == 0 {
		return &Sketch{}, nil
	}
	field, err := field.NewField("", boundary)
	if err != nil {
		return nil, err
	}
	t := chart.NewStamp(field.Boundary)
	var p chart.SmallMap
	t.Frame(&p)
	for _, class := range []string{"unlogged", "overreach", "overlap", "unworked", "skip"} {
		if d := t.Path(laid(&field.Frame, parts[class])); d != "" {
			p.Marks = append(p.Marks, chart.Mark{Class: class, D: d})
		}
	}
	p.Marks = append(p.Marks, chart.Mark{Class: "boundary", D: t.Path(field.Boundary)})
	return &Sketch{Map: p, Box: boxOf(boundary)}, nil
}

// markOf is the class of the mark that shows a shape on a small map; "" where
// none does.
func markOf(s *shape.Shape) string {
	switch {
	case s.Kind == "skip" && s.Cause == string(cause.Unworked):
		return "unworked"
	case (s.Kind == "skip" || s.Kind == "overlap" || s.Kind == "overreach" || s.Kind == "unlogged") && s.Area >= chart.StampLeast:
		return s.Kind
	}
	return ""
}

// laid lays polygons flat; what is too far away for the grid is left out of
// the drawing.
func laid(frame *geo.Frame, parts []geo.Polygon) []plane.Polygon {
	var out []plane.Polygon
	for _, p := range parts {
		var flat plane.Polygon
		ok := true
		ring := func(places []geo.LonLat) plane.Ring {
			r := make(plane.Ring, 0, len(places))
			for _, at := range places {
				p, near := frame.ToPlane(at)
				ok = ok && near
				r = append(r, p)
			}
			return r
		}
		flat.Shell = ring(p.Shell)
		for _, h := range p.Holes {
			flat.Holes = append(flat.Holes, ring(h))
		}
		if ok {
			out = append(out, flat)
		}
	}
	return out
}

// byNumber puts entries in the order of their numbers.
func byNumber(a, b *Entry) int { return cmp.Compare(a.Number, b.Number) }
