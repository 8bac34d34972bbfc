package field

import (
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/geo/plane"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A groundRow is one line of the table of ground.
type groundRow struct {
	Name string
	Area plane.Area
}

// groundRows are the rows of the table of ground, the field itself left out.
// Over-reach lies outside the field: its share is of the field's area all the
// same, so that it can be set beside the others.
func (d *Document) groundRows() []groundRow {
	g := d.Map.Totals
	return []groundRow{
		{"Covered", g.Covered},
		{"Skip", g.Skip - g.Remainder},
		{"Not worked yet", g.Remainder},
		{"Log silent", g.Unlogged},
		{"Worked twice or more", g.Overlap},
		{"Outside the boundary", g.OverReach},
	}
}

func (d *Document) groundTable() page.Table {
	g := d.Map.Totals
	t := page.Table{Caption: "Share of the field's area", Columns: []page.Column{page.Words("Ground"), page.Figures("Area"), page.Figures("Of field")}}
	t.Add(words.Same("Field"), d.bothAreas(g.Field), words.Text{})
	for _, line := range d.groundRows() {
		t.Add(words.Same(line.Name), d.bothAreas(line.Area), words.Same(words.Share(float64(line.Area), float64(g.Field))))
	}
	return t
}

func (d *Document) depthTable() page.Table {
	g := d.Map.Totals
	t := page.Table{Caption: "Ground inside the field by how often it was covered", Columns: []page.Column{page.Words("Covered"), page.Figures("Area"), page.Figures("Of field")}}
	for depth, a := range assess.ByDepth(g) {
		name := [...]string{"Not at all", "Once", "Twice"}[min(depth, 2)]
		if depth > 2 {
			name = fmt.Sprintf("%d times", depth)
		}
		if depth > 2 && a == 0 {
			continue
		}
		t.Add(words.Same(name), d.bothAreas(a), words.Same(words.Share(float64(a), float64(g.Field))))
	}
	return t
}

func (d *Document) headlandTable() page.Table {
	h := d.Map.Headland
	t := page.Table{Caption: "The zone along the boundary, and how near the work comes to it", Columns: []page.Column{page.Words("Headland"), page.Figures("Figure")}}
	t.Add(words.Same("Width"), d.bothLengths(plane.Distance(h.Width)))
	t.Add(words.Same("Area"), d.bothAreas(h.Area))
	t.Add(words.Same("Covered"), words.Same(words.Share(float64(h.Covered), float64(h.Area-h.Unlogged))))
	if e := h.Edge; e.Length > 0 && !d.Map.Field.Worked {
		for _, line := range []struct {
			name   string
			length plane.Distance
		}{
			{"Boundary", e.Length}, {"Reached", e.Reached}, {"Open", e.Open}, {"Log silent", e.Unlogged},
			{"Short of the edge, average", e.Mean}, {"Short of the edge, most", e.Max},
		} {
			t.Add(words.Same(line.name), d.bothLengths(line.length))
		}
	}
	return t
}
