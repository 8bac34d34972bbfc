package coverage

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// Options say how to measure. The zero value is what most fields want.
type Options struct {
	// MaxGap is the longest silence of the log that a swath bridges; ground
	// past it is unlogged. Zero means the longer of 3 s and 2.5 logging
	// intervals. Too short, and turns fall silent; too long, and a skip is
	// painted over.
	MaxGap time.Duration
	// Rounds is how many rounds the headland has. Zero means one.
	Rounds int
	// Lap is how far headland rounds lap each other by plan.
	Lap plane.Length
	// EdgeAllowance is a stand-off from the boundary left on purpose.
	EdgeAllowance plane.Length
	// EdgeTolerance is the stand-off up to which the boundary counts as
	// reached. Zero means half a row spacing, or 6 in where no machine says
	// its row spacing. Too small, and GNSS noise opens the headland; too
	// large, and a missed row goes unseen.
	EdgeTolerance plane.Length
	// Shift is how far all tracks are moved, east and north, before anything
	// is measured: the boundary was surveyed against another reference.
	Shift plane.Point
}

// Measure finds how often each part of field was covered. A field without a
// boundary is taken to be the worked ground.
func Measure(field Field, machines []Machine, opt Options) (*Map, error) {
	if err := opt.fit(machines); err != nil {
		return nil, err
	}
	if len(field.Boundary) == 0 {
		around, ok := FieldAround(machines)
		if !ok {
			return nil, errors.New("no fix has a position")
		}
		field.Frame = around.Frame
	}
	passes, warnings := Split(field, machines, opt) // where the bar was working
	ground := Sweep(passes, machines)               // the swaths it left, and the silences
	m := Lay(field, machines, ground, opt)          // how deep the swaths lie
	m.Warnings = append(warnings, m.Warnings...)
	if !m.Field.Worked {
		if w, is := m.likelyShift(opt.Shift); is {
			m.Warnings = append(m.Warnings, w)
		}
	}
	return m, nil
}

// fit says which implement or headland is too large for the grid, if one is.
func (o *Options) fit(machines []Machine) error {
	for i := range machines {
		if reach := machines[i].Implement.Reach(); reach > Room {
			return fmt.Errorf("machine %q: found a bar that reaches %.0f m from the antenna, want %.0f m at most",
				machines[i].Name, reach.Metres(), Room.Metres())
		}
	}
	if deep := o.HeadlandWidth(machines); deep > Room {
		return fmt.Errorf("headland: found %d rounds that are %.0f m deep, want %.0f m at most", max(1, o.Rounds), deep.Metres(), Room.Metres())
	}
	return nil
}

// FieldAround returns a field without a boundary in the midst of the fixes of
// some machines, and whether any fix has a position.
func FieldAround(machines []Machine) (Field, bool) {
	at, ok := middle(machines)
	return Field{Frame: geo.NewFrame(at)}, ok
}

// middle returns a place in the midst of the fixes: the medians of their
// longitudes and latitudes, which a few wild ones do not move.
func middle(machines []Machine) (geo.LonLat, bool) {
	var lons, lats []float64
	for i := range machines {
		for j := range machines[i].Tracks {
			for _, f := range machines[i].Tracks[j].Fixes {
				if f.At != (geo.LonLat{}) && f.At.Valid() {
					lons, lats = append(lons, f.At.Lon), append(lats, f.At.Lat)
				}
			}
		}
	}
	if len(lons) == 0 {
		return geo.LonLat{}, false
	}
	slices.Sort(lons)
	slices.Sort(lats)
	return geo.LonLat{Lon: lons[len(lons)/2], Lat: lats[len(lats)/2]}, true
}
