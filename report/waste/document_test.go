package waste

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/quantity"
)

// twoFields is the small field and the same without a price for the seed.
func twoFields() *Document {
	r := assesstest.Small()
	other := assesstest.Products()[1:2]
	other[0].Price = nil
	second := &assess.Assessment{Reckoning: agronomy.Reckon(r.Map, other, nil), Run: "second", Warnings: r.Warnings}
	w := &Document{Run: "both", Fields: []Field{FieldOf(r, "jobs/gannet.yaml"), FieldOf(second, "jobs/again.yaml")}}
	w.Fields[1].Name = "Gannet's Acre, again"
	for i := range r.Accounts { // of the first field only
		a := &r.Accounts[i]
		ground := a.Wasted.Area.SquareMetres()
		span := a.Interval(0.9*ground, 1.05*ground, 1.3*ground)
		w.Fields[0].Tallies[i].Likely = &span
	}
	w.Fields[0].WhatIf = whatIfOf(assesstest.Asked())
	w.Fields[0].Receivers = []Receiver{{"north drill", 0.02, 0.01}}
	return w
}

func TestWasteGoldens(t *testing.T) {
	w := twoFields()
	assesstest.Golden(t, "waste.txt", w.Text)
	assesstest.Golden(t, "waste.json", w.JSON)
	assesstest.Golden(t, "waste.csv", w.CSV)
	assesstest.Golden(t, "waste-fields.csv", w.FieldsCSV)
	assesstest.Golden(t, "waste-matrix.csv", w.MatrixCSV)
	assesstest.Golden(t, "waste.html", w.Page)
}

func TestWasteOfOneField(t *testing.T) {
	one := &Document{Fields: []Field{FieldOf(assesstest.Small(), "")}}
	assesstest.Golden(t, "small.waste.csv", one.CSV)
}

func TestWasteAnswer(t *testing.T) {
	r := assesstest.Small()
	one := &Document{Fields: []Field{FieldOf(r, "")}}
	one.Fields[0].Name = "Gannet's Acre"
	require.Equal(t, "Gannet's Acre, 29.28 ac: 48.9 lb N in anhydrous ammonia (2.8 %), 112 lb winter barley seed (2.8 %), 3.5 gal starter <i>blend</i> (2.8 %) "+
		"went down twice or outside the boundary, 51.74 USD as far as there are prices. "+
		"Most to save: shut off at the boundary (outside the boundary): 29.31 USD, 27.7 lb N in anhydrous ammonia, 63.5 lb winter barley seed, 2.0 gal starter <i>blend</i>.",
		strings.Join(one.answer(quantity.US), " "))
	idle := assesstest.Empty()
	none := &Document{Fields: []Field{FieldOf(idle, "")}}
	require.Equal(t, []string{"Idle, 2.47 ac: no products given."}, none.answer(quantity.US))
	idle.Reckoning = agronomy.Reckon(idle.Map, assesstest.Products()[1:2], nil)
	none = &Document{Fields: []Field{FieldOf(idle, "")}}
	require.Equal(t, []string{"Idle, 2.47 ac: nothing was put down twice or outside."}, none.answer(quantity.US))
}

// What is told first is the best estimate, and it lies in its interval; what was
// measured comes last, wherever it lies.
func TestBestEstimateFirst(t *testing.T) {
	one := &Document{Fields: []Field{FieldOf(assesstest.Small(), "")}}
	tally := &one.Fields[0].Tallies[1] // seed
	part := func(share float64) agronomy.Amount {
		kg := *tally.Wasted.Mass * share
		return agronomy.Amount{Area: tally.Wasted.Area, Mass: &kg}
	}
	tally.Likely = &agronomy.Interval{Low: part(0.8), Middle: part(0.9), High: part(0.95)} // measured: 1, outside
	require.Contains(t, one.answer(quantity.US)[0], "101 lb winter barley seed (2.6 %; 89.7 to 106 lb; 112 lb as measured)")
	var text, fields bytes.Buffer
	require.NoError(t, one.Text(&text))
	require.Regexp(t, `winter barley seed +101 lb +89.7 to 106 lb +112 lb`, text.String())
	require.NoError(t, one.FieldsCSV(&fields))
	head, err := csv.NewReader(&fields).Read()
	require.NoError(t, err)
	at := func(name string) int { return slices.Index(head, name) }
	require.True(t, 0 < at("best_kg") && at("best_kg") < at("low_kg") && at("low_kg") < at("high_kg") && at("high_kg") < at("wasted_kg"), head)
}

