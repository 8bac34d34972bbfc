package agronomy

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// tallied is the tallies of the made-up field [pieces], with both machines'
// overlap given a cause.
func tallied(why cause.OverlapCause, products ...Product) []Tally {
	m := pieces()
	m.Overlaps = []cause.Overlap{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: why}}
	return Reckon(m, products, nil).Tallies()
}

// The tallies of several fields add up, and their parts make the whole.
func TestTalliesTogether(t *testing.T) {
	seed := product(t, "", "", "1 kg/m2", "2 EUR/kg")
	seed.Name = "seed"
	urea := product(t, "46-0-0", "", "2 kg/m2", "1 EUR/kg")
	urea.Name = "urea"
	all := Together(tallied(cause.PointRows, seed, urea), tallied(cause.Turn, urea), tallied(cause.PointRows, urea, seed))
	require.Len(t, all, 2)
	assert.Equal(t, "seed", all[0].Product)
	assert.Equal(t, 2*700.0, *all[0].Applied.Mass)
	assert.Equal(t, 2*400.0, *all[0].Wasted.Mass)
	assert.Equal(t, 2*800.0, *all[0].Wasted.Cost)
	assert.Equal(t, 3*400*2*0.46, *all[1].Wasted.N)
	assert.Equal(t, 3*700*2.0, *all[1].Applied.Cost)
	for _, tally := range all {
		sum := tally.Slivers.Area
		for _, c := range tally.Causes() {
			sum += c.Area
		}
		assert.Equal(t, tally.Wasted.Area, sum, tally.Product)
	}
	require.Len(t, all[1].ByCause, 2)
	assert.Equal(t, squareMetres(100), all[1].ByCause[1].Area)
	assert.Equal(t, cause.Turn, all[1].ByCause[1].Cause)
	require.Len(t, all[0].ByCause, 1)
	assert.Equal(t, 200.0, *all[0].ByCause[0].Mass)
	assert.Equal(t, cause.PointRows, all[1].ByCause[0].Cause, "two fields of it against one")
	assert.Equal(t, squareMetres(200), all[1].ByCause[0].Area)
	assert.Equal(t, BeyondBoundary, all[1].Causes()[0].Cause)

	worst := Worst(all)
	assert.Equal(t, BeyondBoundary, worst[0].Cause)
	assert.Equal(t, 2*300*2+3*300*2*1.0, *worst[0].Cost)
	assert.Equal(t, 3*300*2*0.46, worst[0].N)
}

// The share is that of the masses, which the logs may tell, or else that of the
// areas.
func TestWastedShare(t *testing.T) {
	applied, wasted, none := 50.0, 10.0, 0.0
	amount := func(m2 float64, mass *float64) Amount { return Amount{Area: squareMetres(m2), Mass: mass} }
	for _, c := range []struct {
		applied, wasted Amount
		want            float64
	}{
		{amount(100, &applied), amount(40, &wasted), 0.2},
		{amount(100, nil), amount(40, &wasted), 0.4},
		{amount(100, &applied), amount(40, nil), 0.4},
		{amount(100, &none), amount(40, &none), 0.4},
	} {
		got := (&Tally{Applied: c.applied, Wasted: c.wasted}).WastedShare()
		require.NotNil(t, got)
		assert.InDelta(t, c.want, *got, 1e-12)
	}
	assert.Nil(t, (&Tally{}).WastedShare(), "nothing was applied")
}

// Products of one name in two currencies stay apart, and a price that is
// missing on one field is missing on both.
func TestTalliesThatDoNotAdd(t *testing.T) {
	euro := product(t, "", "", "1 kg/m2", "2 EUR/kg")
	dollar := product(t, "", "", "1 kg/m2", "2 USD/kg")
	free := product(t, "", "", "1 kg/m2", "")
	all := Together(tallied(cause.Turn, euro), tallied(cause.Turn, dollar), tallied(cause.Turn, free))
	assert.Len(t, all, 3)
	for _, c := range Worst(all) {
		assert.Nil(t, c.Cost, "money of two kinds does not add")
	}
	x, y := 1.0, 2.0
	known, unknown := Amount{Area: plane.SquareMetre, Mass: &x, Cost: &y}, Amount{Area: plane.SquareMetre, Mass: &x}
	sum := known.Plus(unknown)
	assert.Equal(t, 2.0, *sum.Mass)
	assert.Nil(t, sum.Cost)
	assert.Equal(t, known, known.Plus(Amount{}), "nothing at all takes nothing away")
	assert.Equal(t, known, Amount{}.Plus(known))
	assert.Empty(t, Worst(nil))
}

// An interval of ground is one of product; over two fields a
// quarter of the squares of what the ends stand off adds as if it were all one field's,
// and the rest by squares: 3 and 4 make √(3/4 × 25 + 1/4 × 49) = √31.
func TestSpans(t *testing.T) {
	urea := product(t, "50-0-0", "", "1 kg/m2", "2 EUR/kg")
	m := pieces() // 400 m² wasted
	m.Overlaps = []cause.Overlap{{Region: 3, Area: m.Regions[3].Area, Depth: 2, Cause: cause.Turn}}
	acc := Reckon(m, []Product{urea}, nil).Accounts[0]
	one, two := acc.Interval(397, 400, 406), acc.Interval(396, 400, 408)
	assert.InDelta(t, 397, *one.Low.Mass, 1e-9)
	assert.InDelta(t, 203, *one.High.N, 1e-9)
	sum := SumOf([]Interval{one, two})
	assert.InDelta(t, 800, *sum.Middle.Mass, 1e-9)
	assert.InDelta(t, 800-math.Sqrt(31), *sum.Low.Mass, 1e-9)
	assert.InDelta(t, 800+2*math.Sqrt(31), *sum.High.Mass, 1e-9)
	assert.InDelta(t, 2*(800+2*math.Sqrt(31)), *sum.High.Cost, 1e-9)
	assert.Equal(t, squareMetres(800-math.Sqrt(31)), sum.Low.Area)
	assert.Nil(t, sum.Low.Volume)

	// However many fields there are, half of a field's share is left: a hundred equal
	// ones within 1 % each are together within √(3/4 / 100 + 1/4) % and not 0.1 %.
	many := make([]Interval, 100)
	for i := range many {
		many[i] = acc.Interval(396, 400, 404)
	}
	sum100 := SumOf(many)
	assert.InDelta(t, 0.01*math.Sqrt(0.0075+0.25), *sum100.High.Mass / *sum100.Middle.Mass - 1, 1e-9)

	first, second := []Tally{{Likely: &one}}, []Tally{{Likely: &two}}
	assert.Equal(t, sum, *Together(first, second)[0].Likely)
	second[0].Likely = nil
	assert.Nil(t, Together(first, second)[0].Likely, "not known of one field")

	none := Account{Product: urea}
	assert.InDelta(t, 5, *none.Interval(0, 2, 5).High.Mass, 1e-9, "where nothing was measured, at the rate")
}
