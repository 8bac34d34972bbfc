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
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// dense cuts the edges of a ring, straight in longitude and latitude, into
// pieces of about 10 m, which are as straight on the plane: a piece bows by
// 10² tan φ / 8 R, 2 µm at 47 degrees.
func dense(ring [][2]float64) []geo.LonLat {
	var out []geo.LonLat
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		n := math.Ceil(max(math.Abs(b[0]-a[0]), math.Abs(b[1]-a[1])) / 1e-4)
		for k := range int(n) {
			t := float64(k) / n
			out = append(out, geo.LonLat{Lon: a[0] + t*(b[0]-a[0]), Lat: a[1] + t*(b[1]-a[1])})
		}
	}
	return out
}

// cell is the ring from a south-west corner to 0.01 degree east and north.
func cell(lon, lat float64) [][2]float64 {
	return [][2]float64{{lon, lat}, {lon + 0.01, lat}, {lon + 0.01, lat + 0.01}, {lon, lat + 0.01}}
}

// The areas of fields on WGS 84, computed with GeographicLib 2.1.2 (C. F. F.
// Karney, "Algorithms for geodesics", Journal of Geodesy 87, 2013), edges
// straight in longitude and latitude as RFC 7946 3.1.1 says. On a cell the two
// bows of geodesic edges cancel to a millimetre squared, so its geodesic area
// stands.
func TestFieldArea(t *testing.T) {
	outer := [][2]float64{{-117.20, 46.70}, {-117.19, 46.70}, {-117.19, 46.71}, {-117.20, 46.71}}
	hole := [][2]float64{{-117.198, 46.702}, {-117.198, 46.704}, {-117.196, 46.704}, {-117.196, 46.702}} // clockwise
	for _, c := range []struct {
		name        string
		shell, hole [][2]float64
		want        float64
	}{
		{"0 N", cell(0, 0), nil, 1230907.205},
		{"30 N", cell(-100, 30), nil, 1069521.174},
		{"40 N", cell(-100, 40), nil, 948099.212},
		{"46 N", cell(-117, 46), nil, 860937.979},
		{"47 N", cell(-110, 47), nil, 845442.791},
		{"49 N", cell(-105, 49), nil, 813660.846},
		{"52 N", cell(-106, 52), nil, 764077.618},
		{"33 S", cell(148, -33), nil, 1036495.427},
		{"across the antimeridian", cell(179.995, 51), nil, 780853.801},
		{"outer", outer, nil, 850119.411},
		{"outer minus hole", outer, hole, 816113.391},
		{"L-shape", [][2]float64{{-117.20, 46.70}, {-117.19, 46.70}, {-117.19, 46.705}, {-117.195, 46.705}, {-117.195, 46.71}, {-117.20, 46.71}}, nil, 637599.276},
		{"triangle", [][2]float64{{-117.20, 46.70}, {-117.19, 46.70}, {-117.19, 46.71}}, nil, 425072.663},
	} {
		t.Run(c.name, func(t *testing.T) {
			part := geo.Polygon{Shell: dense(c.shell)}
			if c.hole != nil {
				part.Holes = [][]geo.LonLat{dense(c.hole)}
			}
			f, err := field.NewField(c.name, []geo.Polygon{part})
			require.NoError(t, err)
			var got plane.Area
			for _, p := range f.Boundary {
				got += p.Area()
			}
			assert.InDelta(t, c.want, sq(got), gridError(f.Perimeter().Metres()))
		})
	}
}

