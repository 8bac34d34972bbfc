package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// bent is a drive of curves with the product on: two half turns of a radius,
// one to each side, with straights between.
func bent(radius float64) *covertest.Path {
	return covertest.Start(0, 0, 0).Straight(30).On().Straight(60).Arc(radius, math.Pi).Straight(60).Arc(radius, -math.Pi).Straight(60).Off().Straight(20)
}

// holdsCurve holds what a bar swept to the noise-free truth, within share of it
// and a step of the bar at either end.
func holdsCurve(t *testing.T, rig covertest.Rig, share float64, why string) *coverage.Map {
	t.Helper()
	s := covertest.NewScene("curves", covertest.Rectangle(-200, -200, 300, 300))
	s.Drive(rig)
	const side = 0.1
	truth := covertest.Raster(s.Field, s.Trails, side)
	m := measure(t, s.Field, s.Machines, field.Options{})
	width := rig.Implement.Width.Metres()
	ends := 2 * rig.Speed / rig.Rate * width
	t.Logf("%s: covered %.1f for %.1f, overlap %.1f for %.1f", why, sq(m.Totals.Covered), truth.Covered(), sq(m.Totals.Overlap), truth.Overlap())
	assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), share*truth.Covered()+ends, why)
	assert.InDelta(t, truth.Overlap(), sq(m.Totals.Overlap), share*truth.Covered()+ends, why)
	return m
}

// A sprayer at 6 m/s that is logged once a second has a fix every 6 m: eight of
// them in a half turn of 15 m. Chords would cut 0.3 m off the corner, on
// average 0.2 m along 47 m.
func TestSparseFixesInATurn(t *testing.T) {
	for _, rate := range []float64{1, 2, 5} {
		for _, noise := range []float64{0, 0.02} {
			holdsCurve(t, covertest.Rig{
				Name: "sprayer", Implement: covertest.Mounted(24, 0, 6), Path: bent(15), Speed: 6, Rate: rate, Seed: 3,
				Defects: []covertest.Defect{covertest.White(noise)},
			}, 0.002, fmt.Sprintf("%v Hz, noise %v m", rate, noise))
		}
	}
}

// Of a turn without its ends, so that only the curve tells: the ring that a bar
// sweeps on half a circle, outer less inner, within 2 mm of radius.
func TestSparseFixesOnACircle(t *testing.T) {
	const radius, width = 15.0, 24.0
	land := covertest.NewScene("circle", covertest.Rectangle(-60, -60, 60, 60)).Field
	h := newHand(land)
	n := 0
	for a := -0.8; a < math.Pi+0.8; a += 6 / radius {
		working := a >= 0 && a <= math.Pi
		if working {
			n++
		}
		h.fix(1, radius*math.Cos(a), radius*math.Sin(a), working, 0)
	}
	g := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(width, 0, 1))}, field.Options{}).Totals
	angle := float64(n-1) * 6 / radius
	want := angle / 2 * (math.Pow(radius+width/2, 2) - math.Pow(radius-width/2, 2))
	assert.InDelta(t, want, sq(g.Covered), 0.004*width*angle+1)
}

// A cart between tractor and drill: the bar follows a link that follows a link.
func TestTwoLinkTow(t *testing.T) {
	imp := covertest.Towed(9, 1.5, 6, 4)
	imp.Cart = &machine.Cart{HitchToAxle: plane.Metres(5), AxleToHitch: plane.Metres(1)}
	for _, noise := range []float64{0, 0.02} {
		m := holdsCurve(t, covertest.Rig{
			Name: "drill", Implement: imp, Path: bent(16), Speed: 2, Rate: 5, Seed: 5,
			Defects: []covertest.Defect{covertest.White(noise)},
		}, towedShare, fmt.Sprintf("noise %v m", noise))
		assert.Empty(t, m.Warnings)
	}
}

