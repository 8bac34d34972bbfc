package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/geo/plane"
)

// A run is one straight pass: where its bar's centre begins, which way it
// goes, in degrees, and how far. Shut sections are shut from one distance
// along it to another.
type run struct {
	x, y, heading, length float64
	shut                  covertest.Mask
	from, to              float64
}

// runs drives some passes one after another, a minute between them. From one
// to the next the machine jumps, which must be far enough for it to be seen.
func runs(rs ...run) *covertest.Path {
	p := &covertest.Path{}
	for _, r := range rs {
		p.Jump(covertest.Stance{XY: covertest.XY{X: r.x, Y: r.y}, Heading: r.heading * math.Pi / 180}).On()
		if r.shut != 0 {
			p.Straight(r.from).Open(covertest.All &^ r.shut).Straight(r.to - r.from).On().Straight(r.length - r.to)
		} else {
			p.Straight(r.length)
		}
		p.Off().Stand(60)
	}
	return p
}

// Most cases are of a 6 m bar in six sections on a field of barley stubble
// 100 m deep, the headland at its south and north worked from west to east:
//
//	100 +-----------------------+
//	    | north headland        |
//	 94 |-----------------------|
//	    |     |  |  |  |        |  passes to and fro, by x of their centre
//	  6 |-----------------------|
//	    | south headland        |
//	  0 +-----------------------+
//	   -50                     50
var (
	stubble   = covertest.Rectangle(-50, 0, 50, 100)
	headlands = []run{{x: -50, y: 3, heading: 90, length: 100}, {x: -50, y: 97, heading: 90, length: 100}}
)

// lanes are passes at some x, driven north, that run on by a metre over either
// headland.
func lanes(xs ...float64) []run {
	var out []run
	for _, x := range xs {
		out = append(out, run{x: x, y: 5, length: 90})
	}
	return out
}

func together(rs ...[]run) *covertest.Path {
	var all []run
	for _, r := range rs {
		all = append(all, r...)
	}
	return runs(all...)
}

// slanted is a field whose north edge rises by 30 degrees to the east, through
// (0, 100), worked along it first. rim is where the headland's inner edge is.
var (
	slanted = covertest.Shape{{X: -30, Y: 0}, {X: 50, Y: 0}, {X: 50, Y: 100 + 50*slope}, {X: -30, Y: 100 - 30*slope}}
	incline = []run{{x: -30, y: 100 - 30*slope - 3/math.Cos(math.Pi/6), heading: 60, length: 92}}
	slope   = math.Tan(math.Pi / 6)
)

func rim(x float64) float64 { return 100 + slope*x - 6/math.Cos(math.Pi/6) }

// climbs are passes north at some x up to so far past the headland's inner
// edge, as the bar's centre meets it.
func climbs(past float64, xs ...float64) []run {
	var out []run
	for _, x := range xs {
		out = append(out, run{x: x, y: 6, length: rim(x) + past - 6})
	}
	return out
}

// A causeCase is a drive, and the cause to be found at a place of it.
type causeCase struct {
	name  string
	field covertest.Shape
	paths []*covertest.Path // a machine each
	x, y  float64
	want  any // a cause.SkipCause or cause.OverlapCause
}

func (c *causeCase) measure(t *testing.T, defects ...covertest.Defect) *coverage.Map {
	t.Helper()
	s := covertest.NewScene(c.name, c.field)
	for i, p := range c.paths {
		s.Drive(covertest.Rig{
			Name: fmt.Sprintf("drill %d", i+1), Implement: covertest.Mounted(6, 2, 6), Path: p,
			Begin: hours(i), Speed: 2, Rate: 10, Heading: true, Seed: 7, Defects: defects,
		})
	}
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	return m
}

// patchAt returns the cause and place of the skip or overlap over a place.
func patchAt(t *testing.T, m *coverage.Map, x, y float64) (any, cause.Place, plane.Area) {
	t.Helper()
	at := plane.Point{X: plane.Metres(x), Y: plane.Metres(y)}
	for _, p := range m.Skips {
		if holds(m.Regions[p.Region].Shape, at) {
			return p.Cause, p.Place, p.Area
		}
	}
	for _, p := range m.Overlaps {
		if holds(m.Regions[p.Region].Shape, at) {
			return p.Cause, p.Place, p.Area
		}
	}
	require.Failf(t, "no patch", "no skip or overlap at %v, %v", x, y)
	return "", cause.Place{}, 0
}

