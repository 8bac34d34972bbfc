package field

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"lapwing/coverage/cause"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

const textSkips = 5 // the ones worth walking to first; the files have all

// Text writes the short summary for people: the answer first, then the
// figures.
func (d *Document) Text(w io.Writer) error {
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(d.answer(d.Units), " "))
	d.textGround(&b)
	d.textHeadland(&b)
	d.textStated(&b)
	d.textProducts(&b)
	d.textCost(&b)
	d.textTimes(&b)
	d.textSkipList(&b)
	d.textWhatIf(&b)
	if n := len(d.AllWarnings()); n > 0 {
		fmt.Fprintf(&b, "\n%s about the input.\n", words.Count(n, "warning"))
	}
	_, err := w.Write(b.Bytes())
	return err
}

func (d *Document) textGround(b *bytes.Buffer) {
	g := d.Map.Totals
	name := "Field"
	if d.Map.Field.Name != "" || d.Operation != "" {
		name = words.Plain(d.FieldName(), 50)
	}
	fmt.Fprintf(b, "\n%s %10s   of field\n", words.Pad(name, 50), d.Units.AreaUnit())
	fmt.Fprintf(b, "%s %10s\n", words.Pad("  Field", 50), d.Units.AreaFigure(g.Field))
	for _, row := range d.groundRows() {
		fmt.Fprintf(b, "%s %10s %10s\n", words.Pad("  "+row.Name, 50), d.Units.AreaFigure(row.Area), words.Share(float64(row.Area), float64(g.Field)))
	}
}

func (d *Document) textHeadland(b *bytes.Buffer) {
	h := d.Map.Headland
	if h.Area == 0 {
		return
	}
	fmt.Fprintf(b, "\nHeadland, %s wide: %s, %s covered\n", d.Units.Length(plane.Distance(h.Width)),
		d.Units.Area(h.Area), words.Share(float64(h.Covered), float64(h.Area-h.Unlogged)))
	if h.Edge.Length == 0 || d.Map.Field.Worked {
		return
	}
	line := fmt.Sprintf("Boundary %s: %s reached, %s open", d.Units.Length(h.Edge.Length),
		d.Units.Length(h.Edge.Reached), d.Units.Length(h.Edge.Open))
	if h.Edge.Unlogged > 0 {
		line += ", " + d.Units.Length(h.Edge.Unlogged) + " log silent"
	}
	fmt.Fprintf(b, "  %s\n  Short of the edge %s on average, %s at most\n", line,
		d.Units.Length(h.Edge.Mean), d.Units.Length(h.Edge.Max))
}

func (d *Document) textProducts(b *bytes.Buffer) {
	if len(d.Accounts) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s %12s %12s %12s %14s\n", words.Pad("Products", 24), "applied", "wasted", "short", "wasted cost")
	for i := range d.Accounts {
		for _, row := range productRows(d.Units, &d.Accounts[i]) {
			fmt.Fprintln(b, strings.TrimRight(fmt.Sprintf("%s %12s %12s %12s %14s", words.Pad("  "+words.Plain(row.Name, 22), 24),
				row.Applied, row.Wasted, row.Short, row.Cost), " "))
		}
	}
}

// textCost says in sentences what was wasted most, what the skips cost, how
// far the tanks went and what turns did to the rate.
func (d *Document) textCost(b *bytes.Buffer) {
	lines := []string{d.bestChange(d.Units), d.skipLoss(d.Units)}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		lines = append(lines, d.rateWords(d.Units, a))
		for k := range a.Tanks {
			lines = append(lines, d.tankWords(d.Units, a, &a.Tanks[k]))
		}
	}
	lines = append(lines, d.doseSentence())
	lines = slices.DeleteFunc(lines, func(s string) bool { return s == "" })
	if len(lines) > 0 {
		b.WriteByte('\n')
	}
	for _, s := range lines {
		words.Wrap(b, s)
	}
}

// textTimes is the table of where each machine's time went.
func (d *Document) textTimes(b *bytes.Buffer) {
	rows := d.timeRows(d.Units)
	if len(rows) == 0 {
		return
	}
	line := func(cells ...string) {
		fmt.Fprintf(b, "%s %8s %5s %5s %5s %5s %5s %6s %9s\n", words.Pad(cells[0], 18), cells[1], cells[2], cells[3], cells[4], cells[5], cells[6], cells[7], cells[8])
	}
	b.WriteByte('\n')
	line("Time", "in field", "work", "turn", "stand", "stop", "drive", d.Units.CapacityUnit(), "efficient")
	for _, t := range rows {
		line("  "+words.Plain(t.Machine, 16), t.Field, t.Work, t.Turn, t.Stand, t.Stop, t.Travel, t.Capacity, t.Efficiency)
	}
}

func (d *Document) textSkipList(b *bytes.Buffer) {
	n := len(d.Mistakes())
	if n == 0 {
		return
	}
	title := "Skips, the largest first"
	if n > textSkips {
		title = fmt.Sprintf("Skips, the largest %d of %d", textSkips, n)
	}
	fmt.Fprintf(b, "\n%s\n", title)
	shown := 0
	var sure []string
	for number, i := range d.Skips().Each() {
		s := &d.Map.Skips[i]
		if !s.Mistake() || shown == textSkips {
			continue
		}
		shown++
		// Two words less than in a sentence, so that the longest place fits.
		where := strings.NewReplacer(" from the ", " from ", " side", "").Replace(d.Place(d.Units, s.Place, s.At))
		line := fmt.Sprintf("%4d %9s  %s %s", number, d.Units.Area(s.Area), words.Pad(words.Cause(s.Cause), 14), where)
		fmt.Fprintln(b, words.Plain(line, words.Width))
		if cause.InDoubt(s.Doubt) {
			sure = append(sure, fmt.Sprintf("%d: %.0f %%", number, 100*(1-s.Doubt)))
		}
	}
	if len(sure) > 0 {
		words.Wrap(b, "How sure, since no log tells when the bar worked: "+strings.Join(sure, ", ")+".")
	}
}
