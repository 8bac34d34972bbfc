package field

import (
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// skipTable and overlapTable list the patches with the keys of their shapes on
// the map: s1, s2, ... and o1, o2, ...
func (d *Document) skipTable() page.Table {
	t := page.Table{
		ID: "skips", Label: "Table of skips", Empty: "No skips to list.",
		Caption: "Ground that no pass covered, the largest first. Choose a number to see it on the map; the way is from where the last machine stands.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Words("Why"), page.Classed("Where", "where"), page.Words("Size"), page.Words("Go there")},
	}
	stands, takes := d.Map.Stopped(d.Map.LastAtWork()), d.Detours()
	if len(takes) > 0 {
		t.Caption += " Minutes are its part of the drive in the mend plan."
	}
	for _, doubtful := range []bool{false, true} { // what is likely no mistake comes last
		for number, i := range d.Skips().Each() {
			s := &d.Map.Skips[i]
			if doubtful != (s.Outlined || s.Yard) {
				continue
			}
			why := words.Cause(s.Cause)
			switch {
			case s.Outlined:
				why += ", likely the outline"
			case s.Yard:
				why = "likely a yard or the like"
			}
			why = words.InDoubt(why, s.Doubt)
			row := t.Add(words.Same(fmt.Sprint(number)), d.bothAreas(s.Area), words.Same(why),
				d.both(func(u quantity.Units) string { return d.Place(u, s.Place, s.At) }),
				d.both(func(u quantity.Units) string { return u.Length(s.Length) + " by " + u.Length(s.Width) }), words.Text{})
			row.Goes(chart.SkipKey(number), fmt.Sprintf("Skip %d on the map", number))
			row.Leads(5, page.PlaceAt(d.Map.Field.Frame.ToEarth(s.At), fmt.Sprintf("skip %d", number),
				d.both(func(u quantity.Units) string {
					way := words.WayTo(u, stands, s.At)
					if took, is := takes[i]; is {
						way += ", about " + words.Minutes(took)
					}
					return way
				})))
		}
	}
	return t
}

func (d *Document) overlapTable() page.Table {
	t := page.Table{
		ID: "overlaps", Label: "Table of overlaps", Empty: "No overlaps to list.",
		Caption: "Ground covered twice or more, the largest first.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Figures("Times"), page.Words("Why"), page.Classed("Where", "where")},
	}
	for number, i := range d.Overlaps().Each() {
		o := &d.Map.Overlaps[i]
		t.Add(words.Same(fmt.Sprint(number)), d.bothAreas(o.Area), words.Same(fmt.Sprint(o.Depth)), words.Same(words.InDoubt(words.Cause(o.Cause), o.Doubt)),
			d.both(func(u quantity.Units) string { return d.Place(u, o.Place, o.At) })).
			Goes(fmt.Sprintf("o%d", number), fmt.Sprintf("Overlap %d on the map", number))
	}
	return t
}

// tooSmall says how many patches a list leaves out; "" if there are none.
func (d *Document) tooSmall(l assess.Listing) words.Text {
	small, holes := l.Small()
	if small == 0 {
		return words.Text{}
	}
	return d.both(func(u quantity.Units) string {
		if holes {
			return fmt.Sprintf("%s too small or narrow to list, so numbers are missing; the totals hold them.", words.Count(small, "patch"))
		}
		return fmt.Sprintf("%s too small to list; the totals hold them.", words.Count(small, "patch"))
	})
}