// holds reports whether a place is in a polygon: a line east from it crosses
// the outline an odd number of times.
func holds(p plane.Polygon, at plane.Point) bool {
	in := false
	for _, r := range p.Rings() {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y > at.Y) != (b.Y > at.Y) {
				if (plane.Side(a, b, at) == plane.Left) == (b.Y > a.Y) {
					in = !in
				}
			}
		}
	}
	return in
}

// Each case is driven three ways: by a machine that does as it is told, with
// the noise of a good receiver, and by hands that wander by a decimetre.
func testCauses(t *testing.T, cases []causeCase) {
	for _, c := range cases {
		for _, hand := range []struct {
			name    string
			defects []covertest.Defect
		}{
			{"straight", nil},
			{"noisy", []covertest.Defect{covertest.White(0.02)}},
			{"by hand", []covertest.Defect{covertest.Drift(0.1, 20), covertest.White(0.005)}},
		} {
			t.Run(c.name+"/"+hand.name, func(t *testing.T) {
				m := c.measure(t, hand.defects...)
				got, _, area := patchAt(t, m, c.x, c.y)
				assert.Equal(t, c.want, got, "the patch of %.1f m2", area.SquareMetres())
				causesAdd(t, m)
			})
		}
	}
}

// causesAdd checks that every patch has a cause, of its own kind, and that the
// areas by cause make the totals.
func causesAdd(t *testing.T, m *coverage.Map) {
	t.Helper()
	skips, overlaps := map[cause.SkipCause]plane.Area{}, map[cause.OverlapCause]plane.Area{}
	for _, p := range m.Skips {
		skips[p.Cause] += p.Area
	}
	for _, p := range m.Overlaps {
		overlaps[p.Cause] += p.Area
	}
	var skip, overlap plane.Area
	for _, rule := range cause.SkipRules {
		skip += skips[rule.Cause]
	}
	for _, rule := range cause.OverlapRules {
		overlap += overlaps[rule.Cause]
	}
	assert.Equal(t, m.Totals.Skip, skip, "skips by cause")
	assert.Equal(t, m.Totals.Overlap, overlap, "overlaps by cause")
	assert.Equal(t, m.Totals.Remainder, skips[cause.Unworked], "the remainder is what is unworked")
}

func TestCausesOfWholeFields(t *testing.T) {
	for _, s := range []*covertest.Scene{covertest.Small(0, 1), covertest.Small(0.02, 2), covertest.QuarterSection(10, 0.02, 3)} {
		m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
		require.NoError(t, err)
		causesAdd(t, m)
		for _, p := range m.Skips {
			if len(p.Passes) > 0 {
				assert.Contains(t, p.Passes, p.Place.Pass)
			}
		}
		for _, p := range m.Overlaps {
			assert.Equal(t, p.Passes[len(p.Passes)-1], p.Place.Pass)
			l := m.Passes[p.Place.Pass-1].Length
			assert.True(t, p.Place.Along >= 0 && p.Place.Along <= l/2, "%v along a pass of %v", p.Place.Along, l)
		}
	}
}

