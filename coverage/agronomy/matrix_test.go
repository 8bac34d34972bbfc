package agronomy

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// The made-up field wastes 100 m² where its swaths lap and 300 m² outside. Two
// products of it have nitrogen, one is known by its volume only.
func TestMatrix(t *testing.T) {
	seed := product(t, "", "", "1 kg/m2", "2 EUR/kg")
	seed.Name = "seed"
	urea := product(t, "46-0-0", "", "2 kg/m2", "1 EUR/kg")
	urea.Name = "urea"
	mono := product(t, "11-52-0", "", "1 kg/m2", "")
	mono.Name = "phosphate"
	liquid := product(t, "28-0-0", "", "1 gal/ac", "")
	liquid.Name = "solution"
	fields := [][]Tally{tallied(cause.PointRows, seed, urea, mono), tallied(cause.Turn, urea, liquid), tallied(cause.Turn, seed)}
	require.Equal(t, []Measure{
		{Nutrient: "N"}, {Nutrient: "P2O5"}, {Product: "seed"}, {Product: "urea"}, {Product: "phosphate"}, {Product: "solution", ByVolume: true},
	}, Measures(fields))
	assert.Equal(t, []string{"solution"}, Unknown(fields), "no density, so its nitrogen is not known")

	areas := []plane.Area{squareMetres(1000), squareMetres(2000), squareMetres(500)}
	n := NewMatrix(Measure{Nutrient: "N"}, fields, areas)
	require.Equal(t, []cause.OverlapCause{BeyondBoundary, cause.PointRows, cause.Turn}, n.Causes, "the worst first")
	require.Len(t, n.Rows, 2, "the third field has no nitrogen")
	perMetre := 2*0.46 + 0.11
	assert.InDelta(t, 100*perMetre, n.Rows[0].ByCause[1], 1e-9)
	assert.InDelta(t, 300*perMetre, n.Rows[0].ByCause[0], 1e-9)
	assert.InDelta(t, 400*perMetre, n.Rows[0].All, 1e-9)
	assert.InDelta(t, 400*2*0.46/2000, n.Rows[1].PerArea(), 1e-12)
	total := n.Total(func(*MatrixRow) bool { return true })
	for _, row := range append(n.Rows, total) {
		sum := row.Slivers
		for _, v := range row.ByCause {
			sum += v
		}
		assert.InDelta(t, row.All, sum, 1e-9)
	}
	assert.InDelta(t, n.Rows[0].All+n.Rows[1].All, total.All, 1e-9)
	assert.Equal(t, squareMetres(3000), total.Area)
}

// Within a field all products are off by one error, so that the ends of their
// intervals add; fields are off by half of it alike, and by half by themselves.
func TestSumLikely(t *testing.T) {
	tally := func(name string, low, middle, high float64) Tally {
		amount := func(v float64) Amount { return Amount{Area: plane.SquareMetre, N: &v} }
		return Tally{Product: name, Applied: amount(100), Wasted: amount(10), Likely: &Interval{amount(low), amount(middle), amount(high)}}
	}
	n := Measure{Nutrient: "N"}
	one, some := n.Sum([][]Tally{{tally("a", 5, 8, 12), tally("b", 1, 2, 3)}})
	require.True(t, some)
	assert.Equal(t, Sum{200, 20, &Span{6, 10, 15}}, one)
	assert.Equal(t, 10.0, one.Best())
	two, _ := n.Sum([][]Tally{{tally("a", 5, 8, 12)}, {tally("a", 4, 8, 11)}})
	off := math.Sqrt(31)
	assert.Equal(t, Sum{200, 20, &Span{16 - off, 16, 16 + off}}, two, "3 and 4 off make √31; so do 4 and 3")
	unsure := tally("a", 1, 2, 3)
	unsure.Likely = nil
	three, _ := n.Sum([][]Tally{{tally("a", 5, 8, 12)}, {unsure}})
	assert.Nil(t, three.Likely, "not looked into for all of it")
	assert.Equal(t, 20.0, three.Best())
	_, some = n.Sum([][]Tally{{}})
	assert.False(t, some)
}

func TestMatrixTotal(t *testing.T) {
	m := &Matrix{Causes: []cause.OverlapCause{cause.PointRows, BeyondBoundary}, Rows: []MatrixRow{
		{Field: 0, Area: 100 * plane.SquareMetre, ByCause: []float64{4, 1}, Slivers: 0.5, All: 5.5},
		{Field: 1, Area: 900 * plane.SquareMetre, ByCause: []float64{50, 60}, Slivers: 70, All: 180},
		{Field: 2, Area: 300 * plane.SquareMetre, ByCause: []float64{2, 0}, Slivers: 0.25, All: 2.25},
	}}
	total := m.Total(func(r *MatrixRow) bool { return r.Field != 1 })
	assert.Equal(t, MatrixRow{Area: 400 * plane.SquareMetre, ByCause: []float64{6, 1}, Slivers: 0.75, All: 7.75}, total)
	assert.InDelta(t, 7.75/400, total.PerArea(), 1e-12)
}
