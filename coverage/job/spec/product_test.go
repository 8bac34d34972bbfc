package spec

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// Products as a job writes them, against published values.
func TestProductsOfAJob(t *testing.T) {
	for _, c := range []struct {
		source, product string
		pounds          float64 // an acre; 0: not known
		gallons         float64 // an acre; 0: not known
		within          float64
	}{
		{"Nitrogen fertilizer table, San Joaquin County records: 2.17 lb of urea for a lb of N",
			"analysis: 46-0-0, rate: 80 lb N/ac", 173.913, 0, 0.001},
		{"Manitoba Agriculture, Soil Fertility Guide: 77 lb of MAP for 40 lb of P2O5",
			"analysis: 11-52-0, rate: 40 lb P2O5/ac", 76.923, 0, 0.001},
		{"the same: 25 lb of potash for 15 lb of K2O",
			"analysis: 0-0-60, rate: 15 lb K2O/ac", 25, 0, 1e-9},
		{"Estimated physical characteristics of fertilizer material, 28-0-0: 10.67 lb/gal; computed",
			"analysis: 28-0-0, density: 10.67 lb/gal, rate: 80 lb N/ac", 285.714, 26.777, 0.001},
		{"the same, 10-34-0: 11.65 lb/gal; computed",
			"analysis: 10-34-0, density: 11.65 lb/gal, rate: 5 gal/ac", 58.25, 5, 1e-9},
		{"Wisconsin SPS 343 and an industry data manual: 5.147 lb/gal of ammonia at 60 F; computed",
			"analysis: 82-0-0, temperature: 60 F, rate: 100 lb N/ac", 121.951, 23.69, 0.01},
		{"the same at 0 F", "analysis: 82-0-0, temperature: 0 F, rate: 100 lb N/ac", 121.951, 22.07, 0.01},
		{"the same at 100 F", "analysis: 82-0-0, temperature: 100 F, rate: 100 lb N/ac", 121.951, 25.06, 0.01},
		{"Kansas seed-size example, 12,000 seeds/lb: 63 lb",
			"rate: 750000 seeds/ac, thousand_kernels: 12000 seeds/lb", 62.5, 0, 1e-9},
		{"25 plants/ft2, 35 g a thousand, 85 % survival: computed",
			"rate: 25 seeds/ft2, thousand_kernels: 35 g, survival: 85 %", 98.858, 0, 0.001},
		{"a rate by mass stays what it is", "rate: 90 lb/ac", 90, 0, 1e-9},
		{"a rate by volume without a density says no mass", "rate: 5 gal/ac", 0, 5, 1e-9},
	} {
		s, err := read(plainJob + "products: [{name: product, " + c.product + "}]\n")
		require.NoError(t, err, c.product)
		p := s.Products[0]
		if c.pounds == 0 {
			assert.Nil(t, p.MassRate, c.product)
		} else if assert.NotNil(t, p.MassRate, c.product) {
			assert.InDelta(t, c.pounds, quantity.InPoundsPerAcre(*p.MassRate), c.within, c.source)
		}
		if c.gallons == 0 {
			assert.Nil(t, p.VolumeRate, c.product)
		} else if assert.NotNil(t, p.VolumeRate, c.product) {
			assert.InDelta(t, c.gallons, quantity.InGallonsPerAcre(*p.VolumeRate), c.within, c.source)
		}
	}
}

// What 30 kg, or 20 L, cost at each kind of price that a job writes. A bushel of wheat is
// 60 lb, 27.2155422 kg (USDA official weight).
func TestPricesOfAJob(t *testing.T) {
	mass, volume := 30.0, 0.02
	for _, c := range []struct {
		key, currency string
		cost          float64
		byVolume      bool
	}{
		{"products: [{name: seed, rate: 90 kg/ha, price: 2 EUR/kg}]", "EUR", 60, false},
		{"products: [{name: seed, rate: 90 kg/ha, price: 500 CAD/t}]", "CAD", 15, false},
		{"products: [{name: seed, rate: 90 kg/ha, price: 1000 USD/ton}]", "USD", 1000 / 907.18474 * 30, false}, // a short ton is 2000 lb
		{"products: [{name: starter, rate: 50 L/ha, price: 3 EUR/L}]", "EUR", 60, true},
		{"crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}", "USD", 6 / 27.2155422 * 30, false},
	} {
		s, err := read(plainJob + c.key + "\n")
		require.NoError(t, err, c.key)
		var p *agronomy.Price
		if s.Crop != nil {
			p = s.Crop.Price
		} else {
			p = s.Products[0].Price
		}
		require.NotNil(t, p, c.key)
		assert.Equal(t, c.currency, p.Currency)
		assert.InDelta(t, c.cost, *p.Of(&mass, &volume), 1e-6, c.key)
		assert.Equal(t, c.byVolume, p.Of(&mass, nil) == nil, c.key)
	}
}

// A job may say what grows and no more of it; what it is worth has a yield with it.
func TestCropOfAJob(t *testing.T) {
	s, err := read(plainJob + "crop: {name: Winter Rye }\n")
	require.NoError(t, err)
	assert.Equal(t, &agronomy.Crop{Name: "Winter Rye"}, s.Crop)
	s, err = read(plainJob + "crop: {name: oats, yield: 5 t/ha}\n")
	require.NoError(t, err)
	assert.Equal(t, &agronomy.Crop{Name: "oats", Yield: 0.5}, s.Crop)
	for _, short := range []string{"{}", "{name: oats, price: 200 EUR/t}", "{price: 200 EUR/t}"} {
		_, err = read(plainJob + "crop: " + short + "\n")
		require.ErrorContains(t, err, "yield", short)
	}
	_, err = read(plainJob + "crop: {name: [oats]}\n")
	require.ErrorContains(t, err, "crop.name: found a list, want a name")
}

func TestFillsOfAJob(t *testing.T) {
	tank := func(fills string) string {
		return "time_zone: America/Denver\n" + plainJob + "products: [{name: N, rate: 90 L/ha, tank: 3 m3, fills: " + fills + "}]\n"
	}
	s, err := read(tank("4"))
	require.NoError(t, err)
	assert.Equal(t, 4, s.Products[0].Fills)
	assert.Nil(t, s.Products[0].FilledAt)
	s, err = read(tank("[2026-03-02T09:00, 2026-03-02T11:30]"))
	require.NoError(t, err)
	assert.Zero(t, s.Products[0].Fills)
	assert.Equal(t, []geo.Instant{
		geo.InstantOf(time.Date(2026, 3, 2, 16, 0, 0, 0, time.UTC)), // Mountain Standard Time
		geo.InstantOf(time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC)),
	}, s.Products[0].FilledAt)
}
