package assess_test

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/geo/plane"
)

// decode reads a summary back the way a script would.
func decode(t *testing.T, r *assess.Assessment) map[string]any {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b))
	var out map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &out))
	return out
}

func TestSummaryKeepsTheIdentities(t *testing.T) {
	for name, r := range map[string]*assess.Assessment{"small": assesstest.Small(), "quarter": assesstest.Quarter(), "empty": assesstest.Empty()} {
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

func TestSummaryNullsAndTimes(t *testing.T) {
	r := assesstest.Small()
	for i := range r.Map.Passes {
		r.Map.Passes[i].NoClock = r.Map.Passes[i].Machine == 1
	}
	r.Map.Headland.Edge.Mean = plane.Distance(math.NaN())
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
		require.NotNil(t, decode(t, assesstest.Empty())[k], k)
	}
}

// Totals hold everything; lists leave slivers out, and the numbers of what is
// listed stay without a break.
func TestListsLeaveSliversOut(t *testing.T) {
	r := assesstest.Small()
	all := decode(t, r)
	r.MinArea = 100 * plane.SquareMetre
	some := decode(t, r)
	require.Equal(t, all["ground"], some["ground"])
	require.Less(t, len(some["skips"].([]any)), len(all["skips"].([]any)))
	for i, s := range some["skips"].([]any) {
		require.Equal(t, float64(i+1), s.(map[string]any)["id"])
	}
}

// The parts of a waste make the whole in the file too.
func TestSummaryWasteAddsUp(t *testing.T) {
	for _, p := range decode(t, assesstest.Small())["products"].([]any) {
		product := p.(map[string]any)
		w := product["waste"].(map[string]any)
		ground := func(v any) float64 { return v.(map[string]any)["ground_m2"].(float64) }
		sum := func(list any) (s float64) {
			for _, v := range list.([]any) {
				s += ground(v)
			}
			return s
		}
		total := ground(w["total"])
		const within = 0.001 // m², as all identities in the file
		require.InDelta(t, total, sum(w["by_cause"])+ground(w["too_small"])+ground(w["overreach"]), within)
		require.InDelta(t, total, sum(w["by_machine"]), within)
		require.InDelta(t, total, sum(w["by_pass"]), within)
		require.InDelta(t, total, product["ground"].(map[string]any)["wasted_m2"], within)
		if product["wasted_kg"] != nil {
			require.InDelta(t, product["wasted_kg"], w["total"].(map[string]any)["kg"], 1e-9)
		}
	}
}

func TestWhatIfSummary(t *testing.T) {
	r := assesstest.Asked()
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b))
	var got struct {
		WhatIf struct {
			Sure struct {
				Steering string `json:"steering"`
				Skip     struct{ Low, Middle, High float64 }
				Outside  []string `json:"measured_outside"`
				Skips    []struct{ Certainty string }
			} `json:"how_sure"`
			Sections []struct {
				Saved float64 `json:"saved_m2"`
			}
			Back []struct{ Verdict string } `json:"going_back"`
		} `json:"what_if"`
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	w := got.WhatIf
	assert.Equal(t, "other", w.Sure.Steering)
	assert.Equal(t, []string{"overlap", "excess", "overreach"}, w.Sure.Outside)
	require.Len(t, w.Sure.Skips, 1)
	assert.Equal(t, "likely", w.Sure.Skips[0].Certainty)
	assert.InDelta(t, -200, w.Sections[0].Saved, 1e-9, "worse than as driven")
	assert.InDelta(t, 1810, w.Sections[2].Saved, 1e-9)
	assert.Equal(t, "leave", w.Back[0].Verdict)
}

// The fixture itself must keep the contract's identities, or the tests on it
// mean nothing.
func TestFixtureIsConsistent(t *testing.T) {
	for name, r := range map[string]*assess.Assessment{"small": assesstest.Small(), "quarter": assesstest.Quarter()} {
		t.Run(name, func(t *testing.T) {
			g := r.Map.Totals
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
	require.Equal(t, 118500*plane.SquareMetre, assesstest.Small().Map.Totals.Field)
}

func TestSummaryGolden(t *testing.T) {
	assesstest.Golden(t, "small.summary.json", assesstest.Small().WriteSummary)
}
