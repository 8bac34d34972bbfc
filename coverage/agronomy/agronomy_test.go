package agronomy

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

func squareMetres(m2 float64) plane.Area {
	return plane.Area(math.Round(m2 * float64(plane.SquareMetre)))
}

// product returns a product read as a job gives it.
func product(t *testing.T, analysis, density, rate, price string) Product {
	t.Helper()
	var p Product
	if analysis != "" {
		a, err := ParseAnalysis(analysis)
		require.NoError(t, err)
		p.Analysis = &a
	}
	if density != "" {
		d, err := quantity.Parse(density, quantity.Density)
		require.NoError(t, err)
		p.Density = &d
	}
	v, err := quantity.Read(rate, quantity.Rate)
	require.NoError(t, err)
	require.NoError(t, p.SetRate(v, Seed{}))
	if price != "" {
		v, err := quantity.Read(price, quantity.Price)
		require.NoError(t, err)
		p.Price = priceOf(v)
	}
	return p
}

// priceOf is a price by mass, or by volume.
func priceOf(v quantity.Value) *Price {
	if v.Kind == quantity.PricePerVolume {
		return &Price{PerCubicMetre: v.SI, Currency: v.Currency}
	}
	return &Price{PerKilogram: v.SI, Currency: v.Currency}
}

// pieces is a made-up field of 100 m² pieces, worked by a drill (machine 0)
// and a sprayer (machine 1), a pass and a swath each:
//
//	inside:  skip 300 (100 of it remainder) | drill | sprayer | both
//	outside: drill | both
func pieces() *coverage.Map {
	area := func(n float64) plane.Area { return squareMetres(100 * n) }
	return &coverage.Map{
		Machines: []machine.Machine{{Name: "drill"}, {Name: "sprayer"}},
		Passes:   []coverage.Pass{{ID: 1}, {ID: 2, Pass: work.Pass{Machine: 1}}},
		Swaths:   []sweep.Swath{{Pass: 0}, {Pass: 1}},
		Regions: []region.Region{
			{Kind: region.Skip, Area: area(3)},
			{Kind: region.Once, Depth: 1, Swaths: []int{0}, Area: area(1)},
			{Kind: region.Once, Depth: 1, Swaths: []int{1}, Area: area(1)},
			{Kind: region.Overlap, Depth: 2, Swaths: []int{0, 1}, Area: area(1)},
			{Kind: region.OverReach, Depth: 1, Swaths: []int{0}, Area: area(1)},
			{Kind: region.OverReach, Depth: 2, Swaths: []int{0, 1}, Area: area(1)},
		},
		Totals: coverage.Totals{Totals: region.Totals{
			Field: area(6), Skip: area(3), Covered: area(3), Overlap: area(1),
			Excess: area(1), OverReach: area(2), OverReachSwept: area(3), Swept: area(7),
		}, Remainder: area(1)},
	}
}

func TestAssess(t *testing.T) {
	for _, c := range []struct {
		name                   string
		machines               []string
		applied, wasted, short float64 // kg at 1 kg/m²
	}{
		{"by all, unnamed", nil, 700, 400, 200},
		{"by all, named", []string{"sprayer", "drill"}, 700, 400, 200},
		{"by the drill", []string{"drill"}, 400, 200, 200},
		{"by the sprayer", []string{"sprayer"}, 300, 100, 200},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := product(t, "50-0-0", "", "1 kg/m2", "2 EUR/kg")
			p.Machines = c.machines
			a := Reckon(pieces(), []Product{p}, nil).Accounts[0]
			assert.Equal(t, c.applied, *a.Applied.Mass)
			assert.Equal(t, c.wasted, *a.Wasted.Mass)
			assert.Equal(t, c.short, *a.Short.Mass)
			assert.Equal(t, c.applied/2, *a.Applied.N)
			assert.Equal(t, c.wasted/2, *a.Wasted.N)
			assert.Equal(t, c.short/2, *a.Short.N)
			assert.Equal(t, c.wasted*2, *a.Wasted.Cost)
			assert.Nil(t, a.Applied.Volume)
		})
	}
}

// When the regions are all there, the way over the regions and the sums of
// the map agree to the half tick.
func TestSweptByRegionsIsSweptBySums(t *testing.T) {
	m := pieces()
	swept, covered := sweptBy(m, carriers(m.Machines, &Product{}))
	m.Machines = append(m.Machines, machine.Machine{Name: "idle"})
	some, once := sweptBy(m, carriers(m.Machines, &Product{Machines: []string{"drill", "sprayer"}}))
	assert.Equal(t, []plane.Area{swept, covered}, []plane.Area{some, once})
}

func TestAssessVolumeWithoutDensity(t *testing.T) {
	p := product(t, "28-0-0", "", "10 L/ha", "800 USD/ton")
	p.Name = "solution"
	got := Reckon(pieces(), []Product{p}, nil)
	a := got.Accounts[0]
	assert.Nil(t, a.Applied.Mass)
	assert.Nil(t, a.Wasted.Mass)
	assert.Nil(t, a.Short.Mass)
	assert.Nil(t, a.Applied.N)
	assert.Nil(t, a.Wasted.Cost)
	assert.InDelta(t, 0.0007, *a.Applied.Volume, 1e-15) // 700 m² at 10 L/ha
	assert.Equal(t, []field.Warning{
		{Text: "product solution: the rate is by volume and there is no density, so masses are not known"},
		{Text: "product solution: price and rate are one by mass and one by volume and there is no density, so the cost is not known"},
	}, got.Unsaid)
}

func TestAssessPriceByVolume(t *testing.T) {
	p := product(t, "", "", "1 L/m2", "3 EUR/L")
	a := Reckon(pieces(), []Product{p}, nil).Accounts[0]
	assert.InDelta(t, 3*400.0, *a.Wasted.Cost, 1e-9)
}

// Alberta AgTech Centre overlap study, tables printed in Grainews, 20 Apr
// 2009: a 2640 ft square, a 55 ft seeder, two headland passes at each end, a
// constant overlap. The doubled ground and the cost by acre give the money.
func TestAlbertaOverlapMoney(t *testing.T) {
	for _, c := range []struct {
		overlap             string
		squareFeet, acres   float64
		full, middle, small float64 // at 86.44, 78.26 and 69.29 an acre
	}{
		{"1 ft", 121632, 2.7922865, 241.37, 218.52, 193.48},
		{"5 ft", 660800, 15.1698806, 1311.28, 1187.19, 1051.12},
	} {
		m := &coverage.Map{Totals: coverage.Totals{Totals: region.Totals{
			Swept:   squareMetres((2640*2640 + c.squareFeet) * quantity.Foot * quantity.Foot),
			Covered: squareMetres(2640 * 2640 * quantity.Foot * quantity.Foot),
		}}}
		p := product(t, "", "", "1 lb/ac", "")
		for price, want := range map[string]float64{"86.44 CAD/lb": c.full, "78.26 CAD/lb": c.middle, "69.29 CAD/lb": c.small} {
			v, err := quantity.Read(price, quantity.Price)
			require.NoError(t, err)
			p.Price = priceOf(v)
			a := Reckon(m, []Product{p}, nil).Accounts[0]
			assert.InDelta(t, c.acres, quantity.InPounds(*a.Wasted.Mass), 1e-7, c.overlap) // printed to 7 places
			assert.InDelta(t, want, *a.Wasted.Cost, 0.005, c.overlap)                      // printed in cents
		}
	}
}
