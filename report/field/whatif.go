package field

import (
	"bytes"
	"fmt"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// receiverWords say what the intervals rest on.
func (d *Document) receiverWords(u quantity.Units) string {
	s := d.WhatIf.Sure
	var each []string
	for i, e := range s.Errors {
		quality := d.WhatIf.Quality[i].String()
		if quality == geo.QualityUnknown.String() {
			quality = "of unknown quality, taken to be differential"
		}
		each = append(each, fmt.Sprintf("%s: fixes %s, short-term error %s, drift %s", words.Short(d.MachineName(i), 30), quality,
			u.Metres(e.ShortTerm), u.Metres(e.Drift)))
	}
	how := "The log is taken to show the receiver's error once, which makes skips and overlaps a little too large."
	if s.ByReceiver {
		how = "The log is taken to hide the receiver's error, so skips and overlaps are larger than it shows. If something else steered, write gnss: {steering: other} in the job."
	}
	return fmt.Sprintf("GNSS error, one standard deviation (%s). %s", strings.Join(each, "; "), how)
}

// sureSentence is the answer in one sentence.
func (d *Document) sureSentence(u quantity.Units) string {
	s := d.WhatIf.Sure
	of := d.Intervals()
	best := func(i *assess.MeasuredInterval) string { // the best estimate first, then the interval, then what was measured
		middle, low, high := u.Area(assess.AreaOf(i.In.Middle)), u.Area(assess.AreaOf(i.In.Low)), u.Area(assess.AreaOf(i.In.High))
		if measured := u.Area(i.Measured); low != middle || high != middle || measured != middle {
			return fmt.Sprintf("%s %s (%s to %s; measured %s)", i.Of, middle, low, high, measured)
		}
		return i.Of + " " + middle
	}
	says := fmt.Sprintf("With the receiver's own error taken out: %s, %s, nine times of ten", best(&of[0]), best(&of[1]))
	if s.ByReceiver {
		says += ": the receiver is taken to have steered, so that its error is on the ground and not in the log"
	}
	return says + "." + d.outsideWords(u)
}

// outsideWords say which of the measured areas the intervals do not hold, and
// why; "" where they hold all.
func (d *Document) outsideWords(u quantity.Units) string {
	var above, below []string
	for _, i := range d.Intervals()[:2] { // skip and overlap
		now, low, high := i.Measured, assess.AreaOf(i.In.Low), assess.AreaOf(i.In.High)
		text := fmt.Sprintf("the %s as measured, %s", i.Of, u.Area(now))
		switch {
		case now > high && u.Area(now) != u.Area(high):
			above = append(above, text)
		case now < low && u.Area(now) != u.Area(low):
			below = append(below, text)
		}
	}
	lies := func(list []string, where string) string {
		verb := "lies"
		if len(list) > 1 {
			verb = "lie"
		}
		s := strings.Join(list, ", and ")
		return " " + strings.ToUpper(s[:1]) + s[1:] + ", " + verb + " " + where
	}
	says := ""
	if len(above) > 0 {
		says += lies(above, "above that: an error that the log shows makes both look larger than they are.")
	}
	if len(below) > 0 {
		why := "below that: the error that the log shows has hidden some of it, as far as the other laps tell."
		if d.WhatIf.Sure.ByReceiver {
			why = "below that: the log does not show the error that is on the ground."
		}
		says += lies(below, why)
	}
	return says
}

// worthNumbers gives the numbers of the listed skips with each verdict.
func (d *Document) worthNumbers() map[agronomy.Verdict][]string {
	out := map[agronomy.Verdict][]string{}
	by := d.WorthBySkip()
	for number, i := range d.Skips().Each() {
		if w := by[i]; w != nil {
			out[w.Verdict] = append(out[w.Verdict], fmt.Sprint(number))
		}
	}
	return out
}

func (d *Document) worthSentence() string {
	const most = 8
	var parts []string
	by := d.worthNumbers()
	for _, v := range []agronomy.Verdict{agronomy.Go, agronomy.Leave, agronomy.NotSure} {
		switch n := by[v]; {
		case len(n) > most:
			parts = append(parts, fmt.Sprintf("%s: %s and %d more", v, strings.Join(n[:most], ", "), len(n)-most))
		case len(n) > 0:
			parts = append(parts, fmt.Sprintf("%s: %s", v, strings.Join(n, ", ")))
		}
	}
	if parts == nil {
		return ""
	}
	return "Worth going back to skips? " + words.Capital(strings.Join(parts, ". ")) + "."
}

// textWhatIf is the summary of what-if for the terminal.
func (d *Document) textWhatIf(b *bytes.Buffer) {
	w := d.WhatIf
	if w == nil {
		return
	}
	b.WriteByte('\n')
	words.Wrap(b, d.sureSentence(d.Units))
	for i := range w.Laps {
		words.Wrap(b, words.BestLap(d.Units, w.Strip.Currency, &w.Laps[i]))
	}
	if len(w.Laps) == 0 {
		words.Wrap(b, words.NoBestLap(w.Strip))
	}
	words.Wrap(b, words.Sections(d.Units, d.SectionChoices()))
	if s := d.worthSentence(); s != "" {
		words.Wrap(b, s)
	}
}

// A whatIfPage is what the template "whatif" places.
type whatIfPage struct {
	SureSays     []words.Text
	Sure, Worth  page.Table
	LapSays      []words.Text
	Laps         []*chart.Chart
	SectionChart *chart.Chart
	Sections     page.Table
}

func (d *Document) whatIfPage() *whatIfPage {
	w := d.WhatIf
	if w == nil {
		return nil
	}
	p := &whatIfPage{
		SureSays: []words.Text{d.both(d.sureSentence), d.both(d.receiverWords)},
		Sure:     d.sureTable(), Worth: d.worthTable(), Sections: page.SectionTable(d.Units, d.SectionChoices()), SectionChart: chart.Sections(d.Units, d.SectionChoices()),
	}
	for i := range w.Laps {
		p.Laps = append(p.Laps, chart.Laps(d.Units, w.Strip.Currency, &w.Laps[i]))
	}
	if len(w.Laps) == 0 {
		p.LapSays = append(p.LapSays, words.Same(words.NoBestLap(w.Strip)))
	} else if len(w.Strip.Unsaid) > 0 {
		p.LapSays = append(p.LapSays, words.Same(words.Capital(strings.Join(w.Strip.Unsaid, "; "))+"."))
	}
	return p
}

func (d *Document) sureTable() page.Table {
	caption := fmt.Sprintf("The best estimate, and the interval that holds the truth in nine cases of ten: from %d runs with passes moved by the receiver's error.", d.WhatIf.Sure.Runs)
	if d.inDoubt() {
		caption += " Whether the bar worked is in doubt where no log tells: that is no part of the intervals, and is told at each skip and overlap."
	}
	t := page.Table{
		Label: "Table of intervals", Caption: caption,
		Columns: []page.Column{page.Words("Ground"), page.Figures("Best estimate"), page.Figures("At least"), page.Figures("At most"), page.Figures("As measured")},
	}
	add := func(name string, now plane.Area, in whatif.Interval) {
		t.Add(words.Same(name), d.bothAreas(assess.AreaOf(in.Middle)), d.bothAreas(assess.AreaOf(in.Low)), d.bothAreas(assess.AreaOf(in.High)), d.bothAreas(now))
	}
	for k, name := range []string{"Skip", "Worked twice or more", "Laps counted", "Outside the boundary"} {
		i := d.Intervals()[k]
		add(name, i.Measured, i.In)
	}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		in := d.WastedOnField(i)
		if in == nil {
			continue
		}
		amount := func(m2 float64) words.Text {
			w := a.Product.On(assess.AreaOf(m2))
			return words.AmountText(d.Units, &w)
		}
		t.Add(words.Same(words.Name(a.Product.Name)+" wasted"), amount(in.Middle), amount(in.Low), amount(in.High), words.AmountText(d.Units, &a.Wasted))
	}
	return t
}

