package agronomy

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

// worked is a small made-up field, measured: two machines, headland rounds
// that close, and passes between them.
func worked(t *testing.T) *coverage.Map {
	t.Helper()
	s := covertest.Small(0.02, 3)
	half := s.Machines[0]
	half.Name = "second"
	half.Tracks = []machine.Track{half.Tracks[0]}
	fixes := half.Tracks[0].Fixes
	half.Tracks[0].Fixes, s.Machines[0].Tracks[0].Fixes = fixes[len(fixes)/2:], fixes[:len(fixes)*2/3]
	s.Machines = append(s.Machines, half)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, m.Overlaps)
	require.Positive(t, m.Totals.OverReach)
	return m
}

// The parts of a waste make the whole, in square ticks.
func TestWastePartsMakeTheWhole(t *testing.T) {
	m := worked(t)
	for _, carriers := range [][]string{nil, {m.Machines[0].Name}, {"second"}, {m.Machines[0].Name, "second"}} {
		p := product(t, "50-0-0", "", "1 kg/m2", "2 EUR/kg")
		p.Machines = carriers
		a := Reckon(m, []Product{p}, nil).Accounts[0]
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
		assert.Equal(t, a.Wasted.Area, causes, carriers)
		assert.Equal(t, a.Wasted.Area, machines, carriers)
		assert.Equal(t, a.Wasted.Area, passes, carriers)
		if len(carriers) != 1 {
			assert.Equal(t, m.Totals.Swept-m.Totals.Covered, a.Wasted.Area)
			assert.Equal(t, m.Totals.Excess, a.Wasted.Area-w.OverReach.Area)
			assert.Equal(t, m.Totals.OverReachSwept, w.OverReach.Area)
		}
	}
}

// Three lanes of 6 m and 100 m, 5 m apart, on a field 15 m wide. The third is
// another machine's. The logs say 1.5, 1.25 and 0.5 times the rate of 1 kg/m².
//
//	x 0    5 6    10 11   15 16
//	  | 1st |1 2| 2nd |2 3| 3rd| outside
//
// By hand, in kg:
//
//	applied  600 × (1.5 + 1.25 + 0.5)  = 1950 on 1800 m²
//	2nd      100 × 1.25 on the 1st     =  125 on  100 m²
//	3rd      100 × 0.5  on the 2nd     =   50 on  100 m²
//	         100 × 0.5  outside        =   50 on  100 m²
//	wasted                               225 on  300 m²
func TestWasteOfLoggedRates(t *testing.T) {
	s := covertest.NewScene("three lanes", covertest.Rectangle(0, 0, 15, 100))
	begin := time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)
	for day, lanes := range [][]float64{{3, 8}, {13}} {
		path := &covertest.Path{}
		for _, x := range lanes {
			// Fixes are a metre apart; the first at work is at 0 m, the last at
			// 100 m.
			path.Jump(covertest.Stance{XY: covertest.XY{X: x, Y: -10}}).Straight(9.5).On().Straight(101).Off().Straight(9.5).Stand(60)
		}
		name := []string{"a", "b"}[day]
		implement := machine.Implement{Name: name, Width: 6 * plane.Metre, Sections: machine.EqualSections(6*plane.Metre, 1)}
		s.Drive(covertest.Rig{Name: name, Implement: implement, Path: path, Begin: begin.AddDate(0, 0, day), Speed: 2, Rate: 2, Heading: true})
	}
	for k := range s.Machines {
		track := &s.Machines[k].Tracks[0]
		track.Rates = [][]float32{make([]float32, len(track.Fixes))}
		for i := range track.Fixes {
			track.Fixes[i].Row = int32(i)
			switch x, _ := s.Field.Frame.Metres(track.Fixes[i].At); {
			case x < 5:
				track.Rates[0][i] = 1.5
			case x < 10:
				track.Rates[0][i] = 1.25
			default:
				track.Rates[0][i] = 0.5
			}
		}
	}
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	require.Len(t, m.Passes, 3)
	p := product(t, "50-20-10", "2 kg/L", "1 kg/m2", "2 EUR/kg")
	p.RateColumn = 1
	a := Reckon(m, []Product{p}, nil).Accounts[0]

	const grid = 0.05 // kg: edges of 212 m, rounded by 0.071 mm, at up to 1.5 kg/m² (geo/arrange/doc.go)
	is := func(kg, m2 float64, got Amount) {
		t.Helper()
		assert.InDelta(t, m2, got.Area.SquareMetres(), grid)
		assert.InDelta(t, kg, *got.Mass, grid)
		assert.InDelta(t, kg/2000, *got.Volume, grid/2000)
		assert.InDelta(t, kg*0.5, *got.N, grid)
		assert.InDelta(t, kg*0.2, *got.Phosphate, grid)
		assert.InDelta(t, kg*0.1, *got.Potash, grid)
		assert.InDelta(t, kg*2, *got.Cost, 2*grid)
	}
	is(1950, 1800, a.Applied)
	is(225, 300, a.Wasted)
	is(0, 0, a.Short)
	assert.InDelta(t, 150, a.Basis.Applied.Beyond, grid)
	assert.InDelta(t, -75, a.Basis.Wasted.Beyond, grid)
	is(50, 100, a.Waste.OverReach)
	is(0, 0, a.Waste.Slivers)
	require.Len(t, a.Waste.ByPass, 2, "the first came first, and stayed inside")
	assert.Equal(t, 3, a.Waste.ByPass[0].Pass)
	is(100, 200, a.Waste.ByPass[0].Amount)
	is(125, 100, a.Waste.ByPass[1].Amount)
	require.Len(t, a.Waste.ByMachine, 2)
	assert.Equal(t, 1, a.Waste.ByMachine[0].Machine)
	is(100, 200, a.Waste.ByMachine[0].Amount)
	is(125, 100, a.Waste.ByMachine[1].Amount)
	require.Len(t, a.Waste.ByCause, 2)
	for _, c := range a.Waste.ByCause {
		if c.Cause == cause.BetweenMachines {
			is(50, 100, c.Amount)
		} else {
			is(125, 100, c.Amount)
		}
	}
	assert.NotEqual(t, a.Waste.ByCause[0].Cause, a.Waste.ByCause[1].Cause)
	assert.InDelta(t, 1800, a.Logged.Area, grid)
	assert.InDelta(t, 1950, a.Logged.Put, grid)
	assert.InDelta(t, 1950.0/1800, a.Logged.Mean(), grid/1800)

	b := p
	b.Machines = []string{"b"} // whose first visit is free on the second lane
	a = Reckon(m, []Product{b}, nil).Accounts[0]
	is(300, 600, a.Applied)
	is(50, 100, a.Wasted)
	is(50, 100, a.Waste.OverReach)
}

