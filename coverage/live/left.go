package live

import (
	"lapwing/coverage/region"
	"lapwing/coverage/stance"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/raster"
)

// A remainder is the ground left, as far as the last answer knew and less what was
// worked since.
type remainder struct {
	bare     *raster.Bitmap // what was not worked then; nil: nothing is known
	area     float64        // m²
	capacity float64        // m²/s of all machines together, stops and turns included; 0 where not known
}

// leftCells bounds the memory of the ground left, in cells: 2.5 MB of bits, a fortieth of
// what the engine may take. 20 ha of it have cells of 10 cm then, and 320 ha of 40 cm, far
// finer than what a bar leaves. No test fails where it is halved or doubled: what is told is
// the area, which begins at the answer's and not at the sum of the cells. Judgement.
const leftCells = 20e6

// newRemainder finds the ground left of what a map holds.
func newRemainder(regions []region.Region, area plane.Area) remainder {
	var sum, outlines float64
	bare := func(r *region.Region) bool { return r.Kind == region.Skip || r.Kind == region.Unlogged }
	for i := range regions {
		if r := &regions[i]; bare(r) {
			sum += float64(r.Area)
			outlines += float64(r.Shape.Perimeter())
		}
	}
	left := remainder{area: area.SquareMetres(), bare: raster.New(raster.GrainFor(sum, outlines, leftCells))}
	for i := range regions {
		if r := &regions[i]; bare(r) {
			left.bare.Fill(r.Shape.Rings())
		}
	}
	return left
}

// acrossBar is at how many places of a bar it is asked whether the ground was bare: of a
// bar of 24 m one every 1.5 m, so that an edge of bare ground is placed to 0.75 m.
const acrossBar = 16

// work takes away what a bar worked on its last metres.
func (r *remainder) work(b stance.Bar, left, right plane.Length, length float64) {
	if r.bare == nil {
		return
	}
	n := 0
	for k := range acrossBar {
		if r.bare.Has(b.End(left + (right-left)*plane.Length(2*k+1)/(2*acrossBar))) {
			n++
		}
	}
	r.area = max(0, r.area-length*(right-left).Metres()*float64(n)/acrossBar)
}

// finish is when the ground left will be done, if work goes on as it has.
func (r *remainder) finish(now geo.Instant) (geo.Instant, bool) {
	const century = 100 * 365 * 24 * 3600 // seconds
	if r.capacity <= 0 {
		return 0, false
	}
	return now + geo.Instant(min(r.area/r.capacity, century)*1e9), true
}