// The antenna half a metre off the centre line, on either side, and a bar that
// is off it too: what is covered lies where the bar was, not the antenna.
func TestAntennaToTheSide(t *testing.T) {
	for _, right := range []float64{-0.8, 0.8} {
		for name, imp := range map[string]machine.Implement{"mounted": covertest.Mounted(9, 2, 3), "towed": covertest.Towed(9, 1.5, 6, 3)} {
			imp.AntennaRight, imp.Offset = plane.Metres(right), plane.Metres(-0.5)
			rig := covertest.Rig{Name: "drill", Implement: imp, Path: bent(16), Speed: 2, Rate: 5, Seed: 5}
			if name == "mounted" { // in turns its heading is known only from a log that tells it: see TestAntennaAheadInATurn
				rig.Path = covertest.Start(0, 0, 0).Straight(30).On().Straight(200).Off().Straight(20)
			}
			why := fmt.Sprintf("%s, %v m", name, right)
			holdsCurve(t, rig, towedShare, why)
			// Half of the field, cut where the bar's right end goes: the area tells
			// which side it is on.
			s := covertest.NewScene("half", covertest.Rectangle(0, 40, 300, 80))
			s.Drive(rig)
			truth := covertest.Raster(s.Field, s.Trails, 0.05)
			g := measure(t, s.Field, s.Machines, field.Options{}).Totals
			assert.InDelta(t, truth.Covered(), sq(g.Covered), 0.01*40+0.05, why)
		}
	}
}

// Where a log begins with work, or leaves the turns out, nobody knows how a
// towed bar stood: it is said, once, with how many passes it is about.
func TestUnknownStartHeading(t *testing.T) {
	const said = "before the towed bar was pulled in line"
	path := covertest.Start(0, 0, 0).On().Straight(60).Off().Straight(20).Arc(12, math.Pi).Straight(20).On().Straight(60).Off().Straight(10)
	imp := covertest.Towed(6, 1, 7, 2)
	drive := func(imp machine.Implement, defects ...covertest.Defect) []field.Warning {
		s := covertest.NewScene("start", covertest.Rectangle(-200, -200, 300, 300))
		s.Drive(covertest.Rig{Name: "drill", Implement: imp, Path: path, Speed: 2, Rate: 5, Seed: 5, Defects: defects})
		return measure(t, s.Field, s.Machines, field.Options{}).Warnings
	}
	assert.Equal(t, 1, countOf(drive(imp), said))
	assert.Equal(t, 2, countOf(drive(imp, covertest.OnlyWorking()), said), "after a turn that is left out")
	assert.Zero(t, countOf(drive(covertest.Mounted(6, 1, 2)), said))
	north := plane.Angle(0)
	imp.StartHeading = &north
	assert.Zero(t, countOf(drive(imp), said))
}

// A mounted bar drives the path and the antenna rides 2 m ahead of it: in a turn
// of 8 m the machine heads 14 degrees outside of where its antenna goes. A log
// that tells the heading tells that, with noise of 3 degrees too. The bar turns
// about a place so near its inner end that on a field that ends at the path's
// middle line half a degree is 0.3 m².
func TestAntennaAheadInATurn(t *testing.T) {
	for _, c := range []struct {
		name    string
		defects []covertest.Defect
	}{
		{"exact", nil},
		{"noise", []covertest.Defect{covertest.White(0.02)}},
		{"noisy heading", []covertest.Defect{covertest.White(0.02), covertest.HeadingNoise(0.05)}},
	} {
		s := covertest.NewScene("ahead", covertest.Disc(covertest.XY{}, 8, 720))
		s.Drive(covertest.Rig{
			Name: "drill", Implement: covertest.Mounted(6, 2, 1), Speed: 2, Rate: 10, Heading: true, Seed: 3, Defects: c.defects,
			Path: covertest.Start(0, -8, math.Pi/2).Arc(8, -0.5).On().Arc(8, -math.Pi).Off().Arc(8, -0.5),
		})
		g := measure(t, s.Field, s.Machines, field.Options{}).Totals
		assert.InDelta(t, covertest.Raster(s.Field, s.Trails, 0.05).Covered(), sq(g.Covered), 2, c.name)
	}
}