// A headland of k rounds in a rectangle takes LB - (L-2kw)(B-2kw): a quarter
// section of 2,640 ft and a 54 ft bar, one round 12.82314 ac, two 25.11074 ac
// (plain geometry). All lengths are whole on the grid, and so is the zone.
func TestRectangleHeadland(t *testing.T) {
	const side, w = 2640 * foot, 54 * foot
	land := rectangle(side, side)
	h := newHand(land)
	h.pass(300, 100, 300, 200)
	for _, c := range []struct {
		rounds int
		lap    float64 // ft
		acres  float64
	}{{1, 0, 12.82314}, {2, 0, 25.11074}, {2, 4, (2640*2640 - (2640-2*104)*(2640-2*104)) / 43560.0}} {
		opt := field.Options{Rounds: c.rounds, Lap: plane.Metres(c.lap * foot)}
		m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(w, 0, 1))}, opt)
		assert.InDelta(t, c.acres, sq(m.Headland.Area)/acre, 0.5e-5)
		assert.Equal(t, m.Headland.Completion(), float64(m.Headland.Covered)/float64(m.Headland.Area))
	}
}

// The overlap study of the Alberta AgTech Centre (tables printed in Grainews, 20
// April 2009): a quarter section of 2,640 ft, a 55 ft seeder, two headland
// passes at either end and a constant overlap o. With e = 55 - o there are
// n = ceil(2640/e) passes, 2640 - 4e ft long.
//
//	+--------------------+
//	|  two headland      |  each begins o before the last one's end; the first
//	|--------------------|  begins o outside
//	|  |  |  |  |  |  |  |
//	|  |  |  |  |  |  |  |  so do the passes; the last one overhangs
//	|--------------------|
//	|  two headland      |
//	+--------------------+
//
// The table leaves out what the last pass overhangs: here it lies outside, as
// over-reach. Its acres are printed to the last digit of a float64; the
// tolerance is the 0.01 ac that a report shows.
func TestAlbertaOverlap(t *testing.T) {
	const side = 2640.0
	for _, c := range []struct{ o, n, acres float64 }{
		{0, 48, 0}, {1, 49, 2.7922865}, {2, 50, 5.70486685}, {3, 51, 8.73829201}, {4, 52, 11.8931129}, {5, 53, 15.1698806},
	} {
		t.Run(fmt.Sprintf("%v ft", c.o), func(t *testing.T) {
			land := rectangle(side*foot, side*foot)
			h := newHand(land)
			e := 55 - c.o
			for k := range 2 {
				mid := (float64(k)*e + (e-c.o)/2) * foot
				h.pass(0, mid, side*foot, mid)
				h.pass(side*foot, side*foot-mid, 0, side*foot-mid)
			}
			for k := range int(c.n) {
				mid := (float64(k)*e + (e-c.o)/2) * foot
				from, to := 2*e*foot, (side-2*e)*foot
				if k%2 == 1 {
					from, to = to, from
				}
				h.pass(mid, from, mid, to)
			}
			m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(55*foot, 0, 1))}, field.Options{Rounds: 2})
			g := m.Totals
			assert.Len(t, m.Passes, 4+int(c.n))
			assert.InDelta(t, c.acres, sq(g.Overlap)/acre, 0.01)
			assert.InDelta(t, c.acres, sq(g.Excess)/acre, 0.01)
			assert.InDelta(t, 0, sq(g.Skip)/acre, 0.01)
			l := side - 4*e
			over := (2*side*c.o + (c.n*e+c.o-side)*l) * squareFoot / acre
			assert.InDelta(t, over, sq(g.OverReach)/acre, 0.01)
		})
	}
}

// Three straight 54 ft passes, 1,000 ft long (plain geometry, in square feet).
func TestThreePasses(t *testing.T) {
	for _, c := range []struct {
		name                                  string
		spacing                               float64
		swept, covered, excess, overlap, skip float64
	}{
		{"53 ft apart they lap", 53, 162000, 160000, 2000, 2000, 0},
		{"55 ft apart they skip", 55, 162000, 162000, 0, 0, 2000},
		{"54 ft apart they meet", 54, 162000, 162000, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			land := rectangle((2*c.spacing+54)*foot, 1000*foot)
			h := newHand(land)
			for k := range 3 {
				x := (27 + float64(k)*c.spacing) * foot
				h.pass(x, 0, x, 1000*foot)
			}
			g := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(54*foot, 0, 9))}, field.Options{}).Totals
			tol := gridError(6*1000*foot) / squareFoot
			assert.InDelta(t, c.swept, sq(g.Swept)/squareFoot, tol)
			assert.InDelta(t, c.covered, sq(g.Covered)/squareFoot, tol)
			assert.InDelta(t, c.excess, sq(g.Excess)/squareFoot, tol)
			assert.InDelta(t, c.overlap, sq(g.Overlap)/squareFoot, tol)
			assert.InDelta(t, c.skip, sq(g.Skip)/squareFoot, tol)
			assert.InDelta(t, 0, sq(g.OverReach)/squareFoot, tol)
		})
	}
}

