package cause

import (
	"slices"

	"lapwing/coverage/region"
	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/geo/plane/inscribed"
)

// A Skip is one patch of skipped ground with what is known of it.
type Skip struct {
	Region   int // index into Layout.Regions
	Area     plane.Area
	Length   plane.Distance // along its longer extent
	Width    plane.Distance // of the widest circle that fits in it: the largest inscribed circle
	At       plane.Point    // the middle of that circle: a place inside the patch
	Cause    SkipCause
	Machines []int // indices of the machines beside it, rising
	Passes   []int // IDs of the passes beside it, rising
	Place    Place

	// Outlined says that it lies along a side where the outline is likely off, and not the
	// work, and Yard that it is unworked ground that will likely stay so.
	Outlined, Yard bool
	Doubt          float64 // the share of it that was likely worked after all; see [Doubt]
}

// Mistake reports whether the patch is likely a mistake, for which to go back.
func (p *Skip) Mistake() bool { return !p.Unworked() && !p.Outlined }

// Unworked reports whether the patch is ground not worked yet, and no mistake.
func (p *Skip) Unworked() bool { return p.Cause == Unworked }

// An Overlap is one patch under the same set of passes.
type Overlap struct {
	Region   int
	Area     plane.Area
	Depth    int
	At       plane.Point // a place inside the patch
	Cause    OverlapCause
	Machines []int
	Passes   []int
	Place    Place
	Doubt    float64 // the share of it that was likely not worked so often; see [Doubt]
}

// Sliver reports whether p is so small that its cause was not looked into.
func (p *Overlap) Sliver() bool { return p.Area < Sliver }

// A Place says where a patch is so that a person can walk there: how far along a
// pass from one of its ends.
type Place struct {
	Pass  int            // ID of the pass it lies along; 0 for none
	Along plane.Distance // from the end named by From, along the pass
	From  string         // "north", "south-west", …: the end of the pass to start from
	Side  string         // "left" or "right" of the pass as driven, or "" for on it
}

// Sliver is the area below which a patch is not looked at closely: it is
// smaller than any list of patches shows by default, and receiver noise alone
// makes thousands of such. Slivers get the cause that nearly all of them have: they
// lie between passes, or along the field's edge. Larger, and a plugged opener
// that soon cleared would go unnoticed; smaller, and time goes into noise. Judgement;
// no test holds it closely.
const Sliver = plane.SquareMetre / 4

// An explainer looks at the patches of a layout.
type explainer struct{ *region.Layout }

// Explain looks at each skip and overlap of a layout, from the largest down: how
// large, how wide, beside which passes, why and where.
func Explain(l *region.Layout) ([]Skip, []Overlap) {
	m := &explainer{l}
	var skips, overlaps []int
	for i := range l.Regions {
		switch l.Regions[i].Kind {
		case region.Skip:
			skips = append(skips, i)
		case region.Overlap:
			overlaps = append(overlaps, i)
		}
	}
	outSkips, outOverlaps := make([]Skip, len(skips)), make([]Overlap, len(overlaps))
	parallel.EachWith(len(skips)+len(overlaps), func(k int, c *inscribed.Finder) {
		if k < len(skips) {
			m.lookAtSkip(&outSkips[k], skips[k], c)
			return
		}
		k -= len(skips)
		m.lookAtOverlap(&outOverlaps[k], overlaps[k])
	})
	return outSkips, outOverlaps
}

func (x *explainer) lookAtSkip(p *Skip, region int, c *inscribed.Finder) {
	r := &x.Regions[region]
	at, radius := c.Circle(r.Shape)
	*p = Skip{Region: region, Area: r.Area, At: at, Width: 2 * radius}
	p.Length = max(r.Shape.Shell.Diameter(), r.Shape.Perimeter()/2-p.Width)
	beside := x.beside(r)
	p.Passes, p.Machines = x.passesOf(beside)
	x.explainSkip(p, r, beside)
}

func (x *explainer) lookAtOverlap(p *Overlap, region int) {
	r := &x.Regions[region]
	*p = Overlap{Region: region, Area: r.Area, Depth: r.Depth, At: r.Shape.InteriorPoint()}
	p.Passes, p.Machines = x.passesOf(r.Swaths)
	x.explainOverlap(p, r)
}

// beside returns the swaths that border a region, rising.
func (x *explainer) beside(r *region.Region) []int {
	out := make([]int, 0, 4)
	last := arrange.None
	for _, ring := range r.Across {
		for _, l := range ring {
			if l == last || l == arrange.None {
				continue
			}
			last = l
			for _, s := range x.Class(l).Swaths {
				if i, in := slices.BinarySearch(out, s); !in {
					out = slices.Insert(out, i, s)
				}
			}
		}
	}
	return out
}

// passesOf returns the IDs of the passes of some swaths, and the indices of
// their machines, rising.
func (x *explainer) passesOf(swaths []int) (passes, machines []int) {
	n := len(swaths)
	both := make([]int, 2*n)
	passes, machines = both[:n:n], both[n:]
	for i, s := range swaths {
		pass := x.Swaths[s].Pass
		passes[i], machines[i] = pass+1, x.Passes[pass].Machine
	}
	slices.Sort(passes)
	slices.Sort(machines)
	return slices.Compact(passes), slices.Compact(machines)
}
