package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
)

// Work takes far less than it may: a tenth at most, with places that are 14 cm off
// from fix to fix.
func TestWorkSeldomCrossesItself(t *testing.T) {
	for _, noise := range []float64{0, 0.02, 0.14} {
		s := covertest.Small(noise, 1)
		m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
		require.NoError(t, err)
		assert.Equal(t, field.UsualCrossings(machine.Fixes(s.Machines)+s.Field.Corners()), m.Crossings.Most)
		assert.Positive(t, m.Crossings.Found)
		assert.Less(t, 10*m.Crossings.Found, m.Crossings.Most, "noise of %v m", noise)
	}
}

// A field is measured if its edges cross as often as they may, and not if they cross
// once more; the error names the field, the machine and its width.
func TestCrossingsAreBounded(t *testing.T) {
	s := covertest.Small(0.02, 1)
	all, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	found := all.Crossings.Found

	m, err := coverage.Measure(s.Field, s.Machines, field.Options{Crossings: found + 1})
	require.NoError(t, err)
	assert.Equal(t, all.Totals, m.Totals, "the bound moves nothing")
	assert.Equal(t, region.Crossings{Found: found, Most: found + 1}, m.Crossings)

	for _, most := range []int{1, found / 2, found - 1} {
		m, err = coverage.Measure(s.Field, s.Machines, field.Options{Crossings: most})
		assert.Nil(t, m)
		var tooMany *region.CrossingsError
		require.ErrorAs(t, err, &tooMany)
		assert.Equal(t, [2]any{s.Field.Name, most}, [2]any{tooMany.Field, tooMany.Most})
		assert.Equal(t, s.Machines[0].Implement.Width, tooMany.Machine.Implement.Width)
		assert.ErrorContains(t, err, `field "`+s.Field.Name+`": found swaths of "`+s.Machines[0].Name+`", `)
	}
}
