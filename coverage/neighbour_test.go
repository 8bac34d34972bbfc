package coverage_test

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// lapError is how far a lap may be off on straight noiseless lanes: bar ends
// are rounded to the tick, poses too, and headings to far less.
const lapError = 1e-3 // m

// Lanes are driven north and south in turn, so that the first has its
// neighbour on its right and the second too, as seen by its driver.
func TestNeighbours(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		name, lanes string
		pass        int
		left, right float64 // m
	}{
		{"a gap on the right", "0-5 6-11", 1, none, -1},
		{"the same gap, driven south", "0-5 6-11", 2, none, -1},
		{"a lap", "0-5 4.8-9.8", 1, none, 0.2},
		{"one on either side", "0-5 4.8-9.8 10-15", 2, -0.2, 0.2},
		{"on the left", "0-5 4.8-9.8 10-15", 3, -0.2, none},
		{"of another machine, of another width", "a0-5 b4.5-12", 2, 0.5, none},
		{"worked again: the next lane is the neighbour", "0-5 0.1-5.1 5.2-10.2", 1, none, -0.2},
		{"a missed pass between", "0-5 10-15", 1, none, none},
		{"alone", "0-5", 1, none, none},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := covertest.Lanes(c.lanes, 100)
			m := measure(t, s.Field, s.Machines, field.Options{})
			found := m.Neighbours(c.pass)
			var total plane.Distance
			for _, b := range found {
				total += b.Length
				if along := b.Along.Metres(); along < 12 || along > 88 {
					continue // it gets there from another lane, and may stop short
				}
				for _, side := range []struct {
					want float64
					got  beside.Lap
				}{{c.left, b.Left}, {c.right, b.Right}} {
					if math.IsNaN(side.want) {
						assert.Zero(t, side.got.Pass)
						continue
					}
					assert.NotZero(t, side.got.Pass)
					assert.NotEqual(t, c.pass, side.got.Pass)
					assert.InDelta(t, side.want, side.got.By.Metres(), lapError)
				}
				require.False(t, t.Failed(), "at %v m", b.Along.Metres())
			}
			assert.InDelta(t, float64(m.Passes[c.pass-1].Length), float64(total), 1)
			assert.True(t, reflect.DeepEqual(found, m.AllNeighbours()[c.pass-1]))
		})
	}
}

// A neighbour that ran only half the way is beside that half; one that crosses
// is not beside at all.
func TestNeighboursBesidePart(t *testing.T) {
	c := causeCase{"", stubble, []*covertest.Path{runs(
		run{x: 0, y: 5, length: 80},
		run{x: 5.8, y: 5, length: 40},
		run{x: -30, y: 20, heading: 90, length: 60},
	)}, 0, 0, ""}
	m := c.measure(t)
	width := m.Machines[0].Implement.Width.Metres()
	for _, b := range m.Neighbours(1) {
		along := b.Along.Metres()
		assert.Zero(t, b.Left.Pass)
		switch {
		case along < 39:
			assert.Equal(t, 2, b.Right.Pass, "at %v m", along)
			assert.InDelta(t, width-5.8, b.Right.By.Metres(), lapError)
		case along > 42:
			assert.Zero(t, b.Right.Pass, "at %v m", along)
		}
	}
	for _, b := range m.Neighbours(3) {
		assert.Zero(t, b.Left.Pass)
		assert.Zero(t, b.Right.Pass)
	}
}

// Beside the first lane, and the last, is the field's edge.
func TestNeighboursOfEdge(t *testing.T) {
	s := covertest.Lanes("0-9.9: 0.3-5.3 5.1-10.1", 100)
	m := measure(t, s.Field, s.Machines, field.Options{})
	for _, c := range []struct {
		pass int
		side func(beside.Stretch) beside.Lap
		by   float64
	}{
		{1, func(b beside.Stretch) beside.Lap { return b.Left }, -0.3},
		{2, func(b beside.Stretch) beside.Lap { return b.Left }, 0.2},
	} {
		for _, b := range m.Neighbours(c.pass) {
			if along := b.Along.Metres(); along < 12 || along > 88 {
				continue
			}
			lap := c.side(b)
			require.True(t, lap.Edge && lap.Pass == 0, "pass %d: %+v", c.pass, lap)
			require.InDelta(t, c.by, lap.By.Metres(), lapError)
		}
	}
}

// Working round and round, a pass is its own neighbour: each round has the one
// before on its outer side and the one after on its inner, on the straights.
func TestNeighboursRoundAndRound(t *testing.T) {
	ground := covertest.Rectangle(-100, -75, 100, 75)
	s := covertest.NewScene("round and round", ground)
	s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(6, 0, 1), Speed: 2, Rate: 5, Heading: true,
		Path: covertest.NewPath(7).RoundAndRound(ground.Inset(3), 5.7, 8, 20, 3),
	})
	m := measure(t, s.Field, s.Machines, field.Options{})
	require.Len(t, m.Passes, 1)
	var inner, outer int
	for _, b := range m.Neighbours(1) {
		for _, side := range []struct {
			lap  beside.Lap
			seen *int
		}{{b.Left, &inner}, {b.Right, &outer}} {
			if side.lap.Pass == 1 && math.Abs(side.lap.By.Metres()-0.3) < 0.01 {
				*side.seen++
			}
		}
	}
	// Of some 600 m a round, half and more is straight; two rounds have one on
	// each side.
	assert.Greater(t, inner, 600)
	assert.Greater(t, outer, 600)
}

func BenchmarkAllNeighbours(b *testing.B) {
	s := covertest.QuarterSection(10, 0.02, 1)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(b, err)
	for b.Loop() {
		require.Len(b, m.AllNeighbours(), len(m.Passes))
	}
}
