package season

import (
	"fmt"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A measure ranks the entries of a list by what needs attention: one measure for all
// of them. It is what going back would bring, in a currency, where that is known of
// each, and else the ground to go back for.
type measure struct{ currency string } // "" for ground

// measureOf is the measure of a list of entries.
func measureOf(entries []*Entry) measure {
	currency := ""
	for _, entry := range entries {
		if entry.skipped() == 0 {
			continue // nothing, whatever the crop
		}
		_, in, known := entry.brings()
		if !known || currency != "" && in != currency {
			return measure{}
		}
		currency = in
	}
	return measure{currency}
}

// of is the measure of an entry, in money or in m².
func (m measure) of(entry *Entry) float64 {
	if m.currency == "" {
		return entry.toGoBackFor()
	}
	if entry.skipped() == 0 {
		return 0
	}
	v, _, _ := entry.brings()
	return v
}

// text is the measure of an entry, with its unit.
func (m measure) text(u quantity.Units, entry *Entry) string {
	if m.currency == "" {
		return u.SquareMetres(m.of(entry))
	}
	return words.Money(m.of(entry), m.currency)
}

// name is what heads its column.
func (m measure) name() string {
	if m.currency == "" {
		return "To go back for"
	}
	return "Going back brings"
}

// says how the list is ranked.
func (m measure) says() string {
	if m.currency == "" {
		return "Ranked by the ground to go back for: skipped ground, and the open edge a row wide."
	}
	return "Ranked by what going back would bring: the crop on skipped ground, less the product put there; the drive is not taken off."
}

// column heads the figures of a measure.
func (y *year) column(m measure) page.Column {
	if m.currency == "" {
		return page.FiguresIn(m.name(), y.unit("acres", "ha"))
	}
	return page.Figures(m.name())
}

// figure puts the measure of an entry into a row.
func (m measure) figure(w *sorting, u quantity.Units, entry *Entry) {
	if m.currency == "" {
		w.area(u, m.of(entry))
		return
	}
	w.figure(words.Same(words.Money(m.of(entry), m.currency)), m.of(entry))
}

// brings is the crop that does not grow on skipped ground, at its price, less the
// products that going back would put there; false where the job prices either not.
func (s *Entry) brings() (v float64, currency string, known bool) {
	if s.Loss == nil || s.Loss.Net == nil {
		return 0, "", false
	}
	return float64(*s.Loss.Net), s.Loss.Currency, true
}

// toGoBackFor is the ground to go back for, in m²: what was skipped, and the open edge
// a row wide.
func (s *Entry) toGoBackFor() float64 { return s.skipped() + s.open()*s.row() }

// unknownRow stands in for the spacing of rows that no job says, in m: a foot, as
// when a lap counts as wide.
const unknownRow = quantity.Foot

// row is the spacing of the rows of a field, in m.
func (s *Entry) row() float64 {
	if s.sketch.Row > 0 {
		return s.sketch.Row
	}
	return unknownRow
}

// page is the page of an entry, from the season's.
func (s *Entry) page() string { return fmt.Sprintf("%s/report.html", s.Dir) }

// mendPlan is where its mend plan is, from the season's page; "" where there is none.
func (s *Entry) mendPlan() string {
	if s.sketch.Mend == "" {
		return ""
	}
	return s.Dir + "/" + s.sketch.Mend
}