func TestSkipCauses(t *testing.T) {
	shut := func(mask covertest.Mask, from, to float64) []run {
		return []run{{x: 0, y: 6, length: 88, shut: mask, from: from, to: to}}
	}
	one := func(name string, path *covertest.Path, x, y float64, want any) causeCase {
		return causeCase{name, stubble, []*covertest.Path{path}, x, y, want}
	}
	testCauses(t, []causeCase{
		// One metre of the bar, and it works again:  |=|=|.|=|=|=|
		one("plugged section", together(headlands, lanes(-5.6, 5.6), shut(1<<2, 20, 50)), -0.5, 40, cause.Plugged),
		one("plugged outer section", together(headlands, lanes(-5.6, 5.6), shut(1<<0, 20, 50)), -2.5, 40, cause.Plugged),
		one("plugged half", together(headlands, lanes(-5.6, 5.6), shut(7, 20, 24)), -1.5, 28, cause.Plugged),
		one("plugged to the end", together(headlands, lanes(-5.6, 5.6), shut(1<<2, 20, 88)), -0.5, 60, cause.Plugged),
		{"plugged beside another machine", stubble, []*covertest.Path{
			together(headlands, lanes(-5.6, 5.6)), together(shut(1<<5, 20, 50)),
		}, 2.5, 40, cause.Plugged},
		// Two metres shut, and the neighbour works all but half a metre of them.
		one("shut for its neighbour", together(headlands, lanes(-4.5, 5.6), shut(3, 20, 80)), -1.25, 56, cause.BetweenPasses),
		// Half the bar shut over the last two metres: that is how it was lifted.
		one("half lifted early", together(headlands, lanes(-5.6, 5.6), shut(7, 86, 88)), -1.5, 93, cause.LiftedEarly),

		// |   |......|   |
		one("missed pass", together(headlands, lanes(-5.6, 5.6)), 0, 50, cause.MissedPass),
		one("narrow missed pass", together(headlands, lanes(-6, 5.2)), 0, 50, cause.MissedPass),
		{"missed between machines", stubble, []*covertest.Path{together(headlands, lanes(-6)), together(lanes(6))}, 0, 50, cause.MissedPass},
		one("too narrow for a missed pass", together(headlands, lanes(-6, 4)), -1, 50, cause.BetweenPasses),
		one("half a pass missed", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 44}}), 0, 80, cause.MissedPass),
		one("a pass with a gap", together(headlands, []run{{x: 0, y: 6, length: 44}}, lanes(-5.6, 5.6), []run{{x: 0, y: 56, length: 38}}), 0, 53, cause.LoweredLate),

		one("along the edge", runs(run{x: -46, y: 0, length: 100}), -49.5, 50, cause.BoundaryEdge),
		one("a pass short of the edge", runs(run{x: -41.5, y: 0, length: 100}, run{x: -35.5, y: 0, length: 100}), -48, 50, cause.BoundaryEdge),
		one("lowered late beside the edge", together(headlands, []run{{x: -47, y: 8, length: 86}, {x: -41, y: 6, length: 88}}), -47, 7, cause.LoweredLate),

		// headland ----, then nothing, then |=====|
		one("lowered late", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 9, length: 85}}), 0, 7, cause.LoweredLate),
		one("lowered very late", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 14, length: 80}}), 0, 10, cause.LoweredLate),
		{"lowered late by another machine", stubble, []*covertest.Path{together(headlands, lanes(-5.6, 5.6)), runs(run{x: 0, y: 9, length: 85})}, 0, 7, cause.LoweredLate},
		one("all lowered late", together(headlands, lanes(-11.2, 11.2), []run{{x: -5.6, y: 8, length: 87}, {x: 0, y: 9, length: 86}, {x: 5.6, y: 8, length: 87}}), 0, 7, cause.LoweredLate),
		one("lifted early", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 85}}), 0, 93, cause.LiftedEarly),
		one("lifted early, neighbours lap", together(headlands, lanes(-5, 5), []run{{x: 0, y: 6, length: 85}}), 0, 93, cause.LiftedEarly),
		one("driven back, lifted early", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 94, heading: 180, length: 85}}), 0, 7, cause.LiftedEarly),

		// The bar lifts as its first corner meets the slanting headland.
		{"angled end", slanted, []*covertest.Path{together(incline, climbs(3*slope+1, -5.6, 5.6), climbs(-3*slope, 0))}, 2, rim(2) - 1.5, cause.AngledEnd},
		{"angled end by the bar's middle", slanted, []*covertest.Path{together(incline, climbs(0, -6, 0, 6))}, 2.5, rim(2.5) - 0.5, cause.AngledEnd},
		{"angled end of two machines", slanted, []*covertest.Path{together(incline, climbs(3*slope+1, -5.6, 5.6)), together(climbs(-3*slope, 0))}, 2, rim(2) - 1.5, cause.AngledEnd},
		{"lifted early at an angle", slanted, []*covertest.Path{together(incline, climbs(3*slope+1, -5.6, 5.6), climbs(-3*slope-4, 0))}, 0, rim(0) - 3, cause.LiftedEarly},

		one("between passes", together(headlands, lanes(-6.8, 0)), -3.4, 50, cause.BetweenPasses),
		// A strip of 2.4 m that a third of another pass ends on: |   |::|   |
		//                                                       |   |..|   |
		one("between passes, and one ends on it", together(headlands, lanes(-4.2, 4.2), []run{{x: 2, y: 6, length: 14}}), 0, 60, cause.BetweenPasses),
		one("between passes, and one is begun on it", together(headlands, lanes(-4.2, 4.2), []run{{x: -2, y: 80, length: 14}}), 0, 60, cause.BetweenPasses),
		// So long a strip beside a headland that all passes are lifted short of is theirs.
		one("all lifted early", together(headlands, lanes(-29.8, 23.8), []run{
			{x: -24, y: 6, length: 86}, {x: -18, y: 6, length: 86.5}, {x: -12, y: 6, length: 86}, {x: -6, y: 6, length: 86.5}, {x: 0, y: 6, length: 86},
			{x: 6, y: 6, length: 86.5}, {x: 12, y: 6, length: 86}, {x: 18, y: 6, length: 86.5},
		}), 0, 93, cause.LiftedEarly),
		{"skip between machines", stubble, []*covertest.Path{together(headlands, lanes(-6.8)), together(lanes(0))}, -3.4, 50, cause.BetweenPasses},
		one("unworked", together(headlands, lanes(-12, 4)), -4, 50, cause.Unworked),
	})
}

