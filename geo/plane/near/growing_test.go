package near

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Law: points that were added one by one are found as those of a grid that was
// made of all of them.
func TestGrowingGridIsGridIndex(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	const cell = 12.5
	at := make([][2]float64, 500)
	growing := NewGrowingGrid(cell)
	for range growing.Around(0, 0) {
		t.Fatal("an empty grid yields a point")
	}
	for i := range at {
		at[i] = [2]float64{r.NormFloat64() * 60, r.NormFloat64() * 60}
		growing.Add(at[i][0], at[i][1], int32(i))
	}
	whole := NewGridIndex(cell, len(at), func(i int) (x, y float64) { return at[i][0], at[i][1] })
	found := 0
	for range 200 {
		x, y := r.NormFloat64()*70, r.NormFloat64()*70
		want, got := slices.Collect(whole.Around(x, y)), slices.Collect(growing.Around(x, y))
		if !slices.Equal(want, got) {
			t.Fatalf("around %g, %g: %v, want %v", x, y, got, want)
		}
		found += len(got)
	}
	if found == 0 {
		t.Fatal("no point was ever found")
	}
}