// Three identical passes of area A: excess 2A, ground covered more than once
// A; the sum over pairs of passes, 3A, would be neither.
func TestThreeTimes(t *testing.T) {
	land := rectangle(20, 300)
	h := newHand(land)
	for range 3 {
		h.pass(10, 50, 10, 250)
	}
	g := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(12, 0, 3))}, field.Options{}).Totals
	assert.Equal(t, g.Covered, g.Overlap)
	assert.Equal(t, 2*g.Covered, g.Excess)
	assert.Equal(t, g.Covered, g.ByDepth[3])
	assert.InDelta(t, 12*200, sq(g.Covered), gridError(2*212))
}

// angled drives one 54 ft pass north into a headland edge at an angle, the
// field as wide as the bar, and lifts each of n sections where stop says: as a
// share of the section's width from its first corner to cross to its last.
func angled(t *testing.T, w, degrees float64, n int, stop float64) coverage.Totals {
	rise := w / math.Tan(degrees*math.Pi/180)
	const length = 120.0
	shape := covertest.Shape{{X: 0, Y: 0}, {X: w, Y: 0}, {X: w, Y: length + rise}, {X: 0, Y: length}}
	land := covertest.NewScene("angled", shape).Field
	im := covertest.Mounted(w, 0, n)
	h := newHand(land)
	h.fix(10, w/2, -3, false, 0)
	y := 0.0
	// to goes on to a place, at 2 m/s and in steps of no more than 3 m, and
	// takes another state there.
	to := func(next float64, state machine.StateID) {
		from, now := y, h.track.Fixes[len(h.track.Fixes)-1].State
		steps := math.Ceil((next - from) / 3)
		for k := 1.0; k < steps; k++ {
			h.fix((next-from)/steps/2, w/2, from+(next-from)*k/steps, true, now)
		}
		h.fix((next-from)/max(1, steps)/2, w/2, next, true, state)
		y = next
	}
	h.fix(1, w/2, 0, true, 0)
	for i := range n {
		next := length + (float64(i)+stop)*rise/float64(n)
		if i == n-1 {
			to(next, 0)                     // the last working fix
			h.fix(2, w/2, next+3, false, 0) // on the beat or later
			break
		}
		h.track.States = append(h.track.States, machine.State{{Left: im.Sections[i+1].Left, Right: im.Sections[n-1].Right}})
		to(next, machine.StateID(i+1))
	}
	return measure(t, land, []machine.Logged{h.machine(im)}, field.Options{}).Totals
}

