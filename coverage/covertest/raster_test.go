package covertest

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// What is a new visit and what is not, in closed form. The tolerance is four
// standard errors of the count: 1.2 × side^1.5 × √outline, outlines under 600 m.
func TestVisits(t *testing.T) {
	const side, w = 0.1, 6.0
	tolerance := 1.2 * math.Pow(side, 1.5) * math.Sqrt(600)
	field := NewScene("", Rectangle(-80, -80, 80, 80)).Field
	for _, c := range []struct {
		name             string
		path             *Path
		covered, overlap float64
	}{
		{"a straight", Start(-20, 3, 0.3).On().Straight(30), 30 * w, 0},
		// After once round the next 10 m are met again, 188 m later.
		{"a round that laps its start", Start(0, 0, 0).On().Arc(30, -2*math.Pi-1.0/3), 2 * math.Pi * 30 * w, 10 * w},
		// Round a place on the bar itself, 9.4 m a turn: under two widths.
		{"a pivot, twice round", Start(0, 0, 0).On().Arc(1.5, 4*math.Pi), math.Pi * 4.5 * 4.5, 0},
		{"standing", Start(0, 0, 0.1).On().Straight(10).Stand(60).Straight(10), 20 * w, 0},
		// Over its own way at a right angle.
		{
			"a loop over itself", Start(0, 0, 0).On().Straight(50).Arc(20, 1.5*math.Pi).Straight(40),
			(90+20*1.5*math.Pi)*w - w*w, w * w,
		},
		{"crossing, lifted between", Start(-20, 0, math.Pi/2).On().Straight(40).Off().Stand(5).Jump(Stance{XY{1, -20}, 0}).On().Straight(40), 80*w - w*w, w * w},
	} {
		t.Run(c.name, func(t *testing.T) {
			rig := Rig{Name: "a", Implement: Mounted(w, 0, 1), Speed: 2, Rate: 1, Path: c.path}
			d := Raster(field, rig.Trails(), side)
			assert.InDelta(t, c.covered, d.Covered(), tolerance)
			assert.InDelta(t, c.overlap, d.Overlap(), tolerance)
		})
	}
}

// The two oracles agree on passes that meet at odd angles.
func TestRasterAgreesWithExact(t *testing.T) {
	s := NewScene("", Rectangle(-30, -30, 30, 30))
	path := NewPath(6)
	for i := range 5 {
		h := 0.7 * float64(i)
		path.Off().TurnTo(Stance{XY{}.plus(-12, ahead(h)).plus(float64(i)-2, right(h)), h}).On().Straight(24)
	}
	s.Drive(Rig{Name: "a", Implement: Mounted(5, 0, 1), Speed: 2, Rate: 1, Path: path.Off()})
	var layers [][]plane.Ring
	for _, tr := range s.Trails {
		layers = append(layers, tr.Rings())
	}
	exact := ExactDepths(layers)
	const side = 0.02
	counted := Raster(s.Field, s.Trails, side)
	for depth := 1; depth <= 5; depth++ {
		want := new(big.Rat)
		if exact[depth] != nil {
			want.Quo(exact[depth], big.NewRat(int64(plane.Metre)*int64(plane.Metre), 1))
		}
		m2, _ := want.Float64()
		var got float64
		if depth < len(counted.Inside) {
			got = counted.Inside[depth]
		}
		assert.InDelta(t, m2, got, 1.2*math.Pow(side, 1.5)*math.Sqrt(300), "depth %d", depth)
	}
	assert.Positive(t, counted.Overlap())
}
