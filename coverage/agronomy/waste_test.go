package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// worked is a small made-up field, measured: two machines, headland rounds
// that close, and passes between them.
func worked(t *testing.T) *coverage.Map {
	t.Helper()
	s := covertest.Small(0.02, 3)
	half := s.Machines[0]
	half.Name = "second"
	half.Tracks = []coverage.Track{half.Tracks[0]}
	fixes := half.Tracks[0].Fixes
	half.Tracks[0].Fixes, s.Machines[0].Tracks[0].Fixes = fixes[len(fixes)/2:], fixes[:len(fixes)*2/3]
	s.Machines = append(s.Machines, half)
	m, err := coverage.Measure(s.Field, s.Machines, coverage.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, m.Overlaps)
	require.Positive(t, m.Ground.OverReach)
	return m
}

// The parts of a waste make the whole, in square ticks.
func TestWastePartsMakeTheWhole(t *testing.T) {
	m := worked(t)
	for _, carriers := range [][]string{nil, {m.Machines[0].Name}, {"second"}, {m.Machines[0].Name, "second"}} {
		p := product(t, "50-0-0", "", "1 kg/m2", "2 EUR/kg")
		p.Machines = carriers
		a := Assess(m, []Product{p}).Accounts[0]
		w := a.Waste
		causes, machines, passes := w.Slivers.Area+w.OverReach.Area, plane.Area(0), plane.Area(0)
		for i, c := range w.ByCause {
			causes += c.Area
			require.NotEmpty(t, c.Cause)
			require.True(t, i == 0 || w.ByCause[i-1].Area >= c.Area, "ranked")
		}
		for _, c := range w.ByMachine {
			machines += c.Area
		}
		for _, c := range w.ByPass {
			passes += c.Area
		}
		assert.Equal(t, w.Total.Area, causes, carriers)
		assert.Equal(t, w.Total.Area, machines, carriers)
		assert.Equal(t, w.Total.Area, passes, carriers)
		assert.InEpsilon(t, *a.Wasted, *w.Total.Mass, 1e-12)
		assert.InEpsilon(t, *a.WastedCost, *w.Total.Cost, 1e-12)
		if len(carriers) != 1 {
			assert.Equal(t, m.Ground.Swept-m.Ground.Covered, w.Total.Area)
			assert.Equal(t, m.Ground.Excess, w.Total.Area-w.OverReach.Area)
			assert.Equal(t, m.Ground.OverReachSwept, w.OverReach.Area)
		}
	}
}

// Who came first pays nothing: on the pieces of [pieces] the sprayer, the
// later of the two, wasted the piece that both covered.
func TestWasteIsTheLaterVisit(t *testing.T) {
	m := pieces()
	m.Overlaps = []coverage.OverlapPatch{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: coverage.OntoHeadland}}
	both := Assess(m, []Product{product(t, "10-20-30", "", "1 kg/m2", "2 EUR/kg")}).Accounts[0].Waste
	require.Len(t, both.ByCause, 1)
	assert.Equal(t, coverage.OntoHeadland, both.ByCause[0].Cause)
	assert.Equal(t, 100.0, *both.ByCause[0].Mass)
	assert.Equal(t, 200.0, *both.ByCause[0].Cost)
	assert.Equal(t, []float64{10, 20, 30}, []float64{*both.ByCause[0].N, *both.ByCause[0].Phosphate, *both.ByCause[0].Potash})
	assert.Equal(t, 300.0, *both.OverReach.Mass)
	// Outside, the drill and the sprayer; inside, the sprayer.
	assert.Equal(t, []PassShare{{1, both.ByPass[0].Amount}, {2, both.ByPass[1].Amount}}, both.ByPass)
	assert.Equal(t, 200.0, *both.ByPass[0].Mass)
	assert.Equal(t, 200.0, *both.ByPass[1].Mass)

	drill := product(t, "", "", "1 kg/m2", "")
	drill.Machines = []string{"drill"}
	w := Assess(m, []Product{drill}).Accounts[0].Waste
	assert.Empty(t, w.ByCause, "met the sprayer's ground, which got no such product")
	assert.Equal(t, 200.0, *w.OverReach.Mass)
	assert.Nil(t, w.OverReach.Cost)
	assert.Nil(t, w.OverReach.N)
}

func TestChangesAreRanked(t *testing.T) {
	m := pieces()
	m.Overlaps = []coverage.OverlapPatch{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: coverage.PointRows}}
	everywhere := product(t, "", "", "1 kg/m2", "2 EUR/kg")
	dear := product(t, "", "", "1 kg/m2", "100 EUR/kg")
	dear.Machines = []string{"sprayer"}

	c := Assess(m, []Product{everywhere, dear}).Changes
	require.Len(t, c, 2)
	assert.Equal(t, BeyondBoundary, c[0].Cause) // 300 m² at 2 and 100 m² at 100, against 100 m² at 2
	assert.Equal(t, 600+10000.0, *c[0].Cost)
	assert.Equal(t, "EUR", c[0].Currency)
	assert.Equal(t, squareMetres(400), c[0].Area)
	assert.Equal(t, coverage.PointRows, c[1].Cause)
	assert.Equal(t, 200.0, *c[1].Cost)

	dear.Price.Currency = "USD"
	c = Assess(m, []Product{everywhere, dear}).Changes
	assert.Nil(t, c[0].Cost, "money of two kinds does not add")
	assert.Equal(t, BeyondBoundary, c[0].Cause)

	assert.Empty(t, Assess(&coverage.Map{}, []Product{everywhere}).Changes)
}

// Skip cost = ground × (yield × price - products not spent there): the form is
// that of any enterprise budget. 45 bu/ac of 60 lb bushels (USDA official
// weight of wheat) at 6 USD/bu is 270 USD/ac; 90 lb/ac of seed at 0.25 USD/lb
// is 22.50.
func TestSkipLoss(t *testing.T) {
	m := &coverage.Map{Ground: coverage.Totals{Skip: squareMetres(3 * quantity.Acre), Remainder: squareMetres(quantity.Acre)}}
	seed := product(t, "", "", "90 lb/ac", "0.25 USD/lb")
	crop := &Crop{
		Yield: 45 * 60 * quantity.Pound / quantity.Acre,
		Price: &Price{PerKilogram: 6 / (60 * quantity.Pound), Currency: "USD"},
	}
	l := Assess(m, []Product{seed}).SkipLoss(crop)
	assert.InDelta(t, 540, *l.Value, 1e-6)
	assert.InDelta(t, 45, *l.Unspent, 1e-6)
	assert.InDelta(t, 495, *l.Net, 1e-6)
	assert.Empty(t, l.Unsaid)

	free := product(t, "", "", "20 lb/ac", "")
	free.Name = "tracer"
	l = Assess(m, []Product{seed, free}).SkipLoss(crop)
	assert.InDelta(t, 540, *l.Value, 1e-6)
	assert.Nil(t, l.Unspent)
	assert.Nil(t, l.Net)
	assert.Equal(t, []string{"tracer has no cost to set against the crop"}, l.Unsaid)
	assert.Nil(t, Assess(m, nil).SkipLoss(nil))
}
