package machine

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// Added up by hand: each length takes the bar farther away at worst, whichever sign it has.
func TestReach(t *testing.T) {
	const m = plane.Metre
	drill := Implement{AntennaToHitch: 3 * m, AntennaRight: -m / 2, HitchToBar: 6 * m, Offset: m, Width: 12 * m}
	assert.Equal(t, 3*m+m/2+6*m+m+6*m, drill.Reach())
	drill.Cart = &Cart{HitchToAxle: 4 * m, AxleToHitch: -2 * m} // its pin before the axle
	assert.Equal(t, 16*m+m/2+4*m+2*m, drill.Reach())
	drill.Cart.AxleToHitch = 2 * m
	assert.Equal(t, 22*m+m/2, drill.Reach())
}

// Sections cut evenly join without a gap, to the tick, and no two differ by more than one.
func TestEqualSections(t *testing.T) {
	sections := EqualSections(10*plane.Metre+1, 3)
	assert.Len(t, sections, 3)
	for i, s := range sections {
		if i > 0 {
			assert.Equal(t, sections[i-1].Right, s.Left)
		}
		assert.InDelta(t, float64(10*plane.Metre+1)/3, float64(s.Right-s.Left), 1)
	}
	assert.Equal(t, 10*plane.Metre+1, sections[2].Right-sections[0].Left)
	assert.InDelta(t, 0, float64(sections[2].Right+sections[0].Left), 1, "as far to the left as to the right")
}

// Openers of 3, 1 and 2 rows on a bar of 12 m: half of it, a sixth and a third, from the left.
func TestSectionsByWeight(t *testing.T) {
	const m = plane.Metre
	assert.Equal(t, []Section{{-6 * m, 0}, {0, 2 * m}, {2 * m, 6 * m}}, SectionsByWeight(12*m, []float64{3, 1, 2}))
	assert.Equal(t, []Section{{-3, 4}}, SectionsByWeight(7, []float64{5}), "the tick too many goes to the right")
}
