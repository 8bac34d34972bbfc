package season

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// Bars show where the skipped ground lies. They are lines of the page, not a drawing
// of a fixed size: a bar is as long as the page is wide, and no name is cut.
type bars struct {
	Says words.Text
	Bars []bar
}

type bar struct {
	Name words.Text
	Long string // of 100
	Text words.Text
}

// bars has one for each of the fields with the most skipped ground; nil where there
// is none.
func (y *year) bars() *bars {
	const most = 12
	entries := slices.DeleteFunc(slices.Clone(y.entries), func(e *Entry) bool { return e.skipped() == 0 })
	if len(entries) == 0 {
		return nil
	}
	slices.SortStableFunc(entries, func(a, b *Entry) int { return cmp.Compare(b.skipped(), a.skipped()) })
	area := func(m2 float64) words.Text {
		return words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(m2) })
	}
	first, total := entries[0], y.total().skipped
	largest, rest := first.skipped(), 0.0
	for _, entry := range entries[min(most, len(entries)):] {
		rest += entry.skipped()
	}
	long := func(m2 float64) string {
		return strconv.FormatFloat(100*m2/max(largest, rest), 'f', 2, 64)
	}
	out := &bars{Says: words.Both(y.Units, func(u quantity.Units) string {
		return fmt.Sprintf("%s of the %s skipped lies on %s.", words.Share(largest, total), u.SquareMetres(total), words.Name(first.Name()))
	})}
	for _, entry := range entries[:min(most, len(entries))] {
		out.Bars = append(out.Bars, bar{words.Same(fmt.Sprintf("%d. %s", entry.Number, words.Name(entry.Name()))), long(entry.skipped()), area(entry.skipped())})
	}
	if n := len(entries) - most; n > 0 {
		out.Bars = append(out.Bars, bar{words.Same(words.Count(n, "other field")), long(rest), area(rest)})
	}
	return out
}