// Where a swath meets the headland's edge at an angle θ and leaves no skip, it
// works w² / (2 tan θ) beyond; with n sections shut one by one an nth of that.
// Shut at the first corner it leaves as much out, and at the centre the two are
// even, w² / (8 tan θ). Plain geometry; figures in square feet an end.
func TestAngledHeadland(t *testing.T) {
	for _, c := range []struct {
		width, degrees, want float64
	}{
		{54, 90, 0}, {54, 75, 390.670}, {54, 60, 841.777}, {54, 45, 1458}, {54, 30, 2525.330},
		{90, 60, 2338.269}, {90, 45, 4050},
	} {
		for _, n := range []int{1, 4, 9, 54} {
			t.Run(fmt.Sprintf("%v ft %v deg %d sections", c.width, c.degrees, n), func(t *testing.T) {
				const first, centre, last = 0, 0.5, 1
				w := c.width * foot
				// Outlines: the slanted edge, two and a half sides of each section's end.
				tol := (gridError(8*w/math.Sin(c.degrees*math.Pi/180)+2*120) + 0.0005*squareFoot) / squareFoot
				want := c.want / float64(n)
				g := angled(t, w, c.degrees, n, last)
				assert.InDelta(t, want, sq(g.OverReach)/squareFoot, tol)
				assert.InDelta(t, 0, sq(g.Skip)/squareFoot, tol)
				g = angled(t, w, c.degrees, n, first)
				assert.InDelta(t, want, sq(g.Skip)/squareFoot, tol)
				assert.InDelta(t, 0, sq(g.OverReach)/squareFoot, tol)
				g = angled(t, w, c.degrees, n, centre)
				assert.InDelta(t, want/4, sq(g.Skip)/squareFoot, tol)
				assert.InDelta(t, want/4, sq(g.OverReach)/squareFoot, tol)
			})
		}
	}
}

// A swath on an arc is width × radius × angle while half the width is less
// than the radius (Pappus of Alexandria, second theorem): R 60 ft, w 54 ft, a
// half turn is 10,178.760 ft².
//
// A chord that turns by q lies r q²/8 inside an arc of radius r, 2/3 of it on
// average. The outer end's, R + w/2 out, may be as much as [sweep.Thin] and
// the 2 mm by which the line from fix to fix may itself leave the arc; then the
// inner end's is (R - w/2)/(R + w/2) of it. What the swath loses along the one
// less what it gains along the other is 2/3 (Thin + 2 mm) angle × w × 2R/(R + w/2).
func TestArcSwath(t *testing.T) {
	const R, w = 60 * foot, 54 * foot
	for _, step := range []float64{0.25, 2} { // metres between fixes
		for _, sense := range []float64{1, -1} {
			land := covertest.NewScene("arc", covertest.Rectangle(-50, -50, 50, 50)).Field
			h := newHand(land)
			n := 2 * math.Ceil(math.Pi*R/step/2)
			// It is on the arc before it is lowered and after it is lifted.
			for k := -n / 2; k <= 1.5*n; k++ {
				sin, cos := math.Sincos(math.Pi * k / n)
				h.fix(step/2, R*cos, sense*R*sin, k >= 0 && k <= n, 0)
			}
			m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(w, 0, 6))}, field.Options{})
			tol := 2.0 / 3 * (sweep.Thin.Metres() + 0.002) * math.Pi * w * 2 * R / (R + w/2)
			assert.InDelta(t, 10178.760*squareFoot, sq(m.Totals.Covered), tol, "step %v", step)
			assert.Zero(t, m.Totals.Overlap, "step %v", step)
		}
	}
}

// hitched drives a towed bar of 5 m with its antenna pin metres before the
// hitch, and returns the poses of the bar, one for each place.
func hitched(t *testing.T, pin, tow float64, start *plane.Angle, places []covertest.XY) []work.Pose {
	land := covertest.NewScene("tow", covertest.Rectangle(-200, -200, 200, 200)).Field
	im := covertest.Towed(5, pin, tow, 1)
	im.StartHeading = start
	h := newHand(land)
	for _, p := range places {
		h.fix(0.1, p.X, p.Y, true, 0)
	}
	passes, _, warnings := coverage.Split(land, []machine.Logged{h.machine(im)}, field.Options{})
	if start == nil { // it works from its first fix on, and nobody says how it stood
		require.Len(t, warnings, 1)
		require.Contains(t, warnings[0].Text, "before the towed bar was pulled in line")
	} else {
		require.Empty(t, warnings)
	}
	require.Len(t, passes, 1)
	byTime := map[geo.Instant]work.Pose{}
	for _, p := range passes[0].Poses {
		byTime[p.Time] = p
	}
	var out []work.Pose
	for _, f := range h.track.Fixes {
		p, ok := byTime[f.Time]
		require.True(t, ok)
		out = append(out, p)
	}
	return out
}