// A field by cause adds up in both directions, in each unit, and so do the figures
// over the field.
func TestMatrixAddsUp(t *testing.T) {
	w := twoFields()
	var b bytes.Buffer
	require.NoError(t, w.MatrixCSV(&b))
	lines, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	head := lines[0]
	require.Contains(t, head, "all, lb")
	require.Contains(t, head, "all, kg")
	require.Contains(t, head, "all, lb/ac")
	columns := map[string][]float64{} // of a measure and column: the fields', then the last line's
	for _, line := range lines[1:] {
		for _, u := range []string{"kg", "lb", "L", "gal"} {
			sum, all := 0.0, -1.0
			for i, name := range head {
				if _, of, _ := strings.Cut(name, ", "); of != u || line[i] == "" {
					continue
				}
				v, err := strconv.ParseFloat(line[i], 64)
				require.NoError(t, err)
				key := line[3] + " " + name
				columns[key] = append(columns[key], v)
				if strings.HasPrefix(name, "all, ") {
					all = v
				} else {
					sum += v
				}
			}
			if all >= 0 {
				require.InDelta(t, all, sum, 1e-9*(1+all), "%v %s", line[:5], u)
			}
		}
	}
	require.Greater(t, len(columns), 20)
	for key, values := range columns {
		sum, last := 0.0, values[len(values)-1]
		for _, v := range values[:len(values)-1] {
			sum += v
		}
		require.InDelta(t, last, sum, 1e-9*(1+last), key)
	}
}

// What is kept of a field reads back the same, so that it is told the same.
func TestFieldIsKept(t *testing.T) {
	w := twoFields()
	for i := range w.Fields {
		text, err := json.Marshal(&w.Fields[i])
		require.NoError(t, err)
		var back Field
		require.NoError(t, json.Unmarshal(text, &back))
		require.Equal(t, w.Fields[i], back)
	}
}

// Years are told apart, and then together; a field without products is named, and
// counts in nothing.
func TestYearsAndFieldsWithout(t *testing.T) {
	w := twoFields()
	w.Fields[0].Year, w.Fields[1].Year = 2024, 2025
	w.Fields = append(w.Fields, Field{Name: "Bare", Year: 2023})
	says := w.answer(quantity.US)
	require.Len(t, says, 3)
	require.Contains(t, says[0], "In 2024, Gannet's Acre")
	require.Contains(t, says[1], "In 2025, Gannet's Acre, again, 29.28 ac: 112 lb winter barley seed (2.8 %) went down")
	require.Contains(t, says[2], "2 years together, a field counted each time: ")
	var text, page, doc bytes.Buffer
	require.NoError(t, w.Text(&text))
	require.Contains(t, text.String(), "No products given: Bare. Nothing")
	require.NoError(t, w.Page(&page))
	require.Contains(t, page.String(), "No products given, so that nothing can be told of the waste: <bdi>Bare</bdi>")
	require.NoError(t, w.JSON(&doc))
	var read struct {
		Years []struct{ Year, Fields int }
	}
	require.NoError(t, json.Unmarshal(doc.Bytes(), &read))
	require.Equal(t, []struct{ Year, Fields int }{{2024, 1}, {2025, 1}}, read.Years)
}

// The lines of waste.csv add up to what JSON says was wasted.
func TestWasteCSVAddsUp(t *testing.T) {
	w := twoFields()
	var text, doc bytes.Buffer
	require.NoError(t, w.CSV(&text))
	require.NoError(t, w.JSON(&doc))
	lines, err := csv.NewReader(&text).ReadAll()
	require.NoError(t, err)
	sums := map[string]float64{}
	for _, line := range lines[1:] {
		m2, err := strconv.ParseFloat(line[slices.Index(lines[0], "ground_m2")], 64)
		require.NoError(t, err)
		sums[line[slices.Index(lines[0], "product")]] += m2
	}
	var read struct {
		Products []struct {
			Name   string
			Wasted struct {
				Ground float64 `json:"ground_m2"`
			}
		}
	}
	require.NoError(t, json.Unmarshal(doc.Bytes(), &read))
	require.NotEmpty(t, read.Products)
	all := map[string]float64{}
	for _, p := range read.Products {
		all[p.Name] += p.Wasted.Ground
	}
	require.Len(t, sums, len(all))
	for name, m2 := range all {
		require.InDelta(t, m2, sums[name], 0.001, name) // m², as all identities in files
	}
}

func TestWastePageIsSafe(t *testing.T) {
	w := twoFields()
	hostile := `"><img src=x onerror=alert(1)></style></script><script>alert(2)</script>`
	w.Fields[0].Name, w.Fields[0].Job, w.Run = hostile, hostile, hostile
	w.Fields[0].Tallies[0].Product, w.Fields[0].Tallies[0].Currency = hostile, hostile
	var b bytes.Buffer
	require.NoError(t, w.Page(&b))
	page := b.String()
	require.Equal(t, 1, strings.Count(page, "<script"))
	require.NotContains(t, page, "<img")
	require.Contains(t, page, `default-src 'none'`)
	require.Contains(t, page, "85 % at most", "one of the fields had ammonia")

	w.Fields[0].Name = "\x1b[31mred \u202egnort"
	w.Fields[0].Tallies[0].Product = strings.Repeat("ammonia\n", 20)
	w.Fields[0].Tallies[0].Currency = "\x1b[2J"
	b.Reset()
	require.NoError(t, w.Text(&b))
	for _, line := range strings.Split(b.String(), "\n") {
		require.LessOrEqual(t, len([]rune(line)), 80, line)
		require.NotContains(t, line, "\x1b")
		require.NotContains(t, line, "\u202e")
	}
}
