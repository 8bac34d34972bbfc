package agronomy

import (
	"cmp"
	"slices"

	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// A Measure is what waste is counted in: one nutrient in all products that have
// it, or one product by itself. So figures of one measure add up.
type Measure struct {
	Nutrient string // "N", "P2O5" or "K2O"; "" where a product is counted
	Product  string
	ByVolume bool // of a product whose mass is not known: m³, not kg
}

// Of returns what an amount of t comes to, in kg or m³; nil where t has none of
// it, or it is not known.
func (m Measure) Of(t *Tally, a *Amount) *float64 {
	switch {
	case m.Nutrient == "N":
		return a.N
	case m.Nutrient == "P2O5":
		return a.Phosphate
	case m.Nutrient == "K2O":
		return a.Potash
	case m.Product != t.Product || m.ByVolume == (t.Applied.Mass != nil):
		return nil
	case m.ByVolume:
		return a.Volume
	}
	return a.Mass
}

// Measures lists what the waste of some fields is counted in: each nutrient that
// was put down, then each product in the order in which they are met. A product
// whose mass is known on some fields only is there twice.
func Measures(fields [][]Tally) []Measure {
	var nutrients, products []Measure
	for _, n := range []string{"N", "P2O5", "K2O"} {
		m := Measure{Nutrient: n}
		if s, ok := m.Sum(fields); ok && s.Applied > 0 {
			nutrients = append(nutrients, m)
		}
	}
	for _, tallies := range fields {
		for i := range tallies {
			a := &tallies[i].Applied
			m := Measure{Product: tallies[i].Product, ByVolume: a.Mass == nil}
			if (a.Mass != nil || a.Volume != nil) && !slices.Contains(products, m) {
				products = append(products, m)
			}
		}
	}
	return append(nutrients, products...)
}

// A Sum is what was put down and wasted in one [Measure], in kg or m³.
type Sum struct {
	Applied float64
	Wasted  float64 // as measured
	// Likely is where the true waste lies nine times in ten; nil where it was not
	// looked into for all of it.
	Likely *Span
}

// A Span holds a true figure in nine cases of ten. Middle is the best estimate.
type Span struct{ Low, Middle, High float64 }

// Best is the best estimate of the waste: the middle of the interval, where it is
// known.
func (s *Sum) Best() float64 {
	if s.Likely == nil {
		return s.Wasted
	}
	return s.Likely.Middle
}

// Share is the part of what was put down that was wasted, by the best estimate;
// false where nothing was put down.
func (s *Sum) Share() (float64, bool) {
	if s.Applied <= 0 {
		return 0, false
	}
	return s.Best() / s.Applied, true
}

// Sum adds up fields in a measure; false where none of them has any of it. The
// products of one field lie on the same ground, wrong by the same error, so that
// the ends of their intervals add. Fields err in part alike, as in [SumOf].
func (m Measure) Sum(fields [][]Tally) (sum Sum, some bool) {
	all := Span{}
	known := true
	var low, high []float64 // how far the ends lie from the middle, by field
	for _, tallies := range fields {
		var here Span
		for i := range tallies {
			t := &tallies[i]
			applied := m.Of(t, &t.Applied)
			if applied == nil {
				continue
			}
			some = true
			sum.Applied += *applied
			if wasted := m.Of(t, &t.Wasted); wasted != nil {
				sum.Wasted += *wasted
			}
			if t.Likely == nil {
				known = false
				continue
			}
			for _, end := range []struct {
				to *float64
				of *Amount
			}{{&here.Low, &t.Likely.Low}, {&here.Middle, &t.Likely.Middle}, {&here.High, &t.Likely.High}} {
				if v := m.Of(t, end.of); v != nil {
					*end.to += *v
				}
			}
		}
		all.Middle += here.Middle
		low, high = append(low, here.Middle-here.Low), append(high, here.High-here.Middle)
	}
	if some && known {
		all.Low, all.High = max(0, all.Middle-farTogether(low)), all.Middle+farTogether(high)
		sum.Likely = &all
	}
	return sum, some
}

// A Matrix is the waste of fields by cause, as measured, in one [Measure]. Its
// figures add up both ways: those of a row to the row's All, those of a column
// to the sum over the fields.
type Matrix struct {
	Measure
	Causes []cause.OverlapCause // that wasted any, the worst first; BeyondBoundary among them
	Rows   []MatrixRow          // of the fields that have any of the measure
}

// A MatrixRow is one field of a [Matrix], or the sum of several.
type MatrixRow struct {
	Field   int // index into the fields
	Area    plane.Area
	ByCause []float64 // in the order of the causes
	Slivers float64   // on overlaps too small to have a cause
	All     float64
}

// PerArea is the waste over the whole field, in kg or m³ a square metre.
func (r *MatrixRow) PerArea() float64 {
	if r.Area == 0 {
		return 0
	}
	return r.All / r.Area.SquareMetres()
}

// NewMatrix takes the waste of fields apart in a measure.
func NewMatrix(m Measure, fields [][]Tally, areas []plane.Area) Matrix {
	out := Matrix{Measure: m}
	totals := map[cause.OverlapCause]float64{}
	each := func(tallies []Tally, found func(c cause.OverlapCause, v float64)) {
		for i := range tallies {
			for _, c := range tallies[i].Causes() {
				if v := m.Of(&tallies[i], &c.Amount); v != nil {
					found(c.Cause, *v)
				}
			}
		}
	}
	for _, tallies := range fields {
		each(tallies, func(c cause.OverlapCause, v float64) {
			if _, ok := totals[c]; !ok {
				out.Causes = append(out.Causes, c)
			}
			totals[c] += v
		})
	}
	slices.SortFunc(out.Causes, func(c, d cause.OverlapCause) int {
		return cmp.Or(cmp.Compare(totals[d], totals[c]), cmp.Compare(c, d))
	})
	for i, tallies := range fields {
		sum, some := m.Sum([][]Tally{tallies})
		if !some || m.Nutrient != "" && sum.Applied == 0 {
			continue
		}
		row := MatrixRow{Field: i, Area: areas[i], ByCause: make([]float64, len(out.Causes)), All: sum.Wasted}
		each(tallies, func(c cause.OverlapCause, v float64) { row.ByCause[slices.Index(out.Causes, c)] += v })
		for k := range tallies {
			if v := m.Of(&tallies[k], &tallies[k].Slivers); v != nil {
				row.Slivers += *v
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// Total adds up the rows that are chosen.
func (m *Matrix) Total(chosen func(*MatrixRow) bool) MatrixRow {
	sum := MatrixRow{ByCause: make([]float64, len(m.Causes))}
	for i := range m.Rows {
		r := &m.Rows[i]
		if !chosen(r) {
			continue
		}
		sum.Area, sum.Slivers, sum.All = sum.Area+r.Area, sum.Slivers+r.Slivers, sum.All+r.All
		for k, v := range r.ByCause {
			sum.ByCause[k] += v
		}
	}
	return sum
}

// Unknown names the products with an analysis whose mass is not known, so that no
// nutrient of theirs is.
func Unknown(fields [][]Tally) (names []string) {
	for _, tallies := range fields {
		for i := range tallies {
			if t := &tallies[i]; t.Analysed && t.Applied.Mass == nil && !slices.Contains(names, t.Product) {
				names = append(names, t.Product)
			}
		}
	}
	return names
}
