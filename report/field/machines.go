package field

import (
	"fmt"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/page"
	"lapwing/report/words"
)

func (d *Document) machineTable() page.Table {
	t := page.Table{
		Label: "Table of machines", Empty: "No machines.", Caption: "As the job describes them",
		Columns: []page.Column{page.Names("Machine", ""), page.Names("Operator", "name"), page.Names("Implement", "name"), page.Figures("Width"),
			page.Classed("Openers", "when"), page.Words("Hitch"), page.Figures("Sections"), page.Names("Logs", "name")},
	}
	for i := range d.Map.Machines {
		m := &d.Map.Machines[i]
		im := &m.Implement
		var files []string
		if i < len(d.Map.Records) {
			files = d.Map.Records[i].Files
		}
		hitch := "mounted"
		if im.Towed {
			hitch = "towed"
		}
		var openers words.Text
		if im.Openers > 0 {
			openers = d.both(func(u quantity.Units) string {
				if im.RowSpacing == 0 {
					return fmt.Sprint(im.Openers)
				}
				return fmt.Sprintf("%d at %s", im.Openers, u.RowSpacing(im.RowSpacing))
			})
		}
		t.Add(words.Same(m.Name), words.Same(m.Operator), words.Same(im.Name), d.bothLengths(plane.Distance(im.Width)), openers,
			words.Same(hitch), words.Same(fmt.Sprint(max(1, len(im.Sections)))), words.Same(strings.Join(files, ", ")))
	}
	return t
}

func (d *Document) passTable() page.Table {
	t := page.Table{
		Label: "Table of passes", Empty: "No passes.", Caption: "In the order they began; times are those of " + d.ZoneName() + ". The lap kept is that to ground worked before, on straight stretches, below zero a gap; its spread is one standard deviation.",
		Columns: []page.Column{page.Words("Pass"), page.Names("Machine", "name"), page.Words("Kind"), page.Classed("Began", "when"),
			page.Figures("Length"), page.Figures("Ground worked, laps counted"), page.Figures("New ground"), page.Figures("Overlap"), page.Figures("Lap kept"), page.Figures("Spread")},
	}
	for i := range d.Map.Passes {
		p := &d.Map.Passes[i]
		start := "no clock"
		if d.HasClock(p) {
			start = d.Local(p.Start).Format("2006-01-02 15:04")
		}
		var kept, spread words.Text
		if i < len(d.Laps) && d.Laps[i].Along > 0 {
			l := &d.Laps[i]
			kept = d.both(func(u quantity.Units) string { return words.SignedLap(u, l.Mean.Metres()) })
			spread = d.both(func(u quantity.Units) string { return words.LapLength(u, l.Spread.Metres()) })
		}
		t.Add(words.Same(fmt.Sprint(p.ID)), words.Same(d.MachineName(p.Machine)), words.Same(assess.PassKind(p)), words.Same(start),
			d.bothLengths(p.Length), d.bothAreas(p.Swept), d.bothAreas(p.New), d.bothAreas(p.Overlap), kept, spread)
	}
	return t
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}