func TestOverlapCauses(t *testing.T) {
	one := func(name string, path *covertest.Path, x, y float64, want any) causeCase {
		return causeCase{name, stubble, []*covertest.Path{path}, x, y, want}
	}
	ring := covertest.Rectangle(-47, 3, 47, 97)
	// The round, in two passes that meet in the middle of its north side.
	halves := covertest.Start(0, 3, math.Pi/2).On().Straight(37).Arc(10, -math.Pi/2).Straight(74).Arc(10, -math.Pi/2).Straight(37).
		Off().Stand(60).On().Straight(37).Arc(10, -math.Pi/2).Straight(74).Arc(10, -math.Pi/2).Straight(41).Off()
	turn := covertest.Start(0, 6, 0).On().Straight(87).Arc(4, math.Pi).Straight(87).Off().Stand(60)
	testCauses(t, []causeCase{
		one("re-worked", together(headlands, lanes(0, 0.5)), 0, 50, cause.ReWorked),
		one("re-worked the other way", together(headlands, lanes(0), []run{{x: 1, y: 94, heading: 180, length: 88}}), 0, 50, cause.ReWorked),
		{"re-worked by another machine", stubble, []*covertest.Path{together(headlands, lanes(0)), together(lanes(2))}, 1, 50, cause.ReWorked},
		one("not half again", together(headlands, lanes(0, 4)), 2, 50, cause.LapBetweenPasses),
		one("again, but not for long", together(headlands, lanes(0), []run{{x: 0, y: 40, length: 9}}), 0, 45, cause.LapBetweenPasses),

		one("round closing", covertest.NewPath(9).Round(ring, 10, 4), 2, 3, cause.RoundClosing),
		one("round closing in two passes", halves, 2, 3, cause.RoundClosing),
		one("lap where a pass goes on", runs(run{x: -40, y: 3, heading: 90, length: 40}, run{x: -40, y: 97, heading: 90, length: 80}, run{x: -4, y: 3, heading: 90, length: 40}), -2, 3, cause.LapBetweenPasses),

		one("turn on the headland", &covertest.Path{Legs: append(together(headlands).Legs, turn.Legs...)}, 4, 96, cause.Turn),
		{"turn of another machine", stubble, []*covertest.Path{together(headlands), turn}, 4, 96, cause.Turn},

		one("onto headland", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 91}}), 0, 95, cause.OntoHeadland),
		one("off the headland", together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 3, length: 91}}), 0, 5, cause.OntoHeadland),
		{"onto another machine's headland", stubble, []*covertest.Path{together(headlands), runs(run{x: 0, y: 6, length: 91})}, 0, 95, cause.OntoHeadland},
		one("headland worked last", together([]run{{x: 0, y: 6, length: 91}}, headlands), 0, 95, cause.OntoHeadland),
		one("through the headland", together(headlands, []run{{x: 0, y: 6, length: 94}}), 0, 97, cause.OntoHeadland),
		{"onto a slanting headland", slanted, []*covertest.Path{together(incline, climbs(3*slope+3, 0))}, 0, rim(0) + 2, cause.OntoHeadland},

		{"point rows", slanted, []*covertest.Path{together(incline, climbs(3*slope, -6, 0, 6))}, -2, rim(-2) + 1, cause.PointRows},
		{"point rows by the bar's middle", slanted, []*covertest.Path{together(incline, climbs(0, -6, 0, 6))}, -2.5, rim(-2.5) + 0.5, cause.PointRows},
		{"point rows of two machines", slanted, []*covertest.Path{together(incline), together(climbs(3*slope, 0))}, -2, rim(-2) + 1, cause.PointRows},
		one("passes that come together", together(headlands, lanes(0), []run{{x: 20, y: 20, heading: -15, length: 68}}), 1.5, 80, cause.PointRows),

		one("between passes", together(headlands, lanes(-5.5, 0)), -2.75, 50, cause.LapBetweenPasses),
		{"between machines", stubble, []*covertest.Path{together(headlands, lanes(-5.5)), together(lanes(0))}, -2.75, 50, cause.BetweenMachines},
		{"two machines cross", stubble, []*covertest.Path{together(headlands, lanes(0)), together([]run{{x: -20, y: 30, heading: 45, length: 56}})}, 0, 50, cause.BetweenMachines},
		{"two machines cross at a narrow angle", stubble, []*covertest.Path{together(headlands, lanes(0)), together([]run{{x: -21, y: 14, heading: 30, length: 76}})}, 0, 50, cause.BetweenMachines},
		one("one machine crosses itself", together(headlands, lanes(0), []run{{x: -20, y: 30, heading: 45, length: 56}}), 0, 50, cause.PointRows),
	})
}

