package field

import (
	"fmt"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// notes say how exact the figures are and what is not known.
func (d *Document) notes() []string {
	m := d.Map
	notes := []string{
		"Areas are exact sums of the pieces drawn here, on the WGS 84 ellipsoid. What is uncertain is where the machine was: a position that is off by a foot moves the edge of a pass by a foot.",
		"The shapes on the map are simplified to 4 in (10 cm) for drawing; coverage.geojson has them in full.",
		"Ground worked outside the boundary: its share is set against the field's area for comparison.",
	}
	if m.Field.Worked {
		notes = append(notes, "No boundary was given. The outer edge of the worked ground stands in for it, so ground left out along the edge cannot be seen.")
	}
	if m.Totals.Unlogged > 0 {
		notes = append(notes, "Log silent: where the log says nothing between two places while working. It may have been covered; it counts neither as covered nor as skip.")
	}
	if m.Totals.Remainder > 0 {
		notes = append(notes, "Ground not worked yet is wide enough for whole passes. It is priced as no mistake.")
	}
	if m.Thinned > 0 {
		notes = append(notes, fmt.Sprintf("Outlines lie within %s (%s) of the logged path of the bar.",
			quantity.US.FineLength(plane.Distance(m.Thinned)), quantity.Metric.FineLength(plane.Distance(m.Thinned))))
	}
	for i := range m.Machines {
		if slices.ContainsFunc(m.Passes, func(p coverage.Pass) bool { return p.Machine == i && !d.HasClock(&p) }) {
			notes = append(notes, "The log of "+m.Machines[i].Name+" has no clock: its passes are in the order of the file.")
		}
	}
	return notes
}
