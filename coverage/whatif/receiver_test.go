package whatif

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage"
	"lapwing/coverage/track"
	"lapwing/geo"
)

// After one memory 1/e of an exponential error is left, and of a smooth one, of
// Matérn's 3/2 kind, (1 + √3) e^-√3 (Rasmussen and Williams, "Gaussian Processes for
// Machine Learning", 2006, equation 4.17). It is all there at once, and the same before as
// after.
func TestCorrelation(t *testing.T) {
	for _, c := range []struct {
		smooth bool
		after  float64
	}{{false, 0.36788}, {true, 0.48336}} {
		m := memory{110, c.smooth}
		assert.Equal(t, 1.0, m.correlation(0))
		assert.InDelta(t, c.after, m.correlation(110), 1e-5)
		assert.InDelta(t, c.after, m.correlation(-110), 1e-5)
		assert.Less(t, m.correlation(1100), 1e-3)
	}
	// What is smooth hardly changes from one moment to the next.
	assert.InDelta(t, 1, memory{100, true}.correlation(1), 2e-4)
	assert.InDelta(t, 0.99, memory{100, false}.correlation(1), 1e-4)
}

// Two places told at once do not differ; two told days apart differ by both parts of both;
// and two told a quarter of an hour apart by the short-term part of both and little more.
func TestBetween(t *testing.T) {
	e := ReceiverError{ShortTerm: 0.3, Drift: 0.4}
	assert.Zero(t, e.Between(0))
	assert.InDelta(t, math.Sqrt2*0.5, e.Between(7*24*3600), 1e-6)
	assert.InDelta(t, math.Sqrt2*0.5, e.Between(-7*24*3600), 1e-6)
	steady := ReceiverError{ShortTerm: 0.3}
	assert.InDelta(t, math.Sqrt2*0.3, steady.Between(900), 1e-6)
	// Smooth, it starts off at a speed of √3/memory of itself: after a second, by 0.3 √3/60 m.
	assert.InDelta(t, 0.3*math.Sqrt(3)/60, steady.Between(1), 2e-4)
	drift := ReceiverError{Drift: 0.4}
	assert.InDelta(t, 0.4*math.Sqrt(3)/7200*60, drift.Between(60), 2e-4)
}

// A machine without a record, as on a map laid from ground alone, has no known quality.
func TestQualityOf(t *testing.T) {
	m := &coverage.Map{}
	assert.Equal(t, geo.QualityUnknown, QualityOf(m, 0))
	m.Records = make([]track.Record, 1)
	m.Records[0].Qualities[geo.Fixed], m.Records[0].Qualities[geo.Single] = 3, 1
	assert.Equal(t, geo.Fixed, QualityOf(m, 0))
	assert.Equal(t, geo.QualityUnknown, QualityOf(m, 1))
	assert.Equal(t, ErrorOf(geo.Differential), ErrorOf(geo.QualityUnknown), "taken for one with differential corrections")
}
