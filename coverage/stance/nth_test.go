package stance

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The value at an index is that of sorting, whatever the values, equal ones too.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 1, 2})), 1, 200).Draw(t, "values")
		n := rapid.IntRange(0, len(values)-1).Draw(t, "n")
		sorted := slices.Sorted(slices.Values(values))
		require.Equal(t, sorted[n], nth(values, n))
		require.Equal(t, sorted, slices.Sorted(slices.Values(values)))
	})
}
