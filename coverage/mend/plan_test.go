package mend

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// measured measures a scene, with the bar of its first machine in sections.
func measured(t require.TestingT, s *covertest.Scene, sections int) *coverage.Map {
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	im := &m.Machines[0].Implement
	im.Sections = machine.EqualSections(im.Width, sections)
	return m
}

// worth returns the skips that are no specks and not just unworked ground.
func worth(m *coverage.Map) []int {
	var out []int
	for i := range m.Skips {
		if s := &m.Skips[i]; !s.Unworked() && s.Area > plane.SquareMetre && s.Width > plane.Distance(20*plane.Centimetre) {
			out = append(out, i)
		}
	}
	return out
}

// sections writes the open sections of a run: "..##..".
func sections(r *Lane) string {
	var b strings.Builder
	for _, open := range r.Open {
		b.WriteByte(".#"[map[bool]int{true: 1}[open]])
	}
	return b.String()
}

// skipsAt returns the skips nearest to some places across the lanes of a
// scene, half-way along them: x in metres from the field's west side.
func skipsAt(m *coverage.Map, x ...float64) []int {
	box := m.Field.Boundary[0].Shell.Bounds()
	var out []int
	for _, x := range x {
		want := plane.Point{X: box.Min.X + plane.Metres(x), Y: (box.Min.Y + box.Max.Y) / 2}
		best, least := -1, plane.Distance(math.Inf(1))
		for i := range m.Skips {
			for _, r := range m.Regions[m.Skips[i].Region].Shape.Rings() {
				for k, p := range r {
					if d := distanceTo(p, r[(k+1)%len(r)], want); d < least {
						best, least = i, d
					}
				}
			}
		}
		out = append(out, best)
	}
	return out
}

// openOver returns the middle of a run's open sections, half-way along it, in
// metres from the field's west side.
func openOver(m *coverage.Map, r *Lane) float64 {
	first, last := r.Line[0], r.Line[len(r.Line)-1]
	_, cos := unit(first, last)
	middle := float64(r.OpenLeft) + float64(r.OpenWidth)/2
	x := float64(first.X+last.X)/2 + middle*cos
	return (x - float64(m.Field.Boundary[0].Shell.Bounds().Min.X)) / float64(plane.Metre)
}

// The sections to keep open over one skip of 300 m between lanes of 12 m, the
// headlands at both ends apart.
func TestSectionsToKeepOpen(t *testing.T) {
	for _, c := range []struct {
		name     string
		lanes    string
		at       float64 // the skip's middle
		sections int
		want     string  // driven north
		again    float64 // m
	}{
		{"a skip as wide as a section", "0-12 14-26", 13, 6, "..#...", 0},
		{"a little wider than a section, by less than a row", "0-12 14.1-26.1", 13.05, 6, "..#...", 0},
		{"wider than a section", "0-12 14.5-26.5", 13.25, 6, "..##..", 1.5},
		{"narrower than a section", "0-12 12.5-24.5", 12.25, 6, "..#...", 1.5},
		{"half the bar", "0-12 18-30", 15, 2, "#.", 0},
		{"no sections to shut", "0-12 14-26", 13, 1, "#", 10},
		// Nothing but the outermost section reaches the boundary without the
		// bar sticking out of the field.
		{"along the boundary", "0-26: 2-14 14-26", 1, 6, "#.....", 0},
		// The bar goes flush with the boundary, not over the skip's middle.
		{"along the boundary, narrower than a section", "0-26: 1.2-13.2 13.2-25.2", 1, 6, "#.....", 0.8},
	} {
		m := measured(t, covertest.Lanes(c.lanes, 300), c.sections)
		p := New(m, Options{All: true, Skips: skipsAt(m, c.at), Start: m.Passes[0].Poses[0].Bar})
		if !assert.Len(t, p.Stops, 1, c.name) {
			continue
		}
		r := &p.Stops[0].Run
		assert.Equal(t, "south", r.Enter, c.name)
		assert.Equal(t, c.want, sections(r), c.name)
		assert.InDelta(t, c.at, openOver(m, r), 0.1, c.name) // half the slack of a row, and a bit
		assert.InDelta(t, c.again, r.Again.SquareMetres()/r.Length.Metres(), 0.15, c.name)
	}
}