// A hitch on a straight line, the bar at a right angle to it at first, draws
// the tractrix x = L(u - tanh u), y = L sech u, u = s/L (ProofWiki, "Equation
// of Tractrix"). L = 30 ft, figures in feet; the bar is held to a millimetre.
func TestTowedTractrix(t *testing.T) {
	var places []covertest.XY
	for k := range 241 { // every half foot
		places = append(places, covertest.XY{X: float64(k) * 0.5 * foot})
	}
	across := plane.Degrees(180.0) // the bar is north of the hitch, so it heads south
	poses := hitched(t, 0, 30*foot, &across, places)
	for _, c := range []struct{ s, x, y, degrees float64 }{
		{0, 0, 30, 90}, {15, 1.136485, 26.604567, 62.476192}, {30, 7.152175, 19.441628, 40.395063},
		{60, 31.079173, 7.974067, 15.414627}, {90, 60.148357, 2.979838, 5.700471}, {120, 90.020120, 1.098570, 2.098583},
	} {
		p := poses[int(c.s*2)]
		assert.InDelta(t, c.x*foot, p.Bar.X.Metres(), 0.001, "x after %v ft", c.s)
		assert.InDelta(t, c.y*foot, p.Bar.Y.Metres(), 0.001, "y after %v ft", c.s)
		assert.InDelta(t, c.degrees, p.Heading.Degrees()-90, 0.001/9.144*180/math.Pi, "angle after %v ft", c.s)
	}
}

// circleFrom is a path straight north for so long and then right on a circle
// of radius R for so long, every step metres, all in metres.
func circleFrom(straight, R, length, step float64) []covertest.XY {
	p := covertest.Start(0, -straight, 0).Straight(straight).Arc(R, length/R)
	var out []covertest.XY
	legs := p.Legs
	for k := -math.Round(straight / step); k*step <= length+1e-9; k++ {
		s := k * step
		leg, d := legs[0], s+straight
		if s > 0 {
			leg, d = legs[1], s
		}
		out = append(out, leg.At(d).XY)
	}
	return out
}

// Settled on a circle the bar follows one with R_t² = R² - L², with the pin c
// behind the antenna R² + c² - L² (a municipal off-tracking chart for
// semitrailers, record 17311 p. 53, metro-inet.us). In feet.
//
// What is left of the start after s is exp(-s cos ψ/L) of it, ψ the settled
// articulation: after fifteen tow lengths 6e-6 of it, 0.1 mm. The
// parabola through 2.5 m either way lies 2.5⁴/(24 R³) × 3/35 off a circle,
// under 0.1 mm; a tick rounds.
func TestTowedOnCircle(t *testing.T) {
	for _, c := range []struct{ R, pin, L, settled float64 }{
		{60, 0, 20, 56.568542}, {60, 0, 30, 51.961524}, {50, 0, 30, 40}, {100, 0, 30, 95.393920}, {100, 0, 40, 91.651514}, {60, 4, 30, 52.115257},
	} {
		poses := hitched(t, c.pin*foot, c.L*foot, nil, circleFrom(10, c.R*foot, 15*c.L*foot, 0.25))
		for _, p := range poses[len(poses)-40 : len(poses)-10] { // the end has nothing after it to smooth with
			got := math.Hypot(p.Bar.X.Metres()-c.R*foot, p.Bar.Y.Metres())
			assert.InDelta(t, c.settled*foot, got, 0.001, "R %v, L %v", c.R, c.L)
		}
	}
}

