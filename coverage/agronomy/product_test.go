package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/quantity"
)

func kelvin(t *testing.T, text string) float64 {
	t.Helper()
	k, err := quantity.Parse(text, quantity.Temperature)
	require.NoError(t, err)
	return k
}

// The lb/gal by °F of an industry data manual with the National Bureau of
// Standards' table, and the kg/m³ by K of Thermal-FluidsPedia, "Thermophysical
// Properties: Ammonia", both within 0.005 lb/gal.
func TestAmmoniaDensity(t *testing.T) {
	for at, want := range map[string]float64{
		"0 F": 5.526, "20 F": 5.403, "30 F": 5.341, "40 F": 5.278, "50 F": 5.214, "60 F": 5.147,
		"70 F": 5.079, "80 F": 5.010, "90 F": 4.938, "100 F": 4.866,
		"270 K": 5.365, "280 K": 5.251, "290 K": 5.132, "300 K": 5.009, "310 K": 4.879,
	} {
		got, err := AmmoniaDensity(kelvin(t, at))
		require.NoError(t, err)
		assert.InDelta(t, want, got*0.008345404452, 0.005, at) // kg/m³ to lb/gal, computed
	}
	// From 30 F to 90 F the same gallon holds 7.5 % less (computed from the table).
	cold, err := AmmoniaDensity(kelvin(t, "30 F"))
	require.NoError(t, err)
	warm, err := AmmoniaDensity(kelvin(t, "90 F"))
	require.NoError(t, err)
	assert.InDelta(t, 0.075, 1-warm/cold, 0.0005)

	for _, outside := range []string{"-1 F", "101 F"} {
		_, err := AmmoniaDensity(kelvin(t, outside))
		assert.EqualError(t, err, "found ammonia at "+outside+", want 0 F to 100 F, or a density")
	}
}

// Rates of a nutrient: lb of product and gal an acre.
func TestNutrientRates(t *testing.T) {
	for _, c := range []struct {
		name, analysis, density, temperature, rate string
		pounds, gallons                            float64 // gallons 0: not asked
		tolerance                                  float64
	}{
		// Nitrogen fertilizer table in San Joaquin County records: 1.22 lb of
		// ammonia holds a lb of N (1/0.82).
		{"ammonia", "82-0-0", "", "", "70 lb N/ac", 85.366, 0, 0.001},
		{"ammonia at 60 F", "82-0-0", "", "60 F", "100 lb N/ac", 121.951, 23.69, 0.01},
		{"ammonia at 0 F", "82-0-0", "", "0 F", "100 lb N/ac", 121.951, 22.07, 0.01},
		{"ammonia at 100 F", "82-0-0", "", "100 F", "100 lb N/ac", 121.951, 25.06, 0.01},
		{"less ammonia at 60 F", "82-0-0", "", "60 F", "80 lb N/ac", 97.561, 18.95, 0.01},
		{"ammonia at the trade's 5.15", "82-0-0", "5.15 lb/gal", "60 F", "80 lb N/ac", 97.561, 18.94, 0.01},
		{"ammonia for 240 lb", "82-0-0", "", "", "240 lb N/ac", 292.68, 0, 0.01},
		// The same table and the Soil Fertility Guide of Manitoba Agriculture.
		{"urea", "46-0-0", "", "", "80 lb N/ac", 173.913, 0, 0.001},
		{"MAP", "11-52-0", "", "", "40 lb P2O5/ac", 76.923, 0, 0.001},
		{"potash", "0-0-60", "", "", "15 lb K2O/ac", 25, 0, 0.001},
		// Densities: "Estimated physical characteristics of fertilizer material"
		// and, for 30 %, NC State Extension, Duplin County, Apr 2014.
		{"UAN 28", "28-0-0", "10.67 lb/gal", "", "80 lb N/ac", 285.71, 26.78, 0.01},
		{"UAN 30", "30-0-0", "10.8 lb/gal", "", "80 lb N/ac", 266.67, 24.69, 0.01},
		{"UAN 32", "32-0-0", "11.06 lb/gal", "", "80 lb N/ac", 250, 22.60, 0.01},
	} {
		t.Run(c.name, func(t *testing.T) {
			var p Product
			a, err := ParseAnalysis(c.analysis)
			require.NoError(t, err)
			p.Analysis = &a
			if c.density != "" {
				d, err := quantity.Parse(c.density, quantity.Density)
				require.NoError(t, err)
				p.Density = &d
			}
			if c.temperature != "" {
				k := kelvin(t, c.temperature)
				p.Temperature = &k
			}
			v, err := quantity.Read(c.rate, quantity.Rate)
			require.NoError(t, err)
			require.NoError(t, p.SetRate(v, Seed{}))
			assert.InDelta(t, c.pounds, quantity.InPoundsPerAcre(*p.MassRate), c.tolerance)
			if c.gallons == 0 {
				assert.Nil(t, p.VolumeRate)
				return
			}
			assert.InDelta(t, c.gallons, quantity.InGallonsPerAcre(*p.VolumeRate), c.tolerance)
		})
	}
}