// A skip wider than the bar takes as many drives as it needs, side by side.
//
//	|====|            |====|    14 m between lanes of 10 m
//	0   10            24  34
func TestTwoLanes(t *testing.T) {
	m := measured(t, covertest.Lanes("0-10 24-34", 200), 5)
	p := New(m, Options{All: true, Skips: skipsAt(m, 17), Start: m.Passes[0].Poses[0].Bar, Radius: 8 * plane.Metre})
	require.Len(t, p.Stops, 2)
	for i := range p.Stops {
		r := &p.Stops[i].Run
		assert.Equal(t, 2, r.Of)
		assert.Equal(t, 8*plane.Metre, r.OpenWidth, "four sections of 2 m for 7 m")
		assert.Equal(t, []string{"south", "north"}[i], r.Enter, "there and back")
		assert.InDelta(t, []float64{13.5, 20.5}[i], openOver(m, r), 0.1)
	}
	assert.Equal(t, 1, p.Stops[0].Run.Lane)
	assert.Equal(t, 2, p.Stops[1].Run.Lane)
}

// Of two skips side by side the one is driven up and the other down; the
// machine stands at the south end of the first.
//
//	|====| |====| |====|
func TestThereAndBack(t *testing.T) {
	m := measured(t, covertest.Lanes("0-10 12-22 24-34", 300), 5)
	p := New(m, Options{All: true, Skips: skipsAt(m, 11, 23), Start: m.Passes[0].Poses[0].Bar, Radius: 8 * plane.Metre})
	require.Len(t, p.Stops, 2)
	assert.True(t, p.Shortest)
	for i, want := range []struct {
		enter   string
		heading geo.Bearing
		x       float64
	}{{"south", 0, 11}, {"north", 180, 23}} {
		r := &p.Stops[i].Run
		assert.Equal(t, want.enter, r.Enter)
		assert.InDelta(t, 0, r.Heading.Apart(want.heading), 0.5)
		assert.InDelta(t, want.x, openOver(m, r), 0.1)
	}
	// The travel from one skip to the other crosses sown ground, and says so.
	assert.Greater(t, p.Stops[1].Leg.Worked, 0.0)
	assert.LessOrEqual(t, p.Worked(), p.Travel()+1)
}

// A sliver round a corner is left: no straight run goes along it, and no pass
// does.
//
//	 ____________
//	|  __________|   0.3 m wide, 100 m either way
//	| |
//	|_|
func TestBentSliverIsLeft(t *testing.T) {
	shape := plane.Polygon{Shell: ring(0, 0, 0.3, 0, 0.3, 99.7, 100, 99.7, 100, 100, 0, 100)}
	m := &coverage.Map{
		Field:    field.Field{Boundary: []plane.Polygon{{Shell: ring(-50, -50, 150, -50, 150, 150, -50, 150)}}},
		Machines: []machine.Machine{{Implement: machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 5)}}},
		Regions:  []region.Region{{Kind: region.Skip, Shape: shape, Area: shape.Area()}},
		Skips:    []cause.Skip{{Area: shape.Area(), Width: 0.35e4, Length: 200e4, At: at(0.15, 50)}},
	}
	p := New(m, Options{Skips: []int{0}, All: true})
	assert.Empty(t, p.Stops)
	assert.Equal(t, []int{0}, p.Bent)
}

// A strip missed along the boundary, round a corner of it, is one run that
// turns there: beside the boundary, with the sections on that side.
//
//	 ____________
//	|  __________   2 m wide, 100 m either way
//	| |
func TestRoundACornerOfTheBoundary(t *testing.T) {
	shape := plane.Polygon{Shell: ring(0, 0, 2, 0, 2, 98, 100, 98, 100, 100, 0, 100)}
	land := []plane.Polygon{{Shell: ring(0, -50, 150, -50, 150, 100, 0, 100)}}
	m := &coverage.Map{
		Field:    field.Field{Boundary: land},
		Machines: []machine.Machine{{Implement: machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 5)}}},
		Regions:  []region.Region{{Kind: region.Skip, Shape: shape, Area: shape.Area()}},
		Skips:    []cause.Skip{{Area: shape.Area(), Width: 2e4, Length: 200e4, At: at(1, 50)}},
	}
	p := New(m, Options{Skips: []int{0}, All: true, Start: at(20, -20)})
	require.Len(t, p.Stops, 1)
	r := &p.Stops[0].Run
	assert.Contains(t, []string{"#....", "....#"}, sections(r))
	assert.Equal(t, 2*plane.Metre, r.OpenWidth)
	assert.Zero(t, outOf(land, r.Line))
	// Two sides of 100 m, 5 m inside of both, and the corner cut as much.
	assert.InDelta(t, 190, r.Length.Metres(), 5)
	assert.Greater(t, mended(shape, []*Lane{r}, slack(&m.Machines[0].Implement)), 0.9)
}

