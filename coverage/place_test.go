package coverage_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/cause"
	"lapwing/coverage/covertest"
)

// hours is a morning's start and so many hours more, for machines that work
// one after another.
func hours(n int) time.Time {
	return time.Date(2025, 9, 18, 6+n, 0, 0, 0, time.UTC)
}

func TestPlace(t *testing.T) {
	ring := covertest.Rectangle(-47, 3, 47, 97)
	for _, c := range []struct {
		causeCase
		pass  int
		along float64 // m
		from  string
		side  string
	}{
		// A shut section, 40 m from the south end of the fifth pass, on its left.
		{causeCase{"left of a pass", stubble, []*covertest.Path{together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 88, shut: 1, from: 39.4, to: 40.6}})}, -2.5, 46, cause.Plugged},
			5, 40, "south", "left"},
		// The same place of a pass driven south: 40 m from its north end.
		{causeCase{"driven south", stubble, []*covertest.Path{together(lanes(-5.6, 5.6), headlands, []run{{x: 0, y: 94, heading: 180, length: 88, shut: 1, from: 39.4, to: 40.6}})}, 2.5, 54, cause.Plugged},
			5, 40, "north", "left"},
		{causeCase{"in the middle of the bar", stubble, []*covertest.Path{together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 88, shut: 1<<2 | 1<<3, from: 59, to: 61}})}, 0, 66, cause.Plugged},
			5, 28, "north", ""},
		{causeCase{"before its start", stubble, []*covertest.Path{together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 14, length: 80}})}, 0, 10, cause.LoweredLate},
			5, 0, "south", ""},
		{causeCase{"the later of two", stubble, []*covertest.Path{together(headlands, lanes(-6), []run{{x: 0, y: 6, length: 91}})}, 0, 95, cause.OntoHeadland},
			4, 1.6, "north", ""},
		{causeCase{"from the north-east", stubble, []*covertest.Path{runs(run{x: 0, y: 20, heading: 45, length: 60, shut: 1 << 5, from: 49.4, to: 50.6}, run{x: 4, y: 16, heading: 45, length: 60})}, 50*0.70711 + 2.5*0.70711, 20 + 50*0.70711 - 2.5*0.70711, cause.Plugged},
			1, 10, "north-east", "right"},
		// A round begins and ends in the south: it is named as seen from the north.
		{causeCase{"on a round", stubble, []*covertest.Path{covertest.NewPath(9).Round(ring, 10, 4)}, 2, 3, cause.RoundClosing},
			1, 2, "south", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			cause, got, _ := patchAt(t, c.measure(t), c.x, c.y)
			assert.Equal(t, c.want, cause)
			assert.Equal(t, c.pass, got.Pass)
			assert.InDelta(t, c.along, got.Along.Metres(), 0.5, "along")
			assert.Equal(t, c.from, got.From)
			assert.Equal(t, c.side, got.Side)
		})
	}
}

// A headland with no pass beside it has no place along one.
func TestPlaceOfNoPass(t *testing.T) {
	c := causeCase{"one pass far inside", stubble, []*covertest.Path{runs(run{x: 0, y: 30, length: 40})}, -48, 50, cause.BoundaryEdge}
	why, got, _ := patchAt(t, c.measure(t), c.x, c.y)
	assert.Equal(t, c.want, why)
	assert.Equal(t, cause.Place{}, got)
}