// Nitrogen in a gallon or in a rate by volume.
func TestNitrogenOfVolumes(t *testing.T) {
	for _, c := range []struct {
		analysis, density, rate string
		nitrogen, tolerance     float64 // lb/ac
	}{
		{"28-0-0", "10.67 lb/gal", "1 gal/ac", 2.99, 0.005}, // "Estimated physical characteristics of fertilizer material"
		{"30-0-0", "10.8 lb/gal", "1 gal/ac", 3.24, 0.0005}, // NC State Extension prints 3.3; exact 3.24
		{"32-0-0", "11.06 lb/gal", "1 gal/ac", 3.54, 0.005}, // as for 28-0-0
		{"28-0-0", "10.6 lb/gal", "20 gal/ac", 59.4, 0.05},  // J. Camberato, Purdue Extension, Jan 2023
		{"32-0-0", "11.06 lb/gal", "0.28 gal/ac", 1, 0.01},  // San Joaquin County records
		{"11-52-0", "", "40 lb P2O5/ac", 8.5, 0.05},         // Manitoba Agriculture, Soil Fertility Guide
	} {
		p := product(t, c.analysis, c.density, c.rate, "")
		assert.InDelta(t, c.nitrogen, quantity.InPoundsPerAcre(*p.MassRate*p.Analysis.N), c.tolerance, c.analysis)
	}
}

// 1000 gal at 85 % and 60 F: 4375 lb of ammonia, 3587 lb of N, 35.87 ac at
// 100 lb N and 44.84 ac at 80, within 0.2 % (computed from the table above).
func TestTankGround(t *testing.T) {
	tank, warmth := 1000*quantity.Gallon, kelvin(t, "60 F")
	for rate, acres := range map[string]float64{"100 lb N/ac": 35.87, "80 lb N/ac": 44.84} {
		p := Product{Analysis: &Analysis{N: 0.82}, Tank: &tank, Fill: 0.85, Temperature: &warmth}
		v, err := quantity.Read(rate, quantity.Rate)
		require.NoError(t, err)
		require.NoError(t, p.SetRate(v, Seed{}))
		assert.InEpsilon(t, acres, quantity.InAcres(*p.FillArea()), 0.002, rate)
		assert.InEpsilon(t, 4375, quantity.InPounds(*p.FillArea()**p.MassRate), 0.002)
	}
	assert.Nil(t, Product{Tank: &tank, Fill: 1}.FillArea())
}

