package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What 30 kg, or 20 L, cost: a price by one is nothing for the other.
func TestPriceOfAnAmount(t *testing.T) {
	mass, volume := 30.0, 0.02
	byMass, byVolume := Price{PerKilogram: 2}, Price{PerCubicMetre: 3000}
	assert.InDelta(t, 60, *byMass.Of(&mass, &volume), 1e-9)
	assert.InDelta(t, 60, *byVolume.Of(&mass, &volume), 1e-9)
	assert.Nil(t, byMass.Of(nil, &volume))
	assert.Nil(t, byVolume.Of(&mass, nil))
	var none *Price
	assert.Nil(t, none.Of(&mass, &volume), "without a price")
}
