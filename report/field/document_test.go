package field

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/cause"
	"lapwing/coverage/edge"
	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

func metric(r *Document) *Document {
	a := *r.Assessment
	a.Units = quantity.Metric
	return &Document{Assessment: &a}
}

func TestGoldens(t *testing.T) {
	r := small()
	assesstest.Golden(t, "small.us.txt", r.Text)
	assesstest.Golden(t, "small.metric.txt", metric(r).Text)
	assesstest.Golden(t, "small.geojson", r.GeoJSON)
	assesstest.Golden(t, "small.products.csv", r.ProductsCSV)
	assesstest.Golden(t, "small.fills.csv", r.FillsCSV)
	assesstest.Golden(t, "small.times.csv", r.TimesCSV)
}

func TestAnswer(t *testing.T) {
	const ac = plane.Area(4046.8564224 * float64(plane.SquareMetre))
	const ft = 0.3048 * plane.Distance(plane.Metre)
	skip := func(acres float64, why cause.SkipCause) cause.Skip {
		return cause.Skip{Area: plane.Area(acres * float64(ac)), Width: 1e5, Cause: why, Place: cause.Place{Pass: 14, Along: 410 * ft, From: "north"}}
	}
	tests := []struct {
		name   string
		ground coverage.Totals
		edge   edge.Edge
		skips  []cause.Skip
		worked bool
		units  quantity.Units
		want   string
	}{
		{
			name: "all well", ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 60 * ac}},
			edge: edge.Edge{Length: 5000 * ft, Reached: 5000 * ft},
			want: "Headland closed all the way round. No skips. No overlap.",
		},
		{
			name: "nothing worked", ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Skip: 60 * ac}, Remainder: 60 * ac},
			edge: edge.Edge{Length: 5000 * ft, Open: 5000 * ft},
			want: "Nothing covered yet.",
		},
		{
			name:   "the contract's example",
			ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 59 * ac, Skip: ac * 42 / 100, Overlap: ac * 6 / 10}},
			edge:   edge.Edge{Length: 5000 * ft, Reached: 4690 * ft, Open: 310 * ft, Openings: make([]edge.Opening, 2)},
			skips:  []cause.Skip{skip(.21, cause.LiftedEarly), skip(.15, cause.Plugged), skip(.06, cause.Plugged)},
			want:   "Headland open in 2 places, 310 ft. 3 skips, 0.42 ac; the largest 0.21 ac, 410 ft from the north end of pass 14. Overlap 0.60 ac, 1.0 % of the field.",
		},
		{
			name:   "one of each, ground still to be worked, metric",
			ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 39 * ac, Skip: 20*ac + ac/4, OverReach: ac / 8, Unlogged: ac}, Remainder: 20 * ac},
			edge:   edge.Edge{Length: 5000 * ft, Reached: 4690 * ft, Open: 310 * ft, Openings: make([]edge.Opening, 1)},
			skips:  []cause.Skip{skip(20, cause.Unworked), skip(.25, cause.LiftedEarly)},
			units:  quantity.Metric,
			want:   "Headland open in 1 place, 94 m. 1 skip, 0.10 ha, 125 m from the north end of pass 14. 8.09 ha not worked yet. No overlap. 506 m2 worked outside the boundary. The log is silent over 0.40 ha.",
		},
		{
			name:   "specks only, the log silent along the edge",
			ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 60 * ac, Skip: plane.SquareMetre / 2}},
			edge:   edge.Edge{Length: 5000 * ft, Reached: 4000 * ft, Unlogged: 1000 * ft},
			want:   "Headland closed as far as the log tells; it is silent along 1,000 ft of the boundary. No skips large enough to list; specks come to 5 sq ft. No overlap.",
		},
		{
			name: "no boundary", ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 60 * ac}}, worked: true,
			want: "No boundary given: the outer edge of the worked ground stands in for it. No skips. No overlap.",
		},
		{
			name:   "what rounds to nothing is not said",
			ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 60 * ac, Skip: 99, Overlap: 2000, OverReach: 5000, Unlogged: 7}},
			edge:   edge.Edge{Length: 5000 * ft, Reached: 5000*ft - 10, Open: 7, Unlogged: 3, Openings: make([]edge.Opening, 1)},
			want:   "Headland closed all the way round. No skips. No overlap.",
		},
		{
			name: "never reached", ground: coverage.Totals{Totals: region.Totals{Field: 60 * ac, Covered: 60 * ac}},
			edge: edge.Edge{Length: 5000 * ft, Open: 5000 * ft, Openings: make([]edge.Opening, 1)},
			want: "Headland open all the way round, 5,000 ft. No skips. No overlap.",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := &coverage.Map{Field: field.Field{Worked: tt.worked}, Totals: tt.ground, Skips: tt.skips}
			m.Headland.Edge = tt.edge
			r := &Document{Assessment: &assess.Assessment{Reckoning: &agronomy.Reckoning{Map: m}, MinArea: plane.SquareMetre}}
			require.Equal(t, tt.want, strings.Join(r.answer(tt.units), " "))
		})
	}
}

func TestTextFitsATerminalAndIsSafeToPrint(t *testing.T) {
	r := small()
	r.Map.Field.Name = "\x1b[31mred\x07 \u202egnort " + strings.Repeat("long ", 40)
	r.Map.Machines[0].Name = "\x1b]0;title\x07"
	r.Accounts[0].Product.Name = strings.Repeat("ammonia\n", 20)
	r.Accounts[0].Product.Price.Currency = "\x1b[2J"
	for _, r := range []*Document{r, metric(r), empty()} {
		var b bytes.Buffer
		require.NoError(t, r.Text(&b))
		for _, line := range strings.Split(b.String(), "\n") {
			require.LessOrEqual(t, len([]rune(line)), 80, line)
			require.NotContains(t, line, "\x1b")
			require.NotContains(t, line, "\u202e")
		}
	}
}
