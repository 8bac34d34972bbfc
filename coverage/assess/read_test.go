package assess_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/figure"
	"lapwing/geo/plane"
)

// A summary read back and written again is the same to the byte, with what is
// not known in it too.
func TestSummaryReadsBack(t *testing.T) {
	unknown := assesstest.Small()
	unknown.Map.Headland.Edge.Mean = plane.Distance(math.NaN())
	for name, a := range map[string]*assess.Assessment{
		"small": assesstest.Small(), "quarter": assesstest.Quarter(), "empty": assesstest.Empty(), "asked": assesstest.Asked(), "unknown": unknown,
	} {
		var first, second bytes.Buffer
		require.NoError(t, a.WriteSummary(&first), name)
		s, err := assess.ReadSummary(bytes.NewReader(first.Bytes()))
		require.NoError(t, err, name)
		require.NoError(t, figure.WriteJSON(&second, s), name)
		assert.Equal(t, first.String(), second.String(), name)

		brief, err := assess.ReadBrief(bytes.NewReader(first.Bytes()))
		require.NoError(t, err, name)
		s.Overlaps, s.WhatIf = nil, nil
		var want, got bytes.Buffer
		require.NoError(t, figure.WriteJSON(&want, s), name)
		require.NoError(t, figure.WriteJSON(&got, brief), name)
		assert.Equal(t, want.String(), got.String(), name)
	}
}

func TestReadSummaryRefuses(t *testing.T) {
	for text, want := range map[string]string{
		`{"schema": "lapwing/last/1"}`:                                                            `found schema "lapwing/last/1", want "lapwing/assessment/1"`,
		`{"schema": "lapwing/assessment/1", "field": {"area_m2": 1.0000000001}}`:                  "found 1.0000000001, want an area in m²",
		`{"schema": "lapwing/assessment/1", "field": {"area_m2": "12"}}`:                          "want an area in m²",
		`{"schema": "lapwing/assessment/1", "ground": {"by_depth_m2": {"0": 1, "2": 1}}}`:         `found depth "2", want the depths from 0 up`,
		`{"schema": "lapwing/assessment/1", "field": {"area_m2": 99999999999999999999}}`:          "want an area in m²",
		`{"schema": "lapwing/assessment/1", "field": `:                                            "unexpected EOF",
		`{"schema": "lapwing/assessment/1", "headland": {"edge": {"standoff_mean_m": "a foot"}}}`: "cannot unmarshal",
	} {
		_, err := assess.ReadSummary(strings.NewReader(text))
		assert.ErrorContains(t, err, want, text)
		_, err = assess.ReadBrief(strings.NewReader(text))
		assert.ErrorContains(t, err, want, text)
	}
}
