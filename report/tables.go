package report

import (
	"fmt"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

func (r *Report) groundTable() page.Table {
	g := r.Map.Ground
	t := page.Table{Caption: "Share of the field's area", Columns: []page.Column{page.Words("Ground"), page.Figures("Area"), page.Figures("Of field")}}
	t.Add(words.Same("Field"), r.bothAreas(g.Field), words.Text{})
	for _, line := range r.groundRows() {
		t.Add(words.Same(line.Name), r.bothAreas(line.Area), words.Same(words.Share(float64(line.Area), float64(g.Field))))
	}
	return t
}

func (r *Report) depthTable() page.Table {
	g := r.Map.Ground
	t := page.Table{Caption: "Ground inside the field by how often it was covered", Columns: []page.Column{page.Words("Covered"), page.Figures("Area"), page.Figures("Of field")}}
	for depth, a := range assess.ByDepth(g) {
		name := [...]string{"Not at all", "Once", "Twice"}[min(depth, 2)]
		if depth > 2 {
			name = fmt.Sprintf("%d times", depth)
		}
		if depth > 2 && a == 0 {
			continue
		}
		t.Add(words.Same(name), r.bothAreas(a), words.Same(words.Share(float64(a), float64(g.Field))))
	}
	return t
}

func (r *Report) headlandTable() page.Table {
	h := r.Map.Headland
	t := page.Table{Caption: "The zone along the boundary, and how near the work comes to it", Columns: []page.Column{page.Words("Headland"), page.Figures("Figure")}}
	t.Add(words.Same("Width"), r.bothLengths(float64(h.Width)))
	t.Add(words.Same("Area"), r.bothAreas(h.Area))
	t.Add(words.Same("Covered"), words.Same(words.Share(float64(h.Covered), float64(h.Area-h.Unlogged))))
	if e := h.Edge; e.Length > 0 && !r.Map.Field.Worked {
		for _, line := range []struct {
			name  string
			ticks float64
		}{
			{"Boundary", e.Length}, {"Reached", e.Reached}, {"Open", e.Open}, {"Unlogged", e.Unlogged},
			{"Stand-off, average", e.Mean}, {"Stand-off, most", e.Max},
		} {
			t.Add(words.Same(line.name), r.bothLengths(line.ticks))
		}
	}
	return t
}

// skipTable and overlapTable list the patches with the keys of their shapes on
// the plat: s1, s2, ... and o1, o2, ...
func (r *Report) skipTable() page.Table {
	t := page.Table{
		ID: "skips", Label: "Table of skips", Empty: "No skips to list.",
		Caption: "Ground that no pass covered, the largest first. Choose a number to see it on the plat.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Words("Why"), page.Classed("Where", "where"), page.Words("Size")},
	}
	l := r.Skips()
	for n, i := range l.Order[:l.Listed] {
		s := &r.Map.Skips[i]
		t.Add(words.Same(fmt.Sprint(n+1)), r.bothAreas(s.Area), words.Same(words.Cause(s.Cause)),
			r.both(func(u quantity.Units) string { return r.Place(u, s.Place, s.At) }),
			r.both(func(u quantity.Units) string { return u.Length(s.Length) + " by " + u.Length(s.Width) })).
			Goes(fmt.Sprintf("s%d", n+1), fmt.Sprintf("Skip %d on the plat", n+1))
	}
	return t
}

func (r *Report) overlapTable() page.Table {
	t := page.Table{
		ID: "overlaps", Label: "Table of overlaps", Empty: "No overlaps to list.",
		Caption: "Ground covered twice or more, the largest first.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Figures("Times"), page.Words("Why"), page.Classed("Where", "where")},
	}
	l := r.Overlaps()
	for n, i := range l.Order[:l.Listed] {
		o := &r.Map.Overlaps[i]
		t.Add(words.Same(fmt.Sprint(n+1)), r.bothAreas(o.Area), words.Same(fmt.Sprint(o.Depth)), words.Same(words.Cause(o.Cause)),
			r.both(func(u quantity.Units) string { return r.Place(u, o.Place, o.At) })).
			Goes(fmt.Sprintf("o%d", n+1), fmt.Sprintf("Overlap %d on the plat", n+1))
	}
	return t
}

func (r *Report) productTable() page.Table {
	t := page.Table{
		Label: "Table of products", Empty: "No products given.",
		Caption: "Applied on all swept ground; wasted on overlap and over-reach; short in skips",
		Columns: []page.Column{page.Words("Product"), page.Figures("Rate"), page.Figures("Applied"), page.Figures("Wasted"), page.Figures("Short"), page.Figures("Wasted cost")},
	}
	for i := range r.Accounts {
		a := &r.Accounts[i]
		us, metric := productRows(quantity.US, a), productRows(quantity.Metric, a)
		for k := range us {
			pick := func(of func(productRow) string) words.Text {
				return r.both(func(u quantity.Units) string {
					if u == quantity.Metric {
						return of(metric[k])
					}
					return of(us[k])
				})
			}
			var rate words.Text
			if !us[k].Part {
				rate = r.both(func(u quantity.Units) string { return words.Rate(u, &a.Product) })
			}
			line := t.Add(words.Same(us[k].Name), rate,
				pick(func(p productRow) string { return p.Applied }),
				pick(func(p productRow) string { return p.Wasted }),
				pick(func(p productRow) string { return p.Short }), words.Same(us[k].Cost))
			if us[k].Part {
				line.Class = "part"
			}
		}
	}
	return t
}

func (r *Report) machineTable() page.Table {
	t := page.Table{
		Label: "Table of machines", Empty: "No machines.", Caption: "As the job describes them",
		Columns: []page.Column{page.Words("Machine"), page.Classed("Operator", "name"), page.Classed("Implement", "name"), page.Figures("Width"),
			page.Classed("Openers", "when"), page.Words("Hitch"), page.Figures("Sections"), page.Classed("Logs", "name")},
	}
	for i := range r.Map.Machines {
		m := &r.Map.Machines[i]
		im := &m.Implement
		files := make([]string, len(m.Tracks))
		for k := range m.Tracks {
			files[k] = m.Tracks[k].File
		}
		hitch := "mounted"
		if im.Towed {
			hitch = "towed"
		}
		var openers words.Text
		if im.Openers > 0 {
			openers = r.both(func(u quantity.Units) string {
				if im.RowSpacing == 0 {
					return fmt.Sprint(im.Openers)
				}
				return fmt.Sprintf("%d at %s", im.Openers, u.RowSpacing(im.RowSpacing))
			})
		}
		t.Add(words.Same(m.Name), words.Same(m.Operator), words.Same(im.Name), r.bothLengths(float64(im.Width)), openers,
			words.Same(hitch), words.Same(fmt.Sprint(max(1, len(im.Sections)))), words.Same(strings.Join(files, ", ")))
	}
	return t
}

func (r *Report) passTable() page.Table {
	t := page.Table{
		Label: "Table of passes", Empty: "No passes.", Caption: "In the order they began; times are those of " + r.ZoneName(),
		Columns: []page.Column{page.Words("Pass"), page.Classed("Machine", "name"), page.Words("Kind"), page.Classed("Began", "when"),
			page.Figures("Length"), page.Figures("Swept"), page.Figures("New ground"), page.Figures("Overlap")},
	}
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		start := "no clock"
		if r.HasClock(p) {
			start = r.Local(p.Start).Format("2006-01-02 15:04")
		}
		t.Add(words.Same(fmt.Sprint(p.ID)), words.Same(r.MachineName(p.Machine)), words.Same(assess.PassKind(p)), words.Same(start),
			r.bothLengths(p.Length), r.bothAreas(p.Swept), r.bothAreas(p.New), r.bothAreas(p.Overlap))
	}
	return t
}