// Who came first pays nothing: on the pieces of [pieces] the sprayer, the
// later of the two, wasted the piece that both covered.
func TestWasteIsTheLaterVisit(t *testing.T) {
	m := pieces()
	m.Overlaps = []cause.Overlap{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: cause.OntoHeadland}}
	both := Reckon(m, []Product{product(t, "10-20-30", "", "1 kg/m2", "2 EUR/kg")}, nil).Accounts[0].Waste
	require.Len(t, both.ByCause, 1)
	assert.Equal(t, cause.OntoHeadland, both.ByCause[0].Cause)
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
	w := Reckon(m, []Product{drill}, nil).Accounts[0].Waste
	assert.Empty(t, w.ByCause, "met the sprayer's ground, which got no such product")
	assert.Equal(t, 200.0, *w.OverReach.Mass)
	assert.Nil(t, w.OverReach.Cost)
	assert.Nil(t, w.OverReach.N)
}

func TestChangesAreRanked(t *testing.T) {
	m := pieces()
	m.Overlaps = []cause.Overlap{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: cause.PointRows}}
	everywhere := product(t, "", "", "1 kg/m2", "2 EUR/kg")
	dear := product(t, "", "", "1 kg/m2", "100 EUR/kg")
	dear.Machines = []string{"sprayer"}

	c := Reckon(m, []Product{everywhere, dear}, nil).Changes
	require.Len(t, c, 2)
	assert.Equal(t, BeyondBoundary, c[0].Cause) // 300 m² at 2 and 100 m² at 100, against 100 m² at 2
	assert.Equal(t, 600+10000.0, *c[0].Cost)
	assert.Equal(t, "EUR", c[0].Currency)
	assert.Equal(t, squareMetres(400), c[0].Area)
	assert.Equal(t, cause.PointRows, c[1].Cause)
	assert.Equal(t, 200.0, *c[1].Cost)

	// Money decides, and not ground: on the other 200 m² beyond the boundary the drill has the dear
	// one, and the sprayer laps itself on 100 m². Where the money is the same, ground does.
	cheap := product(t, "", "", "1 kg/m2", "1 EUR/kg")
	cheap.Machines = []string{"drill"}
	m.Regions[3].Swaths = []int{1, 1}
	m.Regions[5].Swaths, m.Regions[5].Depth = []int{0}, 1
	c = Reckon(m, []Product{cheap, dear}, nil).Changes
	require.Len(t, c, 2)
	assert.Equal(t, cause.PointRows, c[0].Cause, "100 m² at 100 against 200 m² at 1")
	assert.Equal(t, 100*100.0, *c[0].Cost)
	assert.Equal(t, 200.0, *c[1].Cost)
	dear.Price.PerKilogram = 2
	c = Reckon(m, []Product{cheap, dear}, nil).Changes
	assert.Equal(t, *c[0].Cost, *c[1].Cost)
	assert.Equal(t, BeyondBoundary, c[0].Cause, "200 EUR each: 200 m² come before 100")
	m = pieces()
	m.Overlaps = []cause.Overlap{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: cause.PointRows}}
	dear.Price.PerKilogram = 100

	dear.Price.Currency = "USD"
	c = Reckon(m, []Product{everywhere, dear}, nil).Changes
	assert.Nil(t, c[0].Cost, "money of two kinds does not add")
	assert.Equal(t, BeyondBoundary, c[0].Cause)

	assert.Empty(t, Reckon(&coverage.Map{}, []Product{everywhere}, nil).Changes)

	// A product priced by mass whose mass is not known takes no part in the
	// ranking by money, and its currency none in what is mixed.
	unknown := product(t, "", "", "1 L/m2", "5 USD/kg")
	c = Reckon(m, []Product{everywhere, unknown}, nil).Changes
	assert.Equal(t, 600.0, *c[0].Cost)
	assert.Equal(t, "EUR", c[0].Currency)
	assert.Equal(t, squareMetres(600), c[0].Area, "its ground counts")
	only := Reckon(m, []Product{unknown}, nil).Changes
	assert.Nil(t, only[0].Cost)
	assert.Equal(t, BeyondBoundary, only[0].Cause, "300 m² against 100")
}

