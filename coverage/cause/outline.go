package cause

import (
	"slices"

	"lapwing/coverage/beside"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Outlined finds the skips along those sides of the field that do not fit the passes
// beside them: there the outline is likely off, and not the work. It adds their ground
// to the misfits.
func Outlined(l *region.Layout, skips []Skip, fit *beside.Fitting) {
	x := &explainer{l}
	for i := range skips {
		s := &skips[i]
		if s.Cause != BoundaryEdge {
			continue
		}
		r := &l.Regions[s.Region]
		var stretches [][2]plane.Point
		for j, ring := range r.Shape.Rings() {
			for k, p := range ring {
				if x.bounds(r.Across[j][k]) {
					stretches = append(stretches, [2]plane.Point{p, ring[(k+1)%len(ring)]})
				}
			}
		}
		if of := fit.Explains(stretches); of >= 0 {
			s.Outlined = true
			fit.Misfits[of].Area += s.Area
		}
	}
}

// What ground must be like to be left for good, and not ground not worked yet. Judgement.
// TestYards fails where either is doubled.
const (
	yardShare = 0.05 // of the field, at most
	doneShare = 0.25 // of all passes, that were made since the last one beside it, at least
)

// Yards finds ground inside the field that is not worked and will likely not be: the
// passes go round it, it is small against what was worked, and work went on elsewhere
// for long since the last pass beside it. Ground that is still to be worked is met by
// the last passes, or is much.
func Yards(l *region.Layout, skips []Skip) {
	ends := make([]geo.Instant, 0, len(l.Passes))
	for i := range l.Passes {
		if !l.Passes[i].NoClock {
			ends = append(ends, l.Passes[i].End)
		}
	}
	if len(ends) < len(l.Passes) || len(ends) == 0 {
		return
	}
	slices.Sort(ends)
	for i := range skips {
		s := &skips[i]
		if !s.Unworked() || len(s.Passes) == 0 || float64(s.Area) > yardShare*float64(l.Totals.Field) {
			continue
		}
		var last geo.Instant
		for _, id := range s.Passes {
			last = max(last, l.Passes[id-1].End)
		}
		since, _ := slices.BinarySearch(ends, last+1)
		s.Yard = float64(len(ends)-since) >= doneShare*float64(len(ends))
	}
}
