package field

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// A quarter section logged at 10 Hz with 2 cm of noise leaves thousands of
// specks; the page stays under a megabyte.
func TestPageOfAQuarterSectionIsSmall(t *testing.T) {
	s := covertest.QuarterSection(10, 0.02, 1)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	r := &Document{Assessment: &assess.Assessment{Reckoning: agronomy.Reckon(m, nil, nil), Run: "size", MinArea: plane.SquareMetre}}
	var b bytes.Buffer
	require.NoError(t, r.Page(&b))
	assert.Less(t, b.Len(), 1_000_000)
	assert.Contains(t, b.String(), "specks of skip too small to list")
}
