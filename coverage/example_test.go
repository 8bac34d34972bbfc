package coverage_test

import (
	"fmt"
	"math"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A field of 100 m by 15 m is worked in two passes to the north with a bar of 7 m.
// They lie 8 m apart, a metre more than the bar is wide:
//
//	|=======| |=======|
//	0       7 8       15
func ExampleMeasure() {
	frame := geo.NewFrame(geo.LonLat{Lon: -104.5, Lat: 49.1})
	at := func(east, north float64) geo.LonLat { return frame.FromMetres(east, north) }

	land, err := field.NewField("two passes", []geo.Polygon{{
		Shell: []geo.LonLat{at(0, 0), at(15, 0), at(15, 100), at(0, 100)},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}

	// A fix each second, every 2 m; the bar is right below the antenna.
	track := machine.Track{File: "log.csv", States: []machine.State{nil}, WorkingLogged: true}
	start := geo.InstantOf(time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC))
	second := geo.Instant(time.Second)
	for pass, east := range []float64{3.5, 11.5} {
		track.Breaks = append(track.Breaks, len(track.Fixes))
		for i := range 51 {
			now := start + geo.Instant(100*pass+i)*second
			track.Fixes = append(track.Fixes, machine.Fix{Working: true,
				Fix: geo.Fix{Time: now, At: at(east, float64(2*i)), Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}})
		}
	}
	width := 7 * plane.Metre
	drill := machine.Logged{Tracks: []machine.Track{track}, Machine: machine.Machine{
		Name: "drill", Implement: machine.Implement{Width: width, Sections: machine.EqualSections(width, 1)}}}

	m, err := coverage.Measure(land, []machine.Logged{drill}, field.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("field %.1f m², covered %.1f m², skip %.1f m²\n",
		m.Totals.Field.SquareMetres(), m.Totals.Covered.SquareMetres(), m.Totals.Skip.SquareMetres())
	fmt.Println(m.Totals.Skip+m.Totals.Covered+m.Totals.Unlogged == m.Totals.Field)
	// The skip is cut where the headland begins, a working width from either end.
	for _, s := range m.Skips {
		fmt.Printf("%v: %.1f m²\n", s.Cause, s.Area.SquareMetres())
	}
	// Output:
	// field 1500.0 m², covered 1400.0 m², skip 100.0 m²
	// true
	// between passes: 86.0 m²
	// between passes: 7.0 m²
	// between passes: 7.0 m²
}
