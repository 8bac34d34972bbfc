package agronomy

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
)

// Two machines, a lane of 6 m each. The log of b says that nothing came between
// 40 and 80 m, 240 m²; its tank, not a's, was dry there.
func TestDryByTheLog(t *testing.T) {
	s := covertest.Lanes("a0-6 b6-12", 100)
	for k := range s.Machines {
		track := &s.Machines[k].Tracks[0]
		track.Rates = [][]float32{make([]float32, len(track.Fixes))}
		for i := range track.Fixes {
			track.Fixes[i].Row = int32(i)
			track.Rates[0][i] = 1
			if _, y := s.Field.Frame.Metres(track.Fixes[i].At); k == 1 && y > 39.5 && y < 79.5 {
				track.Rates[0][i] = 0
			}
		}
	}
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	p := product(t, "", "", "1 L/m2", "")
	tank := 10.0
	p.Tank, p.Fill, p.RateColumn = &tank, 1, 1
	a := Reckon(m, []Product{p}, nil).Accounts[0]
	const grid = 0.05 // m²: as in TestWasteOfLoggedRates
	require.Len(t, a.Logged.Dry, 1)
	dry := a.Logged.Dry[0]
	assert.Equal(t, 1, dry.Machine)
	assert.InDelta(t, 6*40, dry.Area, grid)
	assert.InDelta(t, 40, (dry.To.Along - dry.From.Along).Metres(), 0.01)

	require.Len(t, a.Tanks, 2)
	for _, l := range a.Tanks {
		assert.Equal(t, ByRate, l.DryBy)
		require.Len(t, l.Fills, 1)
	}
	assert.Empty(t, a.Tanks[0].Dry)
	assert.Equal(t, []Stretch{dry.Stretch}, a.Tanks[1].Dry)
	whole := m.Passes[0].Swept.SquareMetres()
	assert.InDelta(t, tank-whole/1000, a.Tanks[0].Fills[0].Left, 1e-9)
	assert.InDelta(t, tank-(whole-240)/1000, a.Tanks[1].Fills[0].Left, grid/1000)
}
