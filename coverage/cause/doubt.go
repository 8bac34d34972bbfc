package cause

import (
	"math"

	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/geo/plane/raster"
)

// What ground is told in doubt by, near enough for a share: judgement, no source.
const (
	doubtLooks = 40  // along a bar
	doubtCells = 4e6 // of a patch, at most
	doubtParts = 1e3 // that a share is rounded to
)

// A doubtful stretch is one on which it is in doubt whether the bar worked.
type doubtful struct {
	bars   []stance.Bar
	left   plane.Length // the ends of the bar
	width  plane.Length
	around plane.Box
	wrong  float64 // how likely the judgement is wrong about ground that it decides on
	works  bool
}

// Doubt fills in how likely it is that skips were worked after all, and that overlaps were
// not, where no log says when the bar worked:
//
//	headland
//	---------
//	|. . . .|   the bar goes over the skip, and is judged to be lifted
//	|=======|
func Doubt(regions []region.Region, skips []Skip, overlaps []Overlap, machines []machine.Machine, judged []work.Judgement) {
	var all []doubtful
	for i := range judged {
		if j := &judged[i]; len(j.Poses) > 1 {
			all = append(all, newDoubtful(j, &machines[j.Machine].Implement))
		}
	}
	if len(all) == 0 {
		return
	}
	parallel.Each(len(skips)+len(overlaps), func(k int) {
		if k < len(skips) {
			skips[k].Doubt = doubtOf(&regions[skips[k].Region], all, false)
			return
		}
		k -= len(skips)
		overlaps[k].Doubt = doubtOf(&regions[overlaps[k].Region], all, true)
	})
}

// InDoubt reports whether more of a patch is in doubt than is left out of telling.
func InDoubt(doubt float64) bool { return doubt > 1-work.Sure }

func newDoubtful(j *work.Judgement, im *machine.Implement) doubtful {
	whole := im.Whole()[0]
	d := doubtful{left: whole.Left, width: whole.Right - whole.Left, wrong: 1 - j.SureOfGround, works: j.Works, around: plane.Empty()}
	for k := range j.Poses {
		b := work.BarOf(&j.Poses[k])
		d.bars = append(d.bars, b)
		d.around = d.around.Add(b.End(whole.Left)).Add(b.End(whole.Right))
	}
	return d
}

// doubtOf returns the share of a patch that is likely other than it was judged: worked
// where the bar was judged to be lifted, or not worked where it was judged to work.
func doubtOf(r *region.Region, all []doubtful, works bool) float64 {
	if r.Area < Sliver {
		return 0
	}
	box := r.Shape.Shell.Bounds()
	var ground *raster.Bitmap
	right, area := 1.0, r.Area.SquareMetres()
	for i := range all {
		d := &all[i]
		if d.works != works || !d.around.Meets(box) {
			continue
		}
		if ground == nil {
			x, y := box.Size()
			ground = raster.Within(box, raster.GrainFor(float64(x)*float64(y), float64(r.Shape.Perimeter()), doubtCells))
			ground.Fill(r.Shape.Rings())
		}
		right *= 1 - d.wrong*min(1, d.over(ground)/area)
	}
	return math.Round(doubtParts*(1-right)) / doubtParts
}

// over returns how many square metres of some ground the bar goes over.
func (d *doubtful) over(ground *raster.Bitmap) (sum float64) {
	for k := 1; k < len(d.bars); k++ {
		b := &d.bars[k]
		each := d.bars[k-1].At.Distance(b.At).Metres() * d.width.Metres() / doubtLooks
		for n := range plane.Length(doubtLooks) {
			if ground.Has(b.End(d.left + d.width*(2*n+1)/(2*doubtLooks))) {
				sum += each
			}
		}
	}
	return sum
}
