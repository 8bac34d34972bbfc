package assess_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/field"
)

// Every text of an assessment is named anew, and its run follows: it is that of the
// texts, so that it comes back with them.
func TestRename(t *testing.T) {
	a := do(t, loaded(t), assess.Options{})
	a.Zone = nil
	a.Warnings = append(a.Warnings, field.Warning{File: "left/day.csv", Text: "overlaps left/night.csv"})
	require.NoError(t, a.Rename(func(s string) string { return s }))
	run := a.Run
	encoded := func() string {
		var b bytes.Buffer
		require.NoError(t, a.WriteSummary(&b))
		return b.String()
	}
	before := encoded()
	require.NoError(t, a.Rename(func(s string) string { return strings.ReplaceAll(s, "left/", "over/") }))
	assert.NotEqual(t, run, a.Run)
	after := encoded()
	assert.NotContains(t, after, "left/", "in a text")
	assert.Contains(t, after, "overlaps over/night.csv")
	assert.Contains(t, after, `"over/day.csv"`)
	require.NoError(t, a.Rename(func(s string) string { return strings.ReplaceAll(s, "over/", "left/") }))
	assert.Equal(t, run, a.Run)
	assert.Equal(t, before, encoded())
}

// To name nothing anew changes nothing, the run among it, whatever was asked.
func TestRenameKeepsTheRun(t *testing.T) {
	for name, a := range map[string]*assess.Assessment{
		"plain": do(t, loaded(t), assess.Options{}),
		"asked": do(t, loaded(t), assess.Options{OffRates: true, Mend: &assess.MendQuestion{Machine: -1}, WhatIf: &assess.WhatIfOptions{Runs: 2}}),
	} {
		run := a.Run
		require.NoError(t, a.Rename(func(s string) string { return s }))
		assert.Equal(t, run, a.Run, name)
	}
}
