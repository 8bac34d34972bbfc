package coverage

import (
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/geo/plane/inscribed"
)

// A SkipPatch is one patch of skipped ground with what is known of it.
type SkipPatch struct {
	Region   int // index into Map.Regions
	Area     plane.Area
	Length   float64     // ticks, along its longer extent
	Width    float64     // ticks, of the widest circle that fits in it
	At       plane.Point // the middle of that circle: a place inside the patch
	Cause    Cause
	Machines []int // indices of the machines beside it, rising
	Passes   []int // IDs of the passes beside it, rising
	Place    Place
}

// An OverlapPatch is one patch under the same set of passes.
type OverlapPatch struct {
	Region   int
	Area     plane.Area
	Depth    int
	At       plane.Point // a place inside the patch
	Cause    Cause
	Machines []int
	Passes   []int
	Place    Place
}

// Sliver reports whether p is so small that its cause was not looked into.
func (p *OverlapPatch) Sliver() bool { return p.Area < sliver }

// A Place says where a patch is in terms a person can walk to: so far along
// a pass from one of its ends.
type Place struct {
	Pass  int     // ID of the pass it lies along; 0 for none
	Along float64 // ticks from the end named by From, along the pass
	From  string  // "north", "south-west", …: the end of the pass to start from
	Side  string  // "left" or "right" of the pass as driven, or "" for on it
}

// remainderWidth is how wide a circle must fit into uncovered ground, in
// working widths of the widest machine, for it to be ground not worked yet and
// no mistake.
const remainderWidth = 1.5

// patches looks at each skip and overlap, from the largest down: how large, how
// wide, beside which passes, why and where.
func (m *Map) patches(ways []way) {
	var skips, overlaps []int
	for i := range m.Regions {
		switch m.Regions[i].Kind {
		case Skip:
			skips = append(skips, i)
		case Overlap:
			overlaps = append(overlaps, i)
		}
	}
	m.Skips, m.Overlaps = make([]SkipPatch, len(skips)), make([]OverlapPatch, len(overlaps))
	parallel.EachWith(len(skips)+len(overlaps), func(k int, c *inscribed.Finder) {
		if k < len(skips) {
			m.lookAtSkip(&m.Skips[k], skips[k], ways, c)
			return
		}
		k -= len(skips)
		m.lookAtOverlap(&m.Overlaps[k], overlaps[k], ways)
	})
	for _, p := range m.Skips {
		if p.Cause == Unworked {
			m.Ground.Remainder += p.Area
		}
	}
}

func (m *Map) lookAtSkip(p *SkipPatch, region int, ways []way, c *inscribed.Finder) {
	r := &m.Regions[region]
	at, radius := c.Circle(r.Shape)
	*p = SkipPatch{Region: region, Area: r.Area, At: at, Width: 2 * radius}
	p.Length = max(r.Shape.Shell.Diameter(), r.Shape.Perimeter()/2-p.Width)
	beside := m.beside(r)
	p.Passes, p.Machines = m.passesOf(beside)
	m.explainSkip(ways, p, r, beside)
}

func (m *Map) lookAtOverlap(p *OverlapPatch, region int, ways []way) {
	r := &m.Regions[region]
	*p = OverlapPatch{Region: region, Area: r.Area, Depth: r.Depth, At: r.Shape.InteriorPoint()}
	p.Passes, p.Machines = m.passesOf(r.Swaths)
	m.explainOverlap(ways, p, r)
}

// beside returns the swaths that border a region, rising.
func (m *Map) beside(r *Region) []int {
	out := make([]int, 0, 4)
	last := arrange.None
	for _, ring := range r.across {
		for _, l := range ring {
			if l == last || l == arrange.None {
				continue
			}
			last = l
			for _, s := range m.class(l).Swaths {
				if !slices.Contains(out, s) {
					out = append(out, s)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

// class returns what lies across an edge, as a region without a shape.
func (m *Map) class(l arrange.Label) *Region { return &m.classes[l-1] }

// passesOf returns the IDs of the passes of some swaths, and the indices of
// their machines, rising.
func (m *Map) passesOf(swaths []int) (passes, machines []int) {
	n := len(swaths)
	both := make([]int, 2*n)
	passes, machines = both[:n:n], both[n:]
	for i, s := range swaths {
		p := &m.Passes[m.Swaths[s].Pass]
		passes[i], machines[i] = p.ID, p.Machine
	}
	slices.Sort(passes)
	slices.Sort(machines)
	return slices.Compact(passes), slices.Compact(machines)
}