func BenchmarkPatches(b *testing.B) {
	s := covertest.QuarterSection(10, 0.02, 1)
	machines := machine.Machines(s.Machines)
	passes, _, _ := coverage.Split(s.Field, s.Machines, field.Options{})
	l, err := region.Lay(s.Field, machines, sweep.Sweep(machines, passes), &field.Options{})
	require.NoError(b, err)
	skips, overlaps := cause.Explain(l)
	b.Run(fmt.Sprintf("skips=%d/overlaps=%d", len(skips), len(overlaps)), func(b *testing.B) {
		for b.Loop() {
			skips, _ = cause.Explain(l)
		}
	})
	require.NotEmpty(b, skips[0].Cause)
}

// A log with a width and no sections does not say which part of the bar was shut, so
// that a strip beside the part that worked is not plugged.
func TestNarrowWidthIsNotPlugged(t *testing.T) {
	s := covertest.NewScene("narrow", stubble)
	s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(6, 2, 1), Speed: 2, Rate: 10, Heading: true,
		Path: together(headlands, lanes(-5.6, 5.6), []run{{x: 0, y: 6, length: 88}}),
	})
	log := &s.Machines[0].Tracks[0]
	log.States = append(log.States, machine.State{{Left: -2 * plane.Metre, Right: 2 * plane.Metre}})
	for i := range log.Fixes {
		at, ok := s.Field.Frame.ToPlane(log.Fixes[i].At)
		require.True(t, ok)
		if m := at.Y.Metres(); at.X.Metres() < 0.1 && at.X.Metres() > -0.1 && m > 30 && m < 70 {
			log.Fixes[i].State = machine.StateID(len(log.States) - 1)
		}
	}
	m := measure(t, s.Field, s.Machines, field.Options{})
	for _, x := range []float64{-2.3, 2.3} {
		why, _, area := patchAt(t, m, x, 50)
		assert.Equal(t, cause.BetweenPasses, why)
		assert.InDelta(t, 40*0.6, area.SquareMetres(), 1)
	}
}

// An opener that stays shut leaves a skip one row wide, with a cause of its own,
// and it is found beside neighbours that lap, with a good receiver's noise.
func TestOnePluggedRow(t *testing.T) {
	const row, openers = 7.5 * 0.0254, 32
	imp := covertest.Mounted(row*openers, 2, openers)
	for _, noise := range []float64{0, 0.02} {
		s := covertest.NewScene("one row", stubble)
		s.Drive(covertest.Rig{
			Name: "drill", Implement: imp, Speed: 2, Rate: 10, Heading: true, Seed: 7, Defects: []covertest.Defect{covertest.White(noise)},
			Path: together(headlands, lanes(-6, 6), []run{{x: 0, y: 6, length: 88, shut: 1 << 11, from: 20, to: 60}}),
		})
		m := measure(t, s.Field, s.Machines, field.Options{})
		x := (11.5 - openers/2.0) * row
		why, _, area := patchAt(t, m, x, 50)
		assert.Equal(t, cause.Plugged, why, "noise %v m", noise)
		assert.InDelta(t, row*40, area.SquareMetres(), 2*0.2*row+40*noise/4+0.01, "noise %v m", noise)
		for _, p := range m.Skips {
			if p.Cause == cause.Plugged {
				assert.InDelta(t, row, p.Width.Metres(), 0.01+noise, "noise %v m", noise)
			}
		}
	}
}
