package field

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/reporttest"
)

func metric(r *Document) *Document {
	a := *r.Assessment
	a.Units = quantity.Metric
	return &Document{Assessment: &a}
}

func TestGoldens(t *testing.T) {
	r := small()
	reporttest.Golden(t, "small.us.txt", r.Text)
	reporttest.Golden(t, "small.metric.txt", metric(r).Text)
	reporttest.Golden(t, "small.summary.json", r.WriteSummary)
	reporttest.Golden(t, "small.geojson", r.GeoJSON)
	reporttest.Golden(t, "small.products.csv", r.ProductsCSV)
	reporttest.Golden(t, "small.fills.csv", r.FillsCSV)
	reporttest.Golden(t, "small.times.csv", r.TimesCSV)
}

// The fixture itself must keep the contract's identities, or the tests on it
// mean nothing.
func TestFixtureIsConsistent(t *testing.T) {
	for name, r := range map[string]*Document{"small": small(), "quarter": quarter()} {
		t.Run(name, func(t *testing.T) {
			g := r.Map.Ground
			var field, swept plane.Area
			for _, p := range r.Map.Field.Boundary {
				field += p.Area()
			}
			for _, p := range r.Map.Passes {
				swept += p.Swept
			}
			require.Equal(t, field, g.Field)
			require.Equal(t, swept, g.Swept)
			var zone plane.Area
			for _, p := range r.Map.Headland.Zone {
				zone += p.Area()
			}
			require.Equal(t, zone, r.Map.Headland.Area)
		})
	}
	// 400 x 300 m less a pond of 30 x 50 m.
	require.Equal(t, 118500*plane.SquareMetre, small().Map.Ground.Field)
}

func TestAnswer(t *testing.T) {
	const ac = plane.Area(4046.8564224 * float64(plane.SquareMetre))
	const ft = 0.3048 * float64(plane.Metre)
	skip := func(acres float64, cause coverage.Cause) coverage.SkipPatch {
		return coverage.SkipPatch{Area: plane.Area(acres * float64(ac)), Width: 1e5, Cause: cause, Place: coverage.Place{Pass: 14, Along: 410 * ft, From: "north"}}
	}
	tests := []struct {
		name   string
		ground coverage.Totals
		edge   coverage.Edge
		skips  []coverage.SkipPatch
		worked bool
		units  quantity.Units
		want   string
	}{
		{
			name: "all well", ground: coverage.Totals{Field: 60 * ac, Covered: 60 * ac},
			edge: coverage.Edge{Length: 5000 * ft, Reached: 5000 * ft},
			want: "Headland closed all the way round. No skips. No overlap.",
		},
		{
			name: "nothing worked", ground: coverage.Totals{Field: 60 * ac, Skip: 60 * ac, Remainder: 60 * ac},
			edge: coverage.Edge{Length: 5000 * ft, Open: 5000 * ft},
			want: "Nothing covered yet.",
		},
		{
			name:   "the contract's example",
			ground: coverage.Totals{Field: 60 * ac, Covered: 59 * ac, Skip: ac * 42 / 100, Overlap: ac * 6 / 10},
			edge:   coverage.Edge{Length: 5000 * ft, Reached: 4690 * ft, Open: 310 * ft, Openings: make([]coverage.Opening, 2)},
			skips:  []coverage.SkipPatch{skip(.21, coverage.LiftedEarly), skip(.15, coverage.Plugged), skip(.06, coverage.Plugged)},
			want:   "Headland open in 2 places, 310 ft. 3 skips, 0.42 ac; the largest 0.21 ac, 410 ft from the north end of pass 14. Overlap 0.60 ac, 1.0 % of the field.",
		},
		{
			name:   "one of each, ground still to be worked, metric",
			ground: coverage.Totals{Field: 60 * ac, Covered: 39 * ac, Skip: 20*ac + ac/4, Remainder: 20 * ac, OverReach: ac / 8, Unlogged: ac},
			edge:   coverage.Edge{Length: 5000 * ft, Reached: 4690 * ft, Open: 310 * ft, Openings: make([]coverage.Opening, 1)},
			skips:  []coverage.SkipPatch{skip(20, coverage.Unworked), skip(.25, coverage.LiftedEarly)},
			units:  quantity.Metric,
			want:   "Headland open in 1 place, 94 m. 1 skip, 0.10 ha, 125 m from the north end of pass 14. 8.09 ha not worked yet. No overlap. 506 m2 worked outside the boundary. The log is silent over 0.40 ha.",
		},
		{
			name:   "specks only, the log silent along the edge",
			ground: coverage.Totals{Field: 60 * ac, Covered: 60 * ac, Skip: plane.SquareMetre / 2},
			edge:   coverage.Edge{Length: 5000 * ft, Reached: 4000 * ft, Unlogged: 1000 * ft},
			want:   "Headland closed as far as the log tells; it is silent along 1,000 ft of the boundary. No skips large enough to list; specks come to 5 sq ft. No overlap.",
		},
		{
			name: "no boundary", ground: coverage.Totals{Field: 60 * ac, Covered: 60 * ac}, worked: true,
			want: "No boundary given: the outer edge of the worked ground stands in for it. No skips. No overlap.",
		},
		{
			name: "never reached", ground: coverage.Totals{Field: 60 * ac, Covered: 60 * ac},
			edge: coverage.Edge{Length: 5000 * ft, Open: 5000 * ft, Openings: make([]coverage.Opening, 1)},
			want: "Headland open all the way round, 5,000 ft. No skips. No overlap.",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := &coverage.Map{Field: coverage.Field{Worked: tt.worked}, Ground: tt.ground, Skips: tt.skips}
			m.Headland.Edge = tt.edge
			r := &Document{Assessment: &assess.Assessment{Assessment: &agronomy.Assessment{Map: m}, MinArea: plane.SquareMetre}}
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

// decode reads a summary back the way a script would.
func decode(t *testing.T, r *Document) map[string]any {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b))
	var out map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &out))
	return out
}