// Skips of a field that was worked round and round and up and down, with a
// hole: wherever a run or a way between leads, it stays inside the boundary
// and out of the hole, the open sections pass over each skip's middle, and
// every skip asked for is mended or said to be left.
func TestPlanStaysOnTheGround(t *testing.T) {
	var maps []*coverage.Map
	for seed, noise := range []float64{0.03, 0.06, 0.09, 0.12} {
		maps = append(maps, measured(t, covertest.Small(noise, uint64(seed)), 1))
	}
	rapid.Check(t, func(rt *rapid.T) {
		m := maps[rapid.IntRange(0, len(maps)-1).Draw(rt, "map")]
		im := &m.Machines[0].Implement
		im.Sections = machine.EqualSections(im.Width, rapid.IntRange(1, 6).Draw(rt, "sections"))
		skips := worth(m)
		from := rapid.IntRange(0, len(skips)-1).Draw(rt, "from")
		skips = skips[from:min(len(skips), from+rapid.IntRange(1, 14).Draw(rt, "skips"))]
		start := at(rapid.Float64Range(-150, 150).Draw(rt, "x"), rapid.Float64Range(-120, 120).Draw(rt, "y"))
		p := New(m, Options{Skips: skips, All: true, Start: start, Radius: 6 * plane.Metre})
		runs := map[int][]*Lane{}
		for i := range p.Stops {
			st := &p.Stops[i]
			for _, i := range st.Run.Skips {
				runs[i] = append(runs[i], &st.Run)
			}
			way := st.Leg.Way
			if i == 0 && !newGround(m.Field.Boundary).holds(start) {
				way = way[1:] // the way to the boundary
			}
			if out := outOf(m.Field.Boundary, way); out > 1 || st.Leg.Outside {
				rt.Fatalf("the way to stop %d leaves the ground by %g ticks", i, out)
			}
			if out := outOf(m.Field.Boundary, st.Run.Line); out > 1 {
				rt.Fatalf("run %d leaves the ground by %g ticks", i, out)
			}
			if last := st.Leg.Way[len(st.Leg.Way)-1]; last != st.Run.Line[0] {
				rt.Fatalf("the way to stop %d ends at %v, the run begins at %v", i, last, st.Run.Line[0])
			}
		}
		for _, i := range skips {
			if left := slices.Contains(slices.Concat(p.Left, p.Bent, p.TooMany), i); left == (runs[i] != nil) {
				rt.Fatalf("skip %d: mended %v, left %v", i, !left, left)
			}
			if runs[i] == nil || m.Skips[i].Area < 10*plane.SquareMetre { // a speck in a bend is no strip at all
				continue
			}
			if part := mended(m.Regions[m.Skips[i].Region].Shape, runs[i], slack(im)); part < leastMended {
				rt.Fatalf("skip %d: %.2f of it mended", i, part)
			}
		}
	})
}

// leastMended is how much of a skip its runs must go over. The skips of this
// field that are worth a run lie in its corners, bounded by an arc: they are
// no strips, and their tips stay beside the run.
const leastMended = 0.75

// mended returns the share of a skip that the open sections of some runs go
// over, counted on a grid of points; a strip as wide as half the slack along
// either side may be left.
func mended(p plane.Polygon, runs []*Lane, slack plane.Distance) float64 {
	g := newGround([]plane.Polygon{p})
	box := p.Shell.Bounds()
	step := max(plane.Centimetre*5, plane.Length(math.Sqrt(float64(p.Area())/2/300)))
	in, over := 0.0, 0.0
	for x := box.Min.X; x <= box.Max.X; x += step {
		for y := box.Min.Y; y <= box.Max.Y; y += step {
			if at := (plane.Point{X: x, Y: y}); g.holds(at) {
				in++
				for _, r := range runs {
					if farFrom(r, at) <= slack/2 {
						over++
						break
					}
				}
			}
		}
	}
	return over / max(1, in)
}

// farFrom returns how far a place is outside the swath of a run's open
// sections.
func farFrom(r *Lane, p plane.Point) plane.Distance {
	least := math.Inf(1)
	for i := 1; i < len(r.Line); i++ {
		a, b := r.Line[i-1], r.Line[i]
		sin, cos := unit(a, b)
		dx, dy := float64(p.X-a.X), float64(p.Y-a.Y)
		ahead, across := dx*sin+dy*cos, dx*cos-dy*sin
		left, right := float64(r.OpenLeft), float64(r.OpenLeft+r.OpenWidth)
		off := math.Hypot(max(0, -ahead, ahead-float64(a.Distance(b))), max(0, left-across, across-right))
		least = min(least, off)
	}
	return plane.Distance(least)
}

func ExampleNew() {
	s := covertest.Lanes("0-10 12-22", 100)
	m, _ := coverage.Measure(s.Field, s.Machines, field.Options{})
	p := New(m, Options{Skips: []int{0}, Start: m.Passes[0].Poses[0].Bar})
	r := p.Stops[0].Run
	fmt.Printf("enter the %s end, heading %.0f", r.Enter, r.Heading)
	// Output: enter the south end, heading 0
}
