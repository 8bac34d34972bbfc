package report

import (
	"fmt"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

func (r *Report) groundTable() table {
	g := r.Map.Ground
	t := table{Caption: "Share of the field's area", Columns: []column{wordsColumn("Ground"), figures("Area"), figures("Of field")}}
	t.add(words.Same("Field"), r.bothAreas(g.Field), words.Text{})
	for _, line := range r.groundRows() {
		t.add(words.Same(line.Name), r.bothAreas(line.Area), words.Same(words.Share(float64(line.Area), float64(g.Field))))
	}
	return t
}

func (r *Report) depthTable() table {
	g := r.Map.Ground
	t := table{Caption: "Ground inside the field by how often it was covered", Columns: []column{wordsColumn("Covered"), figures("Area"), figures("Of field")}}
	for depth, a := range assess.ByDepth(g) {
		name := [...]string{"Not at all", "Once", "Twice"}[min(depth, 2)]
		if depth > 2 {
			name = fmt.Sprintf("%d times", depth)
		}
		if depth > 2 && a == 0 {
			continue
		}
		t.add(words.Same(name), r.bothAreas(a), words.Same(words.Share(float64(a), float64(g.Field))))
	}
	return t
}

func (r *Report) headlandTable() table {
	h := r.Map.Headland
	t := table{Caption: "The zone along the boundary, and how near the work comes to it", Columns: []column{wordsColumn("Headland"), figures("Figure")}}
	t.add(words.Same("Width"), r.bothLengths(float64(h.Width)))
	t.add(words.Same("Area"), r.bothAreas(h.Area))
	t.add(words.Same("Covered"), words.Same(words.Share(float64(h.Covered), float64(h.Area-h.Unlogged))))
	if e := h.Edge; e.Length > 0 && !r.Map.Field.Worked {
		for _, line := range []struct {
			name  string
			ticks float64
		}{
			{"Boundary", e.Length}, {"Reached", e.Reached}, {"Open", e.Open}, {"Unlogged", e.Unlogged},
			{"Stand-off, average", e.Mean}, {"Stand-off, most", e.Max},
		} {
			t.add(words.Same(line.name), r.bothLengths(line.ticks))
		}
	}
	return t
}

// skipTable and overlapTable list the patches with the keys of their shapes on
// the plat: s1, s2, ... and o1, o2, ...
func (r *Report) skipTable() table {
	t := table{
		ID: "skips", Label: "Table of skips", Empty: "No skips to list.",
		Caption: "Ground that no pass covered, the largest first. Choose a number to see it on the plat.",
		Columns: []column{wordsColumn("No."), figures("Area"), wordsColumn("Why"), classed("Where", "where"), wordsColumn("Size")},
	}
	l := r.Skips()
	for n, i := range l.Order[:l.Listed] {
		s := &r.Map.Skips[i]
		t.add(words.Same(fmt.Sprint(n+1)), r.bothAreas(s.Area), words.Same(words.Cause(s.Cause)),
			r.both(func(u quantity.Units) string { return r.Place(u, s.Place, s.At) }),
			r.both(func(u quantity.Units) string { return u.Length(s.Length) + " by " + u.Length(s.Width) })).
			goes(fmt.Sprintf("s%d", n+1), fmt.Sprintf("Skip %d on the plat", n+1))
	}
	return t
}

func (r *Report) overlapTable() table {
	t := table{
		ID: "overlaps", Label: "Table of overlaps", Empty: "No overlaps to list.",
		Caption: "Ground covered twice or more, the largest first.",
		Columns: []column{wordsColumn("No."), figures("Area"), figures("Times"), wordsColumn("Why"), classed("Where", "where")},
	}
	l := r.Overlaps()
	for n, i := range l.Order[:l.Listed] {
		o := &r.Map.Overlaps[i]
		t.add(words.Same(fmt.Sprint(n+1)), r.bothAreas(o.Area), words.Same(fmt.Sprint(o.Depth)), words.Same(words.Cause(o.Cause)),
			r.both(func(u quantity.Units) string { return r.Place(u, o.Place, o.At) })).
			goes(fmt.Sprintf("o%d", n+1), fmt.Sprintf("Overlap %d on the plat", n+1))
	}
	return t
}

func (r *Report) productTable() table {
	t := table{
		Label: "Table of products", Empty: "No products given.",
		Caption: "Applied on all swept ground; wasted on overlap and over-reach; short in skips",
		Columns: []column{wordsColumn("Product"), figures("Rate"), figures("Applied"), figures("Wasted"), figures("Short"), figures("Wasted cost")},
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
			line := t.add(words.Same(us[k].Name), rate,
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

func (r *Report) machineTable() table {
	t := table{
		Label: "Table of machines", Empty: "No machines.", Caption: "As the job describes them",
		Columns: []column{wordsColumn("Machine"), classed("Operator", "name"), classed("Implement", "name"), figures("Width"),
			classed("Openers", "when"), wordsColumn("Hitch"), figures("Sections"), classed("Logs", "name")},
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
		t.add(words.Same(m.Name), words.Same(m.Operator), words.Same(im.Name), r.bothLengths(float64(im.Width)), openers,
			words.Same(hitch), words.Same(fmt.Sprint(max(1, len(im.Sections)))), words.Same(strings.Join(files, ", ")))
	}
	return t
}

func (r *Report) passTable() table {
	t := table{
		Label: "Table of passes", Empty: "No passes.", Caption: "In the order they began; times are those of " + r.ZoneName(),
		Columns: []column{wordsColumn("Pass"), classed("Machine", "name"), wordsColumn("Kind"), classed("Began", "when"),
			figures("Length"), figures("Swept"), figures("New ground"), figures("Overlap")},
	}
	for i := range r.Map.Passes {
		p := &r.Map.Passes[i]
		start := "no clock"
		if r.HasClock(p) {
			start = r.Local(p.Start).Format("2006-01-02 15:04")
		}
		t.add(words.Same(fmt.Sprint(p.ID)), words.Same(r.MachineName(p.Machine)), words.Same(assess.PassKind(p)), words.Same(start),
			r.bothLengths(p.Length), r.bothAreas(p.Swept), r.bothAreas(p.New), r.bothAreas(p.Overlap))
	}
	return t
}
