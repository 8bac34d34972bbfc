package field

import (
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// skipTable and overlapTable list the patches with the keys of their shapes on
// the map: s1, s2, ... and o1, o2, ...
func (d *Document) skipTable() page.Table {
	t := page.Table{
		ID: "skips", Label: "Table of skips", Empty: "No skips to list.",
		Caption: "Ground that no pass covered, the largest first. Choose a number to see it on the plat.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Words("Why"), page.Classed("Where", "where"), page.Words("Size")},
	}
	l := d.Skips()
	for n, i := range l.Order[:l.Listed] {
		s := &d.Map.Skips[i]
		t.Add(words.Same(fmt.Sprint(n+1)), d.bothAreas(s.Area), words.Same(words.Cause(s.Cause)),
			d.both(func(u quantity.Units) string { return d.Place(u, s.Place, s.At) }),
			d.both(func(u quantity.Units) string { return u.Length(s.Length) + " by " + u.Length(s.Width) })).
			Goes(fmt.Sprintf("s%d", n+1), fmt.Sprintf("Skip %d on the plat", n+1))
	}
	return t
}

func (d *Document) overlapTable() page.Table {
	t := page.Table{
		ID: "overlaps", Label: "Table of overlaps", Empty: "No overlaps to list.",
		Caption: "Ground covered twice or more, the largest first.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Figures("Times"), page.Words("Why"), page.Classed("Where", "where")},
	}
	l := d.Overlaps()
	for n, i := range l.Order[:l.Listed] {
		o := &d.Map.Overlaps[i]
		t.Add(words.Same(fmt.Sprint(n+1)), d.bothAreas(o.Area), words.Same(fmt.Sprint(o.Depth)), words.Same(words.Cause(o.Cause)),
			d.both(func(u quantity.Units) string { return d.Place(u, o.Place, o.At) })).
			Goes(fmt.Sprintf("o%d", n+1), fmt.Sprintf("Overlap %d on the plat", n+1))
	}
	return t
}

// tooSmall says how many patches a list leaves out; nothing if there are none.
func (d *Document) tooSmall(l assess.Listing) words.Text {
	small := len(l.Order) - l.Listed
	if small == 0 {
		return words.Text{}
	}
	return d.both(func(u quantity.Units) string {
		return fmt.Sprintf("%s too small to list; the totals hold them.", words.Count(small, "patch"))
	})
}