func TestSeedMassRate(t *testing.T) {
	count := func(text string) float64 { // kg of one kernel
		v, err := quantity.Parse(text, quantity.SeedCount)
		require.NoError(t, err)
		return 1 / v
	}
	for _, c := range []struct {
		rate      string
		seed      Seed
		pounds    float64 // an acre
		tolerance float64
	}{
		// Kansas seed-size example (K-State content as summarised): 63 and 47.
		{"750000 seeds/ac", Seed{Kernel: count("12000 seeds/lb")}, 62.5, 1e-9},
		{"750000 seeds/ac", Seed{Kernel: count("16000 seeds/lb")}, 46.875, 1e-9},
		// NDSU, optimal seeding rates: prints 110; 15 % stand loss, 95 % germination.
		{"1100000 seeds/ac", Seed{Kernel: count("12500 seeds/lb"), Survival: 0.85 * 0.95}, 108.978, 0.001},
		// Bitzer and Herbek, Univ. of Kentucky, wheat seeding rate and drill calibration.
		{"35 seeds/ft2", Seed{Kernel: count("10000 seeds/lb")}, 152.5, 0.05},
		{"35 seeds/ft2", Seed{Kernel: count("12000 seeds/lb")}, 127.1, 0.05},
		{"35 seeds/ft2", Seed{Kernel: count("14000 seeds/lb")}, 108.9, 0.05},
		{"35 seeds/ft2", Seed{Kernel: count("16000 seeds/lb")}, 95.3, 0.05},
		{"35 seeds/ft2", Seed{Kernel: count("18000 seeds/lb")}, 84.7, 0.05},
		{"35 seeds/ft2", Seed{Kernel: count("20000 seeds/lb")}, 76.2, 0.05},
		{"30 seeds/ft2", Seed{Kernel: count("10000 seeds/lb")}, 131, 0.5},
		{"30 seeds/ft2", Seed{Kernel: count("12000 seeds/lb")}, 109, 0.5},
		{"30 seeds/ft2", Seed{Kernel: count("14000 seeds/lb")}, 93, 0.5},
		{"30 seeds/ft2", Seed{Kernel: count("16000 seeds/lb")}, 82, 0.5},
		{"30 seeds/ft2", Seed{Kernel: count("18000 seeds/lb")}, 73, 0.5},
		{"30 seeds/ft2", Seed{Kernel: count("20000 seeds/lb")}, 65, 0.5},
		// 25 plants/ft2, 35 g a thousand, 85 % survival: computed.
		{"25 seeds/ft2", Seed{Kernel: 35e-6, Survival: 0.85}, 98.858, 0.001},
	} {
		v, err := quantity.Read(c.rate, quantity.Rate)
		require.NoError(t, err)
		var p Product
		require.NoError(t, p.SetRate(v, c.seed))
		assert.InDelta(t, c.pounds, quantity.InPoundsPerAcre(*p.MassRate), c.tolerance, "%s %v", c.rate, c.seed)
	}
}

func TestSetRateRefuses(t *testing.T) {
	far := kelvin(t, "120 F")
	for _, c := range []struct {
		product Product
		rate    string
		want    string
	}{
		{Product{}, "70 lb N/ac", "found a rate of N without an analysis, want an analysis such as 82-0-0"},
		{Product{Analysis: &Analysis{K2O: 0.6}}, "70 lb N/ac", "found a rate of N, of which the analysis has none, want the rate of a nutrient in the product"},
		{Product{}, "25 seeds/ft2", `found a rate in seeds without their size, want thousand_kernels such as "35 g" or "12000 seeds/lb"`},
		{Product{Analysis: &Analysis{N: 0.82}, Temperature: &far}, "70 lb N/ac", "found ammonia at 120 F, want 0 F to 100 F, or a density"},
	} {
		v, err := quantity.Read(c.rate, quantity.Rate)
		require.NoError(t, err)
		assert.EqualError(t, c.product.SetRate(v, Seed{}), c.want)
	}
}

func TestParseAnalysis(t *testing.T) {
	a, err := ParseAnalysis("10-34-0")
	require.NoError(t, err)
	assert.Equal(t, Analysis{N: 0.1, P2O5: 0.34}, a)
	a, err = ParseAnalysis("60-20-20")
	require.NoError(t, err, "100 together")
	assert.Equal(t, Analysis{N: 0.6, P2O5: 0.2, K2O: 0.2}, a)
	for _, wrong := range []string{"", "82", "82-0", "82-0-0-0", "82-x-0", "82--0", "60-50-0", "NaN-0-0", "1e1-0-0"} {
		_, err := ParseAnalysis(wrong)
		assert.EqualError(t, err, `found "`+wrong+`", want percentages of N-P2O5-K2O such as 82-0-0, 100 together at most`)
	}
}
