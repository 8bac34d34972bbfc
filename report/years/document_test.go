package years

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/book"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

const acre, pound = quantity.Acre, quantity.Pound

// document has two farms of two years. In 2026 a hundred pounds of nitrogen and sixty went to waste,
// on a hundred acres and sixty.
func document() *Document {
	d := &Document{Farms: []FarmLink{{Name: "all", Link: "?", Here: true}, {Name: "Aspen", Link: "?farm=3"}, {Name: "Birch <i>", Link: "?farm=5"}}, Back: "./",
		FieldPage: func(job string, part int) string { return fmt.Sprintf("field/%s/%d", job, part) }}
	for _, farm := range []struct {
		name string
		part float64
	}{{"Aspen", 1}, {"Birch <i>", 0.6}} {
		for year, times := range map[int]float64{2026: 1, 2025: 2} {
			for c, pounds := range map[cause.OverlapCause]float64{cause.PointRows: 50, cause.OntoHeadland: 30, agronomy.BeyondBoundary: 15, book.TooSmall: 5} {
				d.Wasted = append(d.Wasted, book.WastedNitrogen{Farm: farm.name, Year: year, Cause: c, N: times * farm.part * pounds * pound, Ground: farm.part * pounds * 40, Area: farm.part * 100 * acre, Fields: 3})
			}
			d.Hours = append(d.Hours, book.OperatorHours{Farm: farm.name, Operator: "Ada Holt", Year: year, Fields: 4, Clocked: 3, InField: 36_000 * farm.part, Working: 30_000 * farm.part, Swept: 110 * acre, New: 100 * acre, Lapped: 10 * acre, ClockedNew: 80 * acre},
				book.OperatorHours{Farm: farm.name, Year: year, Fields: 1, New: 4 * acre})
			d.Sections = append(d.Sections, book.SectionSaving{Farm: farm.name, Year: year, Fields: 4, Area: 100 * acre, Excess: 10 * acre, PointRows: 3 * acre, Headland: 1 * acre, N: 40 * pound, Cost: 60, Currency: "USD"})
		}
	}
	sortAsABook(d)
	for i := range 3 {
		d.Returns = append(d.Returns, book.SkipReturn{Farm: "Aspen", Field: "Gannet", Earlier: 2025, Later: 2026, Skip: i + 1, Job: "k", Part: i, Area: float64(300 - 100*i), At: geo.LonLat{Lon: -98.4, Lat: 50.1}})
	}
	d.Widths = []book.MachineWidth{
		{Farm: "Aspen", Machine: "fine", Year: 2026, Width: 12, Fields: 9, Along: 5000, Kept: 0.11, Aimed: 0.1, Left: 0.1, Right: 0.12, Sides: 9, Wide: 1},
		{Farm: "Aspen", Machine: "new", Year: 2026, Width: 12, Fields: 2, Along: 500, Kept: 0.5, Aimed: 0.1, Left: 0.5, Right: math.NaN(), Wide: 2},
		{Farm: "Aspen", Machine: "aside", Year: 2026, Width: 12, Fields: 5, Along: 5000, Kept: 0.1, Aimed: 0.1, Left: 0.3, Right: -0.1, Sides: 5, Hang: 0.2, HangsLeft: 5},
		{Farm: "Aspen", Machine: "narrow", Year: 2025, Width: 12, Fields: 5, Along: 5000, Kept: -0.15, Aimed: 0.1, Left: -0.15, Right: -0.15, Sides: 5, Narrow: 4},
	}
	return d
}

// sortAsABook puts lists into the order that a book gives them in.
func sortAsABook(d *Document) {
	slices.SortFunc(d.Wasted, func(a, b book.WastedNitrogen) int {
		return cmp.Or(cmp.Compare(a.Farm, b.Farm), cmp.Compare(b.Year, a.Year), cmp.Compare(b.N, a.N))
	})
	slices.SortFunc(d.Hours, func(a, b book.OperatorHours) int {
		return cmp.Or(cmp.Compare(a.Farm, b.Farm), cmp.Compare(b.Year, a.Year), cmp.Compare(a.Operator, b.Operator))
	})
	slices.SortFunc(d.Sections, func(a, b book.SectionSaving) int {
		return cmp.Or(cmp.Compare(a.Farm, b.Farm), cmp.Compare(b.Year, a.Year))
	})
}

func TestPage(t *testing.T) { assesstest.Golden(t, "years.html", document().Page) }

func text(t *testing.T, d *Document) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, d.Page(&b))
	return b.String()
}

// The page says pounds to the acre of fields, by hand: 160 lb on 160 acres.
func TestAnswer(t *testing.T) {
	a := document().answer()
	assert.Equal(t, "160\u00a0lb of nitrogen went to waste in 2026, 1.00\u00a0lb/ac; most of it point rows, 50.0\u00a0%. Skips came back in 3\u00a0places. 2\u00a0machines look to have a width or an offset that is mis-set.", strings.ReplaceAll(a.US, "in 2026,\u00a01", "in 2026, 1"))
	assert.Contains(t, a.Metric, "kg/ha")
	assert.Contains(t, text(t, &Document{}), "Nothing stands in the book")
}

// A machine looks mis-set where it is off on field after field, and on fields enough.
func TestLook(t *testing.T) {
	d := document()
	says := map[string]string{}
	for i := range d.Widths {
		says[d.Widths[i].Machine] = look(quantity.US, &d.Widths[i])
	}
	assert.Empty(t, says["fine"])
	assert.Empty(t, says["new"])
	assert.Equal(t, "On 5 of 5 fields it laps more on the left: as if its bar hung 3.9 in to the left. Measure it; write offset or antenna_right into the jobs.", says["aside"])
	assert.Equal(t, "On 4 of 5 fields it laps 9.8 in less than was aimed for: the width that is steered by is too large, or that in the jobs too small.", says["narrow"])
	_, table := d.widths()
	assert.Equal(t, "aside", table.Rows[0].Cells[0].Text.Shown)
	assert.Equal(t, "narrow", table.Rows[1].Cells[0].Text.Shown)
}

// Long tables are cut, and the page says by how much.
func TestLongTablesAreCut(t *testing.T) {
	d := document()
	for range mostRows {
		d.Hours = append(d.Hours, d.Hours[0])
	}
	page := text(t, d)
	assert.Contains(t, page, "8 rows left out of the tables, which have 400 at most")
	assert.NotContains(t, text(t, document()), "left out of the tables")
}
