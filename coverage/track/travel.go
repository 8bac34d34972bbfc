package track

import (
	"math"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/raster"
)

// longestStep is the longest way between two fixes that counts as driven.
// Judgement; no test holds it closely.
const longestStep = 1000.0 // m

// Travel returns how many fixes of some machines lie in none of some fields,
// and how many metres the machines drove from one such fix to the next: on the
// road, and in the yard.
func Travel(fields []field.Field, machines []machine.Logged, opt field.Options) (fixes int, metres float64) {
	grounds := make([]*raster.Bitmap, len(fields))
	grain := grainOf(fields, machine.Fixes(machines))
	for i := range fields {
		grounds[i] = raster.New(grain)
		for _, p := range fields[i].Boundary {
			grounds[i].Fill([]plane.Ring{p.Shell}) // a hole is no road
		}
	}
	boxes := make([]geo.Extent, len(fields))
	for i := range fields {
		boxes[i] = extentOf(&fields[i])
	}
	margin := degrees(plane.Metre + plane.Length(math.Hypot(float64(opt.Shift.X), float64(opt.Shift.Y))))
	inField := func(f *machine.Fix, near []int) bool {
		for _, i := range near {
			g := grounds[i]
			x, y := fields[i].Frame.Metres(f.At)
			if g.Has(plane.Point{X: plane.Metres(onPlane(x)) + opt.Shift.X, Y: plane.Metres(onPlane(y)) + opt.Shift.Y}) {
				return true
			}
		}
		return false
	}
	for _, m := range machines {
		for _, t := range m.Tracks {
			var last *machine.Fix
			var near []int // the fields that the fixes of a block may lie in
			for i := range t.Fixes {
				f := &t.Fixes[i]
				if i%blockFixes == 0 {
					near = near[:0]
					box := around(&t, i/blockFixes)
					for k := range boxes {
						if boxes[k].Meets(box, margin) {
							near = append(near, k)
						}
					}
				}
				if !f.At.Valid() || f.At.Lon == 0 && f.At.Lat == 0 || inField(f, near) {
					last = nil
					continue
				}
				fixes++
				if last != nil {
					ax, ay := fields[0].Frame.Metres(last.At)
					bx, by := fields[0].Frame.Metres(f.At)
					if d := math.Hypot(bx-ax, by-ay); d <= longestStep {
						metres += d
					}
				}
				last = f
			}
		}
	}
	return fixes, metres
}

// grainOf returns how finely fields are drawn for so many fixes to be looked for in
// them: a thousand fields of a square kilometre for ten fixes need not be to the
// decimetre. Judgement.
func grainOf(fields []field.Field, fixes int) raster.Grain {
	const most, each = 50e6, 400e3 // cells, as for inferring work (package work)
	var area, outlines float64
	for i := range fields {
		outlines += float64(fields[i].Perimeter())
		for _, p := range fields[i].Boundary {
			area += math.Abs(float64(p.Shell.Area())) / 2
		}
	}
	return raster.GrainFor(area, outlines, most+each*float64(fixes))
}

// onPlane keeps a length in metres where the grid can hold it.
func onPlane(m float64) float64 {
	const far = 1e6
	return max(-far, min(far, m))
}
