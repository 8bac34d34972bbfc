package waste

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
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
	w.Fields[0].whatIf = whatIfOf(assesstest.Asked())
	w.Fields[0].Receivers = []Receiver{{"north drill", 0.02, 0.01}}
	return w
}

func TestWasteGoldens(t *testing.T) {
	w := twoFields()
	assesstest.Golden(t, "waste.txt", w.Text)
	assesstest.Golden(t, "waste.json", w.JSON)
	assesstest.Golden(t, "waste.csv", w.CSV)
	assesstest.Golden(t, "waste-fields.csv", w.FieldsCSV)
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
		m2, err := strconv.ParseFloat(line[4], 64)
		require.NoError(t, err)
		sums[line[2]] += m2
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
