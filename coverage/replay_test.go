package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
)

// ends are the knots of each pass: its start and its end.
func ends(m *coverage.Map) [][]plane.Distance {
	out := make([][]plane.Distance, len(m.Passes))
	for i := range out {
		out[i] = []plane.Distance{0, m.Passes[i].Length}
	}
	return out
}

// shifted moves every pass of m alike, in metres.
func shifted(m *coverage.Map, east, north float64) []whatif.Move {
	out := make([]whatif.Move, len(m.Passes))
	for i := range out {
		by := struct{ East, North plane.Distance }{plane.DistanceOf(east), plane.DistanceOf(north)}
		out[i] = whatif.Move{by, by}
	}
	return out
}

// A run that moves nothing is the map, but for thinning: 3 cm along the edges
// of a swath at most, and to either side.
func TestReplay(t *testing.T) {
	for seed := range uint64(6) {
		s := randomScene(seed)
		m := measure(t, s.Field, s.Machines, field.Options{})
		all := []bool{true, true}
		r := whatif.NewReplay(m, ends(m), nil, [][]bool{all, {true, false}})
		got := r.Run(nil)
		length := 0.0
		for i := range m.Passes {
			length += 2 * m.Passes[i].Length.Metres()
		}
		const most = 0.03
		for _, c := range []struct{ want, got plane.Area }{
			{m.Totals.Skip, got.Ground.Skip}, {m.Totals.Overlap, got.Ground.Overlap}, {m.Totals.Excess, got.Ground.Excess},
			{m.Totals.Swept, got.Ground.Swept}, {m.Totals.OverReachSwept, got.Ground.OverReachSwept},
		} {
			require.InDelta(t, c.want.SquareMetres(), c.got.SquareMetres(), most*length, "seed %d", seed)
		}
		assert.Equal(t, got.Ground.Swept-got.Ground.Covered, got.Wasted[0], "seed %d", seed)
		assert.Less(t, got.Wasted[1], got.Wasted[0], "seed %d", seed)
		assert.Equal(t, got, r.Run(shifted(m, 0, 0)), "seed %d", seed)
	}
}

// Moved east by 10 cm, lanes leave the first 10 cm of the field bare; the skip
// between two of them goes along with them. Moved apart, it grows by as much.
func TestReplayMoved(t *testing.T) {
	s := covertest.Lanes("0-5 6-11", 100)
	m := measure(t, s.Field, s.Machines, field.Options{})
	require.Greater(t, m.Skips[0].Area.SquareMetres(), 80.0)
	r := whatif.NewReplay(m, ends(m), []int{0}, nil)
	before := r.Run(nil)
	assert.InDelta(t, 1, before.Left[0], 0.01)
	const error = 1.5 // m²: where the second lane begins, off its line
	got := r.Run(shifted(m, 0.1, 0))
	assert.InDelta(t, before.Ground.Skip.SquareMetres()+10, got.Ground.Skip.SquareMetres(), error)
	assert.InDelta(t, before.Ground.OverReach.SquareMetres()+10, got.Ground.OverReach.SquareMetres(), error)
	assert.InDelta(t, 1, got.Left[0], 0.01)
	moves := shifted(m, 0, 0)
	moves[1] = shifted(m, 0.1, 0)[1]
	got = r.Run(moves)
	assert.InDelta(t, before.Ground.Skip.SquareMetres()+10, got.Ground.Skip.SquareMetres(), error)
	moves[1] = shifted(m, -1.5, 0)[1]
	got = r.Run(moves)
	assert.InDelta(t, before.Ground.Overlap.SquareMetres()+0.5*100, got.Ground.Overlap.SquareMetres(), 10*error)
	assert.Less(t, got.Left[0], 0.05)
}

func BenchmarkReplay(b *testing.B) {
	for _, w := range works("quarter", "sections") {
		m := laid(b, w.field, machine.Machines(w.machines), sweep.Sweep(machine.Machines(w.machines), w.passes), field.Options{})
		r := whatif.NewReplay(m, ends(m), nil, nil)
		b.Run(w.String(), func(b *testing.B) {
			for b.Loop() {
				require.Positive(b, r.Run(nil).Ground.Skip)
			}
		})
	}
}