// From a straight into a circle the articulation ψ grows by dψ/ds = 1/R - sin
// ψ/L (memory: textbooks on vehicle turning). In feet and degrees.
//
// A millimetre at the bar is 0.006 degrees here.
func TestTowedIntoCircle(t *testing.T) {
	for _, c := range []struct{ R, L, s, psi float64 }{
		{60, 30, 30, 18.1893}, {60, 30, 60 * math.Pi / 2, 28.2341}, {60, 30, 60 * math.Pi, 29.8847},
		{100, 30, 30, 10.8827}, {100, 30, 100 * math.Pi / 2, 17.3439}, {100, 30, 100 * math.Pi, 17.4568},
	} {
		step := c.s * foot / math.Round(c.s*foot/0.2)
		places := circleFrom(100*step, c.R*foot, c.s*foot+20*step, step)
		poses := hitched(t, 0, c.L*foot, nil, places)
		p := poses[100+int(math.Round(c.s*foot/step))]
		assert.InDelta(t, c.psi, (c.s/c.R-float64(p.Heading))*180/math.Pi, 0.001/(c.L*foot)*180/math.Pi, "R %v, %v ft on", c.R, c.s)
	}
}

// The same job somewhere else has the same areas: across the antimeridian, in
// the south, far in the north. The boundary goes by way of degrees.
//
// Laid around another middle the plane turns and shears by 1e-7 at most within
// a field of 300 m (see [geo.Frame]), which moves nothing by a tick; what is
// left is rounding along all outlines.
func TestSameJobElsewhere(t *testing.T) {
	job := func(at geo.LonLat) (coverage.Totals, coverage.Headland) {
		ground := covertest.Rectangle(-100, -75, 100, 75)
		hole := covertest.Disc(covertest.XY{X: 20, Y: 10}, 11, 12)
		s := covertest.NewSceneAt(at, "somewhere", ground, hole)
		path := covertest.NewPath(5).Round(ground.Inset(3), 7, 2).HoleRound(hole, 3)
		path.Lines(covertest.Lines{
			Ground: ground.Inset(6), Holes: []covertest.Shape{hole.Inset(-6)},
			Width: 6, Spacing: 5.9, Ends: covertest.LastCorner, RunIn: 4,
		})
		s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(6, 2, 4), Path: path, Speed: 2, Rate: 5})
		var part geo.Polygon
		earth := func(r plane.Ring) []geo.LonLat {
			var out []geo.LonLat
			for _, p := range r {
				place := s.Field.Frame.ToEarth(p)
				place.Lon = at.Lon + math.Remainder(place.Lon-at.Lon, 360) // runs on past 180
				out = append(out, place)
			}
			return out
		}
		part.Shell = earth(s.Field.Boundary[0].Shell)
		part.Holes = [][]geo.LonLat{earth(s.Field.Boundary[0].Holes[0])}
		land, err := field.NewField("somewhere", []geo.Polygon{part})
		require.NoError(t, err)
		m := measure(t, land, s.Machines, field.Options{})
		return m.Totals, m.Headland
	}
	want, headland := job(geo.LonLat{Lon: -117.2, Lat: 46.7})
	const outline = 2 * (30000 / 6) * 1.1 // both sides of all passes, in metres
	tol := 2 * gridError(outline)
	for _, at := range []geo.LonLat{
		{Lon: 180, Lat: 51}, {Lon: 179.9995, Lat: -17}, {Lon: -179.9995, Lat: 65}, {Lon: 148, Lat: -33}, {Lon: 0, Lat: 0}, {Lon: -68, Lat: -54}, {Lon: 25, Lat: 70},
	} {
		got, h := job(at)
		for _, c := range []struct {
			name      string
			want, got plane.Area
		}{
			{"field", want.Field, got.Field}, {"covered", want.Covered, got.Covered}, {"skip", want.Skip, got.Skip},
			{"overlap", want.Overlap, got.Overlap}, {"excess", want.Excess, got.Excess}, {"over-reach", want.OverReach, got.OverReach},
			{"swept", want.Swept, got.Swept}, {"headland", headland.Area, h.Area}, {"headland covered", headland.Covered, h.Covered},
		} {
			assert.InDelta(t, sq(c.want), sq(c.got), tol, "%s at %v", c.name, at)
		}
	}
}
