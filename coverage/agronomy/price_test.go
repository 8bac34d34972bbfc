package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
)

// What 30 kg, or 20 L, cost at each kind of price. A bushel of wheat is 60 lb,
// 27.2155422 kg (USDA official weight).
func TestPriceOf(t *testing.T) {
	mass, volume := 30.0, 0.02
	for _, c := range []struct {
		text, currency string
		wish           quantity.Wish
		cost           float64
		byVolume       bool
	}{
		{"2 EUR/kg", "EUR", quantity.Price, 60, false},
		{"500 CAD/t", "CAD", quantity.Price, 15, false},
		{"1000 USD/ton", "USD", quantity.Price, 1000 / 907.18474 * 30, false}, // a short ton is 2000 lb
		{"3 EUR/L", "EUR", quantity.Price, 60, true},
		{"6 USD/bu", "USD", quantity.CropPrice, 6 / 27.2155422 * 30, false},
	} {
		v, err := quantity.Read(c.text, c.wish)
		require.NoError(t, err)
		p := PriceOf(v, 60*quantity.Pound)
		assert.Equal(t, c.currency, p.Currency)
		assert.InDelta(t, c.cost, *p.Of(&mass, &volume), 1e-6, c.text)
		if c.byVolume {
			assert.Nil(t, p.Of(&mass, nil), c.text)
		} else {
			assert.Nil(t, p.Of(nil, &volume), c.text)
		}
	}
	var none *Price
	assert.Nil(t, none.Of(&mass, &volume), "without a price")
}
