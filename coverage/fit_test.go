package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/pace"
	"lapwing/geo/plane"
)

// drilled is a field drawn as an outline, of which some ground was drilled with a bar of
// 10 m: two headland rounds, and passes to and fro.
func drilled(outline, ground covertest.Shape, defects ...covertest.Defect) *covertest.Scene {
	const width = 10.0
	s := covertest.NewScene("drilled", outline)
	p := covertest.NewPath(7).SquareRound(ground, width, 8)
	p.SquareRound(ground.Inset(width), width, 8)
	p.Lines(covertest.Lines{Ground: ground.Inset(2 * width), Width: width, Spacing: width - 0.1, RunIn: 4})
	return s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(width, 3, 1), Path: p, Speed: 2.5, Rate: 2, Heading: true, Seed: 4, Defects: defects})
}

func TestMisfits(t *testing.T) {
	ground := covertest.Rectangle(-150, -150, 150, 150)
	type side struct {
		name string
		mean float64
	}
	for _, c := range []struct {
		name    string
		outline covertest.Shape
		opt     field.Options
		want    []side
		likely  string
	}{
		{name: "fits", outline: ground},
		{name: "half a foot all round", outline: ground.Inset(-0.12)},
		{name: "a foot all round", outline: ground.Inset(-0.3), want: []side{{"", 0.3}}, likely: "outline or allowance"},
		{name: "a foot meant", outline: ground.Inset(-0.3), opt: field.Options{EdgeAllowance: plane.Metres(0.3)}},
		{name: "a foot past all round", outline: ground.Inset(0.3), want: []side{{"", -0.3}}, likely: "outline"},
		{name: "north", outline: covertest.Rectangle(-150, -150, 150, 153), want: []side{{"north", 3}}, likely: "outline"},
		{name: "a wedge in the north", outline: covertest.Shape{{X: -150, Y: -150}, {X: 150, Y: -150}, {X: 150, Y: 155}, {X: -150, Y: 151.5}}, want: []side{{"north", 3.25}}, likely: "outline"},
		{name: "a steep wedge", outline: covertest.Shape{{X: -150, Y: -150}, {X: 150, Y: -150}, {X: 150, Y: 190}, {X: -150, Y: 151}}},
		{name: "a round is missing", outline: covertest.Rectangle(-150, -150, 150, 160)},
		{name: "past in the east", outline: covertest.Rectangle(-150, -150, 148.5, 150), want: []side{{"east", -1.5}}, likely: "outline"},
		{name: "shifted", outline: covertest.Rectangle(-151, -150, 149, 150), want: []side{{"east", -1}, {"west", 1}}, likely: "shift"},
	} {
		for _, noise := range []float64{0, 0.02} {
			s := drilled(c.outline, ground, covertest.White(noise))
			m := measure(t, s.Field, s.Machines, c.opt)
			f := m.Headland.Fit
			require.NotNil(t, f)
			got := map[string]*beside.Misfit{}
			for i := range f.Misfits {
				got[f.Misfits[i].Side] = &f.Misfits[i]
			}
			require.Len(t, got, len(c.want), "%s: %+v", c.name, f.Misfits)
			short := false
			for _, w := range c.want {
				require.Contains(t, got, w.name, c.name)
				g := got[w.name]
				assert.InDelta(t, w.mean, g.Mean.Metres(), 0.1+noise, c.name)
				assert.Equal(t, c.likely, f.Likely(g), c.name)
				short = short || w.mean > 0
				if w.mean > 0 && w.name != "" {
					assert.InDelta(t, 300*w.mean, g.Area.SquareMetres(), 0.1*300*w.mean, c.name)
				}
			}
			outlined := plane.Area(0)
			for i := range m.Skips {
				if m.Skips[i].Outlined {
					outlined += m.Skips[i].Area
				}
			}
			assert.Equal(t, outlined, m.Totals.Outlined, c.name)
			assert.Equal(t, short, outlined > 0, c.name)
			count, open := m.Headland.OpenByWork()
			assert.LessOrEqual(t, open, m.Headland.Edge.Open, c.name)
			if short {
				assert.Less(t, count, len(m.Headland.Edge.Openings), c.name)
			}
		}
	}
}

// Half a side driven short is the work's, not the outline's.
func TestHalfASideIsWork(t *testing.T) {
	s := covertest.NewScene("half", covertest.Rectangle(0, 0, 400, 100))
	p := covertest.Start(0, 95, math.Pi/2).On().Straight(190).TurnTo(covertest.Stance{XY: covertest.XY{X: 210, Y: 93}, Heading: math.Pi / 2})
	p.Straight(190).Off()
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(10, 0, 1), Speed: 2, Rate: 2, Heading: true, Path: p})
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Empty(t, m.Headland.Fit.Misfits)
}

// After the first pass along a side, or two, it is not told yet whose the strip is.
func TestMisfitNeedsMoreThanOneSide(t *testing.T) {
	s := covertest.Lanes("0-100: 2-12 12-22", 300)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Empty(t, m.Headland.Fit.Misfits)
	s = covertest.Lanes("0-100: 2-12 12-22 22-32 32-42 42-52 52-62 62-72 72-82 82-92 90-100", 300)
	m = measure(t, s.Field, s.Machines, field.Options{})
	require.Len(t, m.Headland.Fit.Misfits, 1)
	assert.Equal(t, "west", m.Headland.Fit.Misfits[0].Side)
}

// A yard that the passes go round is not ground still to be worked; what the last passes
// lie beside is.
func TestYards(t *testing.T) {
	outline := covertest.Rectangle(-150, -150, 150, 150)
	yard := covertest.Rectangle(-90, -20, -50, 20)
	drive := func(share float64) *covertest.Scene {
		s := covertest.NewScene("yard", outline)
		p := covertest.NewPath(7).SquareRound(outline, 10, 8).HoleRound(yard, 5)
		p.Lines(covertest.Lines{Ground: outline.Inset(10), Holes: []covertest.Shape{yard.Inset(-10)}, Width: 10, Spacing: 9.9, RunIn: 4,
			Adjust: func(i int, l *covertest.Line) {
				if float64(i) >= share*28 {
					l.Runs = nil
				}
			}})
		return s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(10, 3, 1), Path: p, Speed: 2.5, Rate: 2, Heading: true})
	}
	s := drive(1)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.InDelta(t, 40*40, m.Totals.Yards.SquareMetres(), 30)
	assert.Equal(t, m.Totals.Remainder, m.Totals.Yards)
	f, ok := pace.Finish(m)
	require.True(t, ok)
	assert.Equal(t, m.Totals.Skip+m.Totals.Unlogged-m.Totals.Yards-m.Totals.Outlined, f.Left)

	s = drive(0.9) // the yard is passed, and ground on the east is left
	m = measure(t, s.Field, s.Machines, field.Options{})
	assert.InDelta(t, 40*40, m.Totals.Yards.SquareMetres(), 30)
	assert.Greater(t, (m.Totals.Remainder - m.Totals.Yards).SquareMetres(), 3000.0)

	// The last strip of a field is little, and no yard: the last pass lies beside it.
	s = drilled(covertest.Rectangle(-150, -150, 176, 150), outline)
	m = measure(t, s.Field, s.Machines, field.Options{})
	assert.Greater(t, m.Totals.Remainder.SquareMetres(), 4000.0)
	assert.Zero(t, m.Totals.Yards)
}