// inDoubt reports whether a skip or an overlap hangs on work that no log tells of.
func (d *Document) inDoubt() bool {
	most := 0.0
	for i := range d.Map.Skips {
		most = max(most, d.Map.Skips[i].Doubt)
	}
	for i := range d.Map.Overlaps {
		most = max(most, d.Map.Overlaps[i].Doubt)
	}
	return cause.InDoubt(most)
}

func (d *Document) worthTable() page.Table {
	t := page.Table{
		Label: "Table of skips worth going back to", Empty: "No skips to list.",
		Caption: "How sure each skip is under the receiver's error, and what mending it brings against what it takes. The crop counts less the product that mending puts down. Look for wet ground and power lines first.",
		Columns: []page.Column{page.Words("Skip"), page.Figures("Area"), page.Words("How sure"), page.Words("Verdict"), page.Classed("Why", "where"), page.Figures("Brings"), page.Figures("Takes"), page.Figures("Minutes")},
	}
	by, shares := d.WorthBySkip(), d.WhatIf.Sure.Shares()
	for number, i := range d.Skips().Each() {
		w := by[i]
		if w == nil {
			continue
		}
		sure := "not looked into"
		if s, ok := shares[i]; ok {
			sure = string(whatif.CertaintyOf(s))
		}
		t.Add(words.Same(fmt.Sprint(number)), d.bothAreas(d.Map.Skips[i].Area), words.Same(sure), words.Same(string(w.Verdict)), words.Same(w.Reason),
			words.Same(d.brings(w)), words.Same(d.takes(w)), words.Same(quantity.Number(w.Time/60, 0))).
			Goes(fmt.Sprintf("s%d", number), fmt.Sprintf("Skip %d on the map", number))
	}
	return t
}

func (d *Document) brings(w *agronomy.Worth) string {
	switch {
	case w.High == nil:
		return "not known"
	case *w.Low == *w.High:
		return words.Money(*w.High, d.WhatIf.Strip.Currency)
	}
	return quantity.Number(*w.Low, 2) + " to " + words.Money(*w.High, d.WhatIf.Strip.Currency)
}

func (d *Document) takes(w *agronomy.Worth) string {
	takes := w.Takes()
	if takes == nil {
		return "not known"
	}
	return words.Money(*takes, d.WhatIf.Strip.Currency)
}