// Skip cost = ground × (yield × price - products not spent there): the form is
// that of any enterprise budget. 45 bu/ac of 60 lb bushels (USDA official
// weight of wheat) at 6 USD/bu is 270 USD/ac; 90 lb/ac of seed at 0.25 USD/lb
// is 22.50.
func TestSkipLoss(t *testing.T) {
	m := &coverage.Map{Totals: coverage.Totals{Totals: region.Totals{Skip: squareMetres(3 * quantity.Acre)}, Remainder: squareMetres(quantity.Acre)}}
	seed := product(t, "", "", "90 lb/ac", "0.25 USD/lb")
	crop := &Crop{
		Yield: 45 * 60 * quantity.Pound / quantity.Acre,
		Price: &Price{PerKilogram: 6 / (60 * quantity.Pound), Currency: "USD"},
	}
	l := Reckon(m, []Product{seed}, crop).Loss
	assert.InDelta(t, 540, *l.Value, 1e-6)
	assert.InDelta(t, 45, *l.Unspent, 1e-6)
	assert.InDelta(t, 495, *l.Net, 1e-6)
	assert.Empty(t, l.Unsaid)

	free := product(t, "", "", "20 lb/ac", "")
	free.Name = "tracer"
	l = Reckon(m, []Product{seed, free}, crop).Loss
	assert.InDelta(t, 540, *l.Value, 1e-6)
	assert.Nil(t, l.Unspent)
	assert.Nil(t, l.Net)
	assert.Equal(t, []string{"tracer has no cost to set against the crop"}, l.Unsaid)
	assert.Nil(t, Reckon(m, nil, nil).Loss)

	// Without the crop's price only its mass is known, and what was not spent.
	unpriced := *crop
	unpriced.Price = nil
	l = Reckon(m, []Product{seed}, &unpriced).Loss
	assert.InDelta(t, 2*45*60, quantity.InPounds(l.Crop), 1e-6)
	assert.Nil(t, l.Value)
	assert.InDelta(t, 45, *l.Unspent, 1e-6)
	assert.Nil(t, l.Net)
	assert.Equal(t, []string{"the crop has no price"}, l.Unsaid)

	foreign := product(t, "", "", "90 lb/ac", "0.25 CAD/lb")
	foreign.Name = "seed"
	l = Reckon(m, []Product{foreign}, crop).Loss
	assert.InDelta(t, 540, *l.Value, 1e-6)
	assert.Nil(t, l.Unspent)
	assert.Equal(t, []string{"seed is priced in CAD, the crop in USD"}, l.Unsaid)
}