func TestSummaryKeepsTheIdentities(t *testing.T) {
	for name, r := range map[string]*Document{"small": small(), "quarter": quarter(), "empty": empty()} {
		t.Run(name, func(t *testing.T) {
			s := decode(t, r)
			g := s["ground"].(map[string]any)
			v := func(k string) float64 { return g[k].(float64) }
			field := s["field"].(map[string]any)["area_m2"].(float64)
			const within = 0.001 // m², the contract's
			require.InDelta(t, field, v("skip_m2")+v("covered_m2")+v("unlogged_m2"), within)
			var covered, overlap float64
			for k, a := range g["by_depth_m2"].(map[string]any) {
				if k != "0" {
					covered += a.(float64)
				}
				if k != "0" && k != "1" {
					overlap += a.(float64)
				}
			}
			require.InDelta(t, v("covered_m2"), covered, within)
			require.InDelta(t, v("overlap_m2"), overlap, within)
			require.InDelta(t, v("swept_m2"), v("covered_m2")+v("excess_m2")+v("overreach_swept_m2"), within)
		})
	}
}

func TestSquareMetresAreExact(t *testing.T) {
	for want, a := range map[string]plane.Area{
		"0": 0, "1": plane.SquareMetre, "0.000000005": 1, "-0.000000005": -1,
		"647497.12":             64749712 * plane.SquareMetre / 100,
		"46116860184.273879035": math.MaxInt64, // 9223372036854775807 x 5e-9, exactly
	} {
		require.Equal(t, want, string(assess.AppendSquareMetres(nil, a)))
	}
}

func TestSummaryNullsAndTimes(t *testing.T) {
	r := small()
	r.Map.Machines[1].Tracks[0].NoClock = true
	r.Map.Headland.Edge.Mean = math.NaN()
	s := decode(t, r)
	passes := s["passes"].([]any)
	require.Equal(t, "2026-09-03T06:15:00Z", passes[0].(map[string]any)["start"])
	require.Equal(t, "", passes[1].(map[string]any)["start"])
	blend := s["products"].([]any)[2].(map[string]any)
	require.Nil(t, blend["applied_kg"])
	require.Nil(t, blend["rate_kg_per_ha"])
	require.InDelta(t, 46.8, blend["rate_l_per_ha"], 1e-9)
	ammonia := s["products"].([]any)[0].(map[string]any)
	require.InDelta(t, 95.7, ammonia["rate_kg_per_ha"], 1e-9)
	require.InDelta(t, 95.7/625*1000, ammonia["rate_l_per_ha"], 1e-9)
	require.Nil(t, s["products"].([]any)[1].(map[string]any)["rate_l_per_ha"])
	require.Nil(t, s["headland"].(map[string]any)["edge"].(map[string]any)["standoff_mean_m"])
	for _, k := range []string{"skips", "overlaps", "products", "warnings", "passes"} {
		require.NotNil(t, decode(t, empty())[k], k)
	}
}

func TestInstantWithFractions(t *testing.T) {
	require.Equal(t, "2026-09-03T06:15:00.25Z", assess.Stamp(geo.InstantOf(assesstest.Begin.Add(250*time.Millisecond))))
}

// Totals hold everything; lists leave slivers out, and the numbers of what is
// listed stay without a break.
func TestListsLeaveSliversOut(t *testing.T) {
	r := small()
	all := decode(t, r)
	r.MinArea = 100 * plane.SquareMetre
	some := decode(t, r)
	require.Equal(t, all["ground"], some["ground"])
	require.Less(t, len(some["skips"].([]any)), len(all["skips"].([]any)))
	for i, s := range some["skips"].([]any) {
		require.Equal(t, float64(i+1), s.(map[string]any)["id"])
	}
}
