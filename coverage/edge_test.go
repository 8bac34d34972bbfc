package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// toCovered returns how far a place is from covered ground, by going through
// all edges of it. The place is on the boundary.
func toCovered(m *coverage.Map, x, y float64) float64 {
	nearest := math.Inf(1)
	for _, r := range m.Regions {
		if r.Kind != region.Once && r.Kind != region.Overlap && r.Kind != region.OverReach {
			continue
		}
		for _, ring := range r.Shape.Rings() {
			a := ring[len(ring)-1]
			for _, b := range ring {
				dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
				px, py := x-float64(a.X), y-float64(a.Y)
				k := max(0, min(1, (px*dx+py*dy)/(dx*dx+dy*dy)))
				nearest = min(nearest, math.Hypot(px-k*dx, py-k*dy))
				a = b
			}
		}
	}
	return nearest
}

// What is said of the boundary holds at each place of it: whether it is
// reached, and the stand-off; and no stand-off is larger than the largest. The
// fields have neither dents nor holes, across which covered ground would be
// near without being beside.
func TestEdgeLaw(t *testing.T) {
	const (
		step   = 2500 // ticks from place to place
		unsure = 2    // ticks: corners are on the grid, and what is shorter than a tick is nothing
	)
	scenes := 0
	for seed := uint64(0); scenes < 4; seed++ {
		s := randomScene(seed)
		if len(s.Field.Boundary[0].Holes) > 0 {
			continue
		}
		scenes++
		opt := field.Options{EdgeAllowance: plane.Length(seed%3) * 20 * plane.Centimetre}
		m := measure(t, s.Field, s.Machines, opt)
		e := &m.Headland.Edge
		require.Positive(t, e.Open, "seed %d", seed)
		most := 0.0
		for _, ring := range e.Profile {
			for k, a := range ring.Marks {
				b, end := ring.Marks[(k+1)%len(ring.Marks)], ring.Length
				if k+1 < len(ring.Marks) {
					end = b.Along
				}
				way := float64(end - a.Along)
				off, change := float64(a.StandOff), float64(b.StandOff-a.StandOff)
				for at := math.Mod(7919*float64(k), step); at < way; at += step {
					k := at / way
					why := fmt.Sprintf("seed %d, %.0f along of %.0f", seed, float64(a.Along)+at, ring.Length)
					d := toCovered(m, float64(a.At.X)+k*float64(b.At.X-a.At.X), float64(a.At.Y)+k*float64(b.At.Y-a.At.Y))
					d = max(0, min(float64(m.Headland.Width), d)-float64(opt.EdgeAllowance))
					most = max(most, d)
					if math.Abs(d-float64(e.Tolerance)) > unsure && min(at, way-at) > unsure {
						require.Equal(t, d > float64(e.Tolerance), a.Open || a.Unlogged, why)
					}
					// It cannot change faster than the way goes, nor be larger
					// than on a straight line by more than its marks are off.
					require.InDelta(t, off+k*change, d, way/2+unsure, why)
					require.LessOrEqual(t, d, float64(max(a.StandOff, b.StandOff, min(plane.Distance(e.Tolerance), e.Max)))+unsure, why)
				}
			}
		}
		assert.LessOrEqual(t, most, float64(e.Max+unsure), "seed %d", seed)
		assert.GreaterOrEqual(t, most, float64(e.Max-step/2), "seed %d", seed)
		open, longest := plane.Distance(0), plane.Distance(math.Inf(1))
		for _, o := range e.Openings {
			assert.LessOrEqual(t, o.Length, longest)
			assert.Greater(t, o.Max, plane.Distance(e.Tolerance))
			open, longest = open+o.Length, o.Length
		}
		assert.InDelta(t, float64(e.Open), float64(open), unsure)
	}
}

// Openings and what is reached between them are as long as they are, however
// short: a bar of 4 m along the long side of a field, lifted for a moment.
//
//	===== 0.8 ===== 0.3 ==================== 3.0 ====
func TestShortOpenings(t *testing.T) {
	s := covertest.NewScene("short", covertest.Rectangle(0, 0, 100, 4))
	var ground sweep.Ground
	for i, x := range [][2]float64{{0, 20}, {20.8, 50}, {50.3, 70}, {73, 100}} {
		a, b, width := plane.Metres(x[0]), plane.Metres(x[1]), 4*plane.Metre
		from := work.Pose{Bar: plane.Point{X: a, Y: width / 2}, Heading: math.Pi / 2}
		to := work.Pose{Bar: plane.Point{X: b, Y: width / 2}, Heading: math.Pi / 2, Along: plane.Distance(b - a)}
		ground.Passes = append(ground.Passes, work.Pass{Poses: []work.Pose{from, to}, Length: to.Along})
		ground.Swaths = append(ground.Swaths, sweep.Swath{Pass: i, Rings: []plane.Ring{{{X: a}, {X: b}, {X: b, Y: width}, {X: a, Y: width}}}})
	}
	machines := []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: 4 * plane.Metre, Sections: machine.EqualSections(4*plane.Metre, 1)}}}
	m := laid(t, s.Field, machines, ground, field.Options{EdgeTolerance: 10 * plane.Centimetre})
	e := m.Headland.Edge
	var lengths, most []float64
	for _, o := range e.Openings {
		lengths, most = append(lengths, o.Length.Metres()), append(most, o.Max.Metres())
	}
	// A tolerance's length at either end is near enough; both long sides.
	assert.InDeltaSlice(t, []float64{2.8, 2.8, 0.6, 0.6, 0.1, 0.1}, lengths, 1e-4)
	assert.InDeltaSlice(t, []float64{1.5, 1.5, 0.4, 0.4, 0.15, 0.15}, most, 1e-4)
	assert.InDelta(t, 7.0, e.Open.Metres(), 1e-3)
	assert.InDelta(t, 1.5, e.Max.Metres(), 1e-4)
}
