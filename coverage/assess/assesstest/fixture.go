package assesstest

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/edge"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/track"
	"lapwing/coverage/whatif"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A scene is a field drawn on a lattice of lines: every cell of the lattice is
// in the field or not, logged or not, and under some swaths. Regions are the
// connected cells that agree, so that a map built from a scene is consistent
// by construction, whatever the lines are bent into.
type scene struct {
	xs, ys []plane.Length
	bend   func(p plane.Point) plane.Point // nil leaves the lattice straight
	keep   bool                            // corners on straight edges stay
	inside func(x, y plane.Length) bool    // asked for the middles of cells
	zone   func(x, y plane.Length) bool    // the headland's
	silent func(x, y plane.Length) bool
	swaths []func(x, y plane.Length) bool
}

type cellLabel struct {
	inside, zone, silent bool
	under                string
}

// lines returns a lattice line at each multiple of step from a to b.
func lines(a, b, step plane.Length) []plane.Length {
	var out []plane.Length
	for x := a; x <= b; x += step {
		out = append(out, x)
	}
	return out
}

// rect reports whether a place lies in a rectangle given in metres.
func rect(x0, y0, x1, y1 float64) func(x, y plane.Length) bool {
	a, b, c, d := plane.Metres(x0), plane.Metres(y0), plane.Metres(x1), plane.Metres(y1)
	return func(x, y plane.Length) bool { return a < x && x < c && b < y && y < d }
}

func anyOf(fs ...func(x, y plane.Length) bool) func(x, y plane.Length) bool {
	return func(x, y plane.Length) bool {
		for _, f := range fs {
			if f(x, y) {
				return true
			}
		}
		return false
	}
}

func without(f, g func(x, y plane.Length) bool) func(x, y plane.Length) bool {
	return func(x, y plane.Length) bool { return f(x, y) && !g(x, y) }
}

// regions builds the map's regions and the outlines of field and headland.
func (s *scene) regions() (regions []region.Region, field, zone []plane.Polygon) {
	nx, ny := len(s.xs)-1, len(s.ys)-1
	labels := make([]cellLabel, nx*ny)
	for j := range ny {
		for i := range nx {
			x, y := (s.xs[i]+s.xs[i+1])/2, (s.ys[j]+s.ys[j+1])/2
			l := cellLabel{inside: s.inside(x, y)}
			for k, f := range s.swaths {
				if f(x, y) {
					l.under += fmt.Sprintf("%d ", k)
				}
			}
			l.zone = l.inside && s.zone(x, y)
			l.silent = l.inside && l.under == "" && s.silent != nil && s.silent(x, y)
			labels[j*nx+i] = l
		}
	}
	same := func(a, b cellLabel) bool {
		if a.inside && a.under == "" && !a.silent { // only a skip is cut at the headland
			return a == b
		}
		a.zone, b.zone = false, false
		return a == b
	}
	for _, cells := range connected(nx, ny, labels, same) {
		l := labels[cells[0]]
		var under []int
		for k := range s.swaths {
			if s.swaths[k](s.middle(cells[0])) {
				under = append(under, k)
			}
		}
		r := region.Region{Depth: len(under), Swaths: under}
		switch {
		case !l.inside && len(under) == 0:
			continue
		case !l.inside:
			r.Kind = region.OverReach
		case l.silent:
			r.Kind = region.Unlogged
		case len(under) == 0:
			r.Kind, r.Headland = region.Skip, l.zone
		case len(under) == 1:
			r.Kind = region.Once
		default:
			r.Kind = region.Overlap
		}
		r.Shape = s.outline(cells)
		r.Area = r.Shape.Area()
		regions = append(regions, r)
	}
	sort.SliceStable(regions, func(i, j int) bool {
		if regions[i].Kind != regions[j].Kind {
			return regions[i].Kind < regions[j].Kind
		}
		return regions[i].Area > regions[j].Area
	})
	for _, cells := range connected(nx, ny, labels, func(a, b cellLabel) bool { return a.inside == b.inside }) {
		if labels[cells[0]].inside {
			field = append(field, s.outline(cells))
		}
	}
	for _, cells := range connected(nx, ny, labels, func(a, b cellLabel) bool { return a.zone == b.zone }) {
		if labels[cells[0]].zone {
			zone = append(zone, s.outline(cells))
		}
	}
	return regions, field, zone
}

func (s *scene) middle(cell int) (x, y plane.Length) {
	i, j := cell%(len(s.xs)-1), cell/(len(s.xs)-1)
	return (s.xs[i] + s.xs[i+1]) / 2, (s.ys[j] + s.ys[j+1]) / 2
}

// connected groups cells that agree with their neighbours.
func connected(nx, ny int, labels []cellLabel, same func(a, b cellLabel) bool) [][]int {
	seen := make([]bool, len(labels))
	var groups [][]int
	for start := range labels {
		if seen[start] {
			continue
		}
		seen[start] = true
		group := []int{start}
		for k := 0; k < len(group); k++ {
			c := group[k]
			i, j := c%nx, c/nx
			for _, n := range [][2]int{{i - 1, j}, {i + 1, j}, {i, j - 1}, {i, j + 1}} {
				if n[0] < 0 || n[0] >= nx || n[1] < 0 || n[1] >= ny {
					continue
				}
				d := n[1]*nx + n[0]
				if !seen[d] && same(labels[c], labels[d]) {
					seen[d] = true
					group = append(group, d)
				}
			}
		}
		groups = append(groups, group)
	}
	return groups
}

// outline traces the edge of a group of cells.
func (s *scene) outline(cells []int) plane.Polygon {
	nx := len(s.xs) - 1
	edges := map[[2]int]bool{} // between lattice points, the cells on the left
	points := nx + 1
	for _, c := range cells {
		i, j := c%nx, c/nx
		a, b := j*points+i, j*points+i+1
		d, e := (j+1)*points+i, (j+1)*points+i+1
		for _, edge := range [][2]int{{a, b}, {b, e}, {e, d}, {d, a}} {
			if back := [2]int{edge[1], edge[0]}; edges[back] {
				delete(edges, back)
			} else {
				edges[edge] = true
			}
		}
	}
	from := map[int][]int{}
	var starts []int
	for e := range edges {
		from[e[0]] = append(from[e[0]], e[1])
		starts = append(starts, e[0])
	}
	slices.Sort(starts)
	var shells, holes []plane.Ring
	for _, start := range starts {
		if len(from[start]) == 0 {
			continue
		}
		var ids []int
		at, before := start, -1
		for {
			ways := from[at]
			k := 0
			if len(ways) == 2 && before >= 0 {
				// The cells meet in a corner only: keep to the left ones.
				step := at - before
				for w, to := range ways {
					if leftStep(step, points) == to-at {
						k = w
					}
				}
			}
			ids = append(ids, at)
			before, at = at, ways[k]
			from[before] = slices.Delete(ways, k, k+1)
			if at == start {
				break
			}
		}
		ring := s.ring(ids)
		if ring.Area() > 0 {
			shells = append(shells, ring)
		} else {
			holes = append(holes, ring)
		}
	}
	return plane.Polygon{Shell: shells[0], Holes: holes}
}

func leftStep(step, points int) int {
	switch step {
	case 1:
		return points
	case points:
		return -1
	case -1:
		return -points
	}
	return 1
}

func (s *scene) ring(ids []int) plane.Ring {
	points := len(s.xs)
	var out plane.Ring
	for k, id := range ids {
		before, after := ids[(k+len(ids)-1)%len(ids)], ids[(k+1)%len(ids)]
		if !s.keep && id-before == after-id {
			continue
		}
		p := plane.Point{X: s.xs[id%points], Y: s.ys[id/points]}
		if s.bend != nil {
			p = s.bend(p)
		}
		out = append(out, p)
	}
	return out
}

// ground sums the regions up by the contract's definitions.
func ground(regions []region.Region) coverage.Totals {
	g := coverage.Totals{Totals: region.Totals{ByDepth: make([]plane.Area, 4)}}
	for _, r := range regions {
		switch r.Kind {
		case region.Unlogged:
			g.Unlogged += r.Area
		case region.Skip:
			g.Skip += r.Area
			g.ByDepth[0] += r.Area
		case region.OverReach:
			g.OverReach += r.Area
			g.OverReachSwept += plane.Area(r.Depth) * r.Area
		default:
			for len(g.ByDepth) <= r.Depth {
				g.ByDepth = append(g.ByDepth, 0)
			}
			g.ByDepth[r.Depth] += r.Area
			g.Covered += r.Area
			g.Excess += plane.Area(r.Depth-1) * r.Area
			if r.Depth > 1 {
				g.Overlap += r.Area
			}
		}
	}
	g.Field = g.Skip + g.Covered + g.Unlogged
	g.Swept = g.Covered + g.Excess + g.OverReachSwept
	return g
}

func At(x, y float64) plane.Point { return plane.Point{X: plane.Metres(x), Y: plane.Metres(y)} }

// driven returns the poses of a bar drawn along corners at 2 m/s, a fix a
// second.
func driven(start time.Time, corners ...plane.Point) []work.Pose {
	var out []work.Pose
	var along plane.Distance
	for k := 1; k < len(corners); k++ {
		a, b := corners[k-1], corners[k]
		length := a.Distance(b)
		n := int(math.Ceil(float64(length / plane.Distance(2*plane.Metre))))
		for i := range n {
			t := float64(i) / float64(n)
			out = append(out, work.Pose{
				Time:  geo.InstantOf(start.Add(time.Duration(len(out)) * time.Second)),
				Bar:   plane.Point{X: a.X + plane.Round(t*float64(b.X-a.X)), Y: a.Y + plane.Round(t*float64(b.Y-a.Y))},
				Along: along + plane.Distance(t)*length,
			})
		}
		along += length
	}
	return append(out, work.Pose{
		Time: geo.InstantOf(start.Add(time.Duration(len(out)) * time.Second)),
		Bar:  corners[len(corners)-1], Along: along,
	})
}

var Begin = time.Date(2026, 9, 3, 6, 15, 0, 0, time.UTC)

// Small is winter barley on an invented field of 400 m by 300 m with a pond,
// drilled by two machines with bars of 40 m: a headland round in two passes
// that leaves a corner out, laps where it closes and reaches over the
// northern edge; three passes between them, one lifted early, one lapping its
// neighbour; a silence; and ground in the west not worked yet.
//
//	+-----------------------------+
//	|  headland                   |
//	|   +---------------------+   |
//	|   | not   |3 |4 |5 |     |   |
//	|   | worked|  |  |  | []  |   |
//	|   +---------------------+   |
//	|                             |
//	+-----------------------------+
func Small() *assess.Assessment {
	s := &scene{
		xs: lines(-206*plane.Metre, 206*plane.Metre, 2*plane.Metre),
		ys: lines(-156*plane.Metre, 156*plane.Metre, 2*plane.Metre),
	}
	pond := rect(120, -20, 150, 30)
	land := rect(-200, -150, 200, 150)
	s.inside = without(land, pond)
	inner := without(rect(-160, -110, 160, 110), rect(80, -60, 190, 70))
	s.zone = without(s.inside, inner)
	s.silent = rect(-60, -150, -20, -110)
	s.swaths = []func(x, y plane.Length) bool{
		anyOf(rect(-200, 110, 200, 154), rect(160, -150, 200, 114)),                                        // 1: north, then east
		anyOf(rect(-160, -150, -60, -110), rect(-20, -150, 166, -110)),                                     // 2: south, silent for a while
		rect(-200, -150, -160, 110),                                                                        // 2 again: west
		anyOf(rect(-80, -110, -40, 104), rect(-40, -20, -38, 20)),                                          // 3
		rect(-34, -114, 6, 112),                                                                            // 4
		anyOf(rect(2, -110, 42, 20), rect(2, 40, 42, 110)),                                                 // 5: a section shut
		anyOf(rect(42, -110, 118, 110), without(rect(100, 30, 160, 110), pond), rect(110, -110, 160, -26)), // 6
	}
	s.swaths[6] = without(s.swaths[6], rect(60, 60, 66, 64))
	pass := []int{0, 1, 1, 2, 3, 4, 5}

	frame := geo.NewFrame(geo.LonLat{Lon: 11.9735, Lat: 54.0312})
	m := &coverage.Map{}
	m.Field = field.Field{Name: "Gannet's Acre <b>&\"east\"</b>", Frame: frame}
	var zone []plane.Polygon
	m.Regions, m.Field.Boundary, zone = s.regions()
	m.Measured = m.Field.Boundary
	m.Totals = ground(m.Regions)
	m.Machines = []machine.Machine{
		{Name: "north drill", Operator: "Ida Falk", Implement: machine.Implement{Name: "40 m bar", Width: 40 * plane.Metre, Openers: 160, RowSpacing: 250 * plane.Millimetre, Towed: true}},
		{Name: "<script>alert('drill')</script>", Implement: machine.Implement{Width: 40 * plane.Metre}},
	}
	m.Records = []track.Record{{Files: []string{"north.csv"}}, {Files: []string{"south.gpx"}}}
	paths := [][]plane.Point{
		{At(-180, 132), At(180, 132), At(180, -130)},
		{At(164, -130), At(-180, -130), At(-180, 110)},
		{At(-60, -110), At(-60, 104)},
		{At(-14, 112), At(-14, -114)},
		{At(22, -110), At(22, 110)},
		{At(80, 110), At(80, -110)},
	}
	for i, path := range paths {
		start := Begin.Add(time.Duration(i) * 20 * time.Minute)
		poses := driven(start, path...)
		m.Passes = append(m.Passes, coverage.Pass{ID: i + 1, Pass: work.Pass{Machine: i % 2, Poses: poses, Start: poses[0].Time, End: poses[len(poses)-1].Time, Length: poses[len(poses)-1].Along}, PassAreas: region.PassAreas{Headland: i < 2}})
	}
	for i := range m.Passes {
		p := &m.Passes[i]
		p.During.Moving = p.End.Sub(p.Start)
		if i > 1 { // each machine's next pass begins 40 minutes after its last: a stop of 25, and the way there
			p.After = m.Passes[i-2].End
			stop := track.Stop{At: At(-195, 145), From: p.After + geo.Instant(5*time.Minute), Stood: 25 * time.Minute}
			p.Before = track.Spell{Moving: p.Start.Sub(p.After) - stop.Stood, Stopped: stop.Stood, Stops: []track.Stop{stop}}
		}
	}
	for k, p := range pass {
		dose := sweep.Dose{Ground: [7]float64{0, 120, 300, 15000, 260, 40, 0}, Reversing: 20, Product: 15720, Least: 0.62, Most: 1.9}
		m.Swaths = append(m.Swaths, sweep.Swath{Pass: p, Visit: 0, Dose: dose})
		if k == 2 {
			m.Swaths[k].Visit = 1
		}
	}
	creditPasses(m)
	listPatches(m)
	m.Headland = coverage.Headland{Headland: region.Headland{Width: 40 * plane.Metre, Zone: zone}}
	headlandGround(m, s)
	smallEdge(m)
	m.Thinned = 3 * plane.Millimetre
	a := agronomy.Reckon(m, Products(), crop())
	rain := Begin.Add(3 * time.Hour)
	warnings := []field.Warning{
		{File: "south.gpx", Line: 412, Count: 1, Text: "time 06:41:10 is before the line above; line skipped"},
		{File: "</script><script>alert(1)</script>.csv", Count: 12, Text: "fixes without a position; left out"},
		{Text: "no time zone given; times without one are taken as UTC"},
	}
	return &assess.Assessment{
		Reckoning: a, Run: "b1e0-77", Warnings: warnings, MinArea: plane.SquareMetre, EdgeTolerance: 125 * plane.Millimetre,
		Zone: time.FixedZone("CEST", 2*3600), RainAt: &rain,
	}
}

// creditPasses gives each pass what its swaths cover.
func creditPasses(m *coverage.Map) {
	for _, r := range m.Regions {
		for k, s := range r.Swaths {
			p := &m.Passes[m.Swaths[s].Pass]
			p.Swept += r.Area
			switch {
			case r.Kind == region.OverReach:
			case k == 0:
				p.New += r.Area
			default:
				p.Overlap += r.Area
			}
		}
	}
}

// listPatches lists every skip and overlap with a made-up cause and place.
func listPatches(m *coverage.Map) {
	skipCauses := []cause.SkipCause{cause.LiftedEarly, cause.Plugged, cause.BetweenPasses, cause.BoundaryEdge}
	overlapCauses := []cause.OverlapCause{cause.OntoHeadland, cause.RoundClosing, cause.BetweenMachines, cause.LapBetweenPasses}
	for i, r := range m.Regions {
		b := r.Shape.Shell.Bounds()
		size := b.Max.Sub(b.Min)
		wide, long := plane.Distance(min(size.X, size.Y)), plane.Distance(max(size.X, size.Y))
		inside := r.Shape.Shell[0].Add(plane.Point{X: plane.Metre, Y: plane.Metre})
		switch r.Kind {
		case region.Skip:
			p := cause.Skip{Region: i, Area: r.Area, Length: long, Width: wide, At: inside, Machines: []int{0, 1}, Passes: []int{3, 4}}
			if wide > 60*plane.Distance(plane.Metre) {
				p.Cause = cause.Unworked
				m.Totals.Remainder += r.Area
			} else {
				p.Cause = skipCauses[len(m.Skips)%len(skipCauses)]
				p.Place = cause.Place{Pass: 3 + i%3, Along: plane.DistanceOf(float64(i+1) * 11.3), From: "north", Side: "left"}
			}
			m.Skips = append(m.Skips, p)
		case region.Overlap:
			p := cause.Overlap{Region: i, Area: r.Area, Depth: r.Depth, At: inside, Machines: []int{0, 1}, Cause: overlapCauses[len(m.Overlaps)%len(overlapCauses)]}
			for _, s := range r.Swaths {
				p.Passes = append(p.Passes, m.Passes[m.Swaths[s].Pass].ID)
			}
			p.Passes = slices.Compact(p.Passes)
			p.Place = cause.Place{Pass: p.Passes[0], Along: plane.DistanceOf(float64(i) * 7.9), From: "south-west"}
			m.Overlaps = append(m.Overlaps, p)
		}
	}
}

// headlandGround measures the zone on the lattice.
func headlandGround(m *coverage.Map, s *scene) {
	h := &m.Headland
	for j := range len(s.ys) - 1 {
		for i := range len(s.xs) - 1 {
			x, y := (s.xs[i]+s.xs[i+1])/2, (s.ys[j]+s.ys[j+1])/2
			if !s.inside(x, y) || !s.zone(x, y) {
				continue
			}
			cell := s.ring([]int{j*len(s.xs) + i, j*len(s.xs) + i + 1, (j+1)*len(s.xs) + i + 1, (j+1)*len(s.xs) + i}).Area()
			h.Area += cell
			covered := false
			for _, f := range s.swaths {
				covered = covered || f(x, y)
			}
			switch {
			case covered:
				h.Covered += cell
			case s.silent != nil && s.silent(x, y):
				h.Unlogged += cell
			}
		}
	}
}

// smallEdge writes down the stand-off along the boundary of the small field.
func smallEdge(m *coverage.Map) {
	mark := func(x, y, along, off float64, silent bool) edge.Sample {
		return edge.Sample{At: At(x, y), Along: plane.DistanceOf(along), StandOff: plane.DistanceOf(off), Unlogged: silent}
	}
	m.Headland.Edge = edge.Edge{
		Length: 1560e4, Reached: 1480e4, Open: 40e4, Unlogged: 40e4, Mean: 0.41e4, Max: 12e4,
		Profile: []edge.RingProfile{
			{Length: 1400e4, Marks: []edge.Sample{
				mark(-200, -150, 0, 0, false), mark(-60, -150, 140, 0, true), mark(-20, -150, 180, 0, false),
				mark(200, -150, 400, 0, false), mark(200, 150, 700, 0, false), mark(-170, 150, 1070, 0, false),
				mark(-190, 150, 1090, 12, false), mark(-200, 140, 1110, 0.1, false), mark(-200, 100, 1150, 0, false),
			}},
			{Hole: true, Length: 160e4, Marks: []edge.Sample{
				mark(120, -20, 0, 1, false), mark(120, 30, 50, 0, false), mark(150, 30, 80, 0, false), mark(150, -20, 130, 6, false),
			}},
		},
		Openings: []edge.Opening{
			{Ring: 0, From: 1075e4, To: 1105e4, Length: 30e4, Max: 12e4, At: At(-190, 150), Start: At(-175, 150), End: At(-200, 145)},
			{Ring: 1, From: 125e4, To: 5e4, Length: 40e4 - 30e4, Max: 6e4, At: At(150, -20), Start: At(150, -15), End: At(120, -15)},
		},
	}
}

// Products are one by mass with nitrogen and a price, one without nitrogen, one
// by volume without a density.
func Products() []agronomy.Product {
	return []agronomy.Product{
		{Name: "anhydrous ammonia", Analysis: &agronomy.Analysis{N: 0.82}, MassRate: new(0.00957), Price: &agronomy.Price{PerKilogram: 0.88, Currency: "USD"}, Density: new(625.0), VolumeRate: new(0.00957 / 625), Tank: new(0.9), Fill: 0.85},
		{Name: "winter barley seed", MassRate: new(0.018), Price: &agronomy.Price{PerKilogram: 0.55, Currency: "USD"}},
		{Name: "starter <i>blend</i>", VolumeRate: new(4.68e-6)},
	}
}

// crop is barley at a made-up price.
func crop() *agronomy.Crop {
	return &agronomy.Crop{Yield: 0.65, Price: &agronomy.Price{PerKilogram: 0.19, Currency: "USD"}}
}

// Quarter is a quarter section, 804 m square, worked in passes of 13.6 m that
// wander like a driven line and carry a fix every 25 cm.
func Quarter() *assess.Assessment {
	const half, width = 402.0, 13.6
	s := &scene{keep: true}
	land := rect(-half, -half, half, half)
	pond := rect(100, 100, 160, 190)
	s.inside = without(land, pond)
	inner := without(rect(-half+width, -half+width, half-width, half-width), rect(100-width, 100-width, 160+width, 190+width))
	s.zone = without(s.inside, inner)
	s.bend = func(p plane.Point) plane.Point {
		x, y := p.X.Metres(), p.Y.Metres()
		x += 0.35*math.Sin(y/47) + 0.04*math.Sin(y*1.7+x)
		y += 0.02 * math.Sin(x*1.3+y)
		return At(x, y)
	}
	xs := map[plane.Length]bool{}
	line := func(x float64) { xs[plane.Metres(x)] = true }
	for _, x := range []float64{-half - 1, half + 1, -half, half, -half + width, half - width, 100, 160, 100 - width, 160 + width} {
		line(x)
	}
	s.swaths = []func(x, y plane.Length) bool{
		anyOf(rect(-half, half-width, half, half+0.6), rect(half-width, -half, half, half), rect(-half+3, -half, half, -half+width), rect(-half, -half, -half+width, half-20)),
		without(rect(100-width, 100-width, 160+width, 190+width), pond),
	}
	n := 0
	for x := -half + width; x < half-width; x += 13.2 {
		top, bottom := half-width+float64(n%7), -half+width-float64(n%5)
		if n%9 == 4 {
			top -= 22
		}
		from := x
		if n%11 == 3 {
			from += 0.9
		}
		to := x + width
		line(from)
		line(to)
		hole := rect(100-width+2, 100-width+2, 160+width-2, 190+width-2)
		s.swaths = append(s.swaths, without(rect(from, bottom, to, top), hole))
		n++
	}
	line(half + 40)
	for x := range xs {
		s.xs = append(s.xs, x)
	}
	slices.Sort(s.xs)
	s.ys = lines(plane.Metres(-half-1), plane.Metres(half+1), plane.Metre/4)

	m := &coverage.Map{Field: field.Field{Name: "Teal Quarter", Frame: geo.NewFrame(geo.LonLat{Lon: -98.413, Lat: 46.882})}}
	var zone []plane.Polygon
	m.Regions, m.Field.Boundary, zone = s.regions()
	m.Measured = m.Field.Boundary
	m.Totals = ground(m.Regions)
	m.Machines = []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: plane.Metres(width), Openers: 54, RowSpacing: 252 * plane.Millimetre}}}
	m.Records = []track.Record{{Files: []string{"drill.csv"}}}
	x := -half + width
	for i := range s.swaths {
		path := []plane.Point{At(-half+7, half-20), At(-half+7, -half+7), At(half-7, -half+7), At(half-7, half-7), At(-half+7, half-7)}
		switch {
		case i == 1:
			path = []plane.Point{At(93, 93), At(167, 93), At(167, 197), At(93, 197), At(93, 93)}
		case i > 1:
			path = []plane.Point{At(x+6.8, half-width), At(x+6.8, -half+width)}
			x += 13.2
		}
		poses := driven(Begin.Add(time.Duration(i)*8*time.Minute), path...)
		for k := range poses {
			poses[k].Bar = s.bend(poses[k].Bar)
		}
		m.Passes = append(m.Passes, coverage.Pass{ID: i + 1, Pass: work.Pass{Poses: poses, Start: poses[0].Time, End: poses[len(poses)-1].Time, Length: poses[len(poses)-1].Along}, PassAreas: region.PassAreas{Headland: i < 2}})
		m.Swaths = append(m.Swaths, sweep.Swath{Pass: i})
	}
	creditPasses(m)
	listPatches(m)
	m.Headland = coverage.Headland{Headland: region.Headland{Width: plane.Metres(width), Zone: zone}}
	headlandGround(m, s)
	m.Headland.Edge = wavyEdge(m)
	return &assess.Assessment{Reckoning: agronomy.Reckon(m, Products(), nil), Run: "quarter", MinArea: plane.SquareMetre, EdgeTolerance: 125 * plane.Millimetre}
}

// wavyEdge gives the boundary of the quarter section a mark every metre.
func wavyEdge(m *coverage.Map) edge.Edge {
	var e edge.Edge
	for k, ring := range m.Field.Boundary[0].Rings() {
		var along plane.Distance
		er := edge.RingProfile{Hole: k > 0}
		for i, p := range ring {
			er.Marks = append(er.Marks, edge.Sample{At: p, Along: along, StandOff: plane.Distance(max(0, 3e3*math.Sin(float64(along/4e5))+1e3*math.Sin(float64(along/7e4))))})
			along += p.Distance(ring[(i+1)%len(ring)])
		}
		e.Length += along
		er.Length = along
		e.Profile = append(e.Profile, er)
	}
	e.Reached = e.Length - 100e4
	e.Open = 100e4
	e.Mean, e.Max = 0.1e4, 0.4e4
	const from, to = 628e4, 728e4
	var gap []plane.Point
	for _, m := range e.Profile[0].Marks {
		if m.Along >= from && m.Along <= to {
			gap = append(gap, m.At)
		}
	}
	e.Openings = []edge.Opening{{From: from, To: to, Length: to - from, Max: 0.4e4, At: gap[len(gap)/2], Start: gap[0], End: gap[len(gap)-1]}}
	return e
}

// Empty is a field that was not worked yet.
func Empty() *assess.Assessment {
	square := plane.Polygon{Shell: plane.Ring{At(-50, -50), At(50, -50), At(50, 50), At(-50, 50)}}
	m := &coverage.Map{
		Field:    field.Field{Name: "Idle", Boundary: []plane.Polygon{square}, Frame: geo.NewFrame(geo.LonLat{Lon: 3, Lat: 51})},
		Measured: []plane.Polygon{square},
		Totals:   coverage.Totals{Totals: region.Totals{Field: square.Area(), Skip: square.Area(), ByDepth: []plane.Area{square.Area()}}, Remainder: square.Area()},
		Regions:  []region.Region{{Kind: region.Skip, Shape: square, Area: square.Area()}},
		Skips:    []cause.Skip{{Area: square.Area(), Width: 100e4, Length: 100e4, Cause: cause.Unworked}},
	}
	m.Headland.Edge = edge.Edge{Length: 400e4, Open: 400e4, Mean: 10e4, Max: 10e4}
	return &assess.Assessment{Reckoning: &agronomy.Reckoning{Map: m}}
}

// Asked is the small report with what was asked of it, by figures of our own.
func Asked() *assess.Assessment {
	r := Small()
	low, high, drive := 4.0, 9.0, 20.0
	r.WhatIf = &assess.WhatIf{
		Quality: make([]geo.Quality, len(r.Map.Machines)), Wasted: make([]*whatif.Interval, len(r.Accounts)),
		Sure: &whatif.HowSure{
			Runs: 200, Errors: make([]whatif.ReceiverError, len(r.Map.Machines)),
			Skip: whatif.Interval{Low: 1000, Middle: 1500, High: 2000}, Overlap: whatif.Interval{Low: 3000, Middle: 3500, High: 4000},
			Looked: []int{0}, Skips: []float64{0.7},
		},
		Sections: []whatif.SectionTrial{
			{Bar: whatif.AsDriven, Swept: make([]float64, len(r.Map.Machines)), Wasted: perMachine(r, 3800)},
			{Bar: whatif.OwnSections, Sections: 1, Swept: make([]float64, len(r.Map.Machines)), Wasted: perMachine(r, 4000)},
			{Bar: whatif.Equal, Sections: 2, Swept: make([]float64, len(r.Map.Machines)), Wasted: perMachine(r, 2000)},
			{Bar: whatif.Equal, Sections: 4, Swept: make([]float64, len(r.Map.Machines)), Wasted: perMachine(r, 1990)},
		},
		Strip: agronomy.StripCosts{Skipped: 0.1, Doubled: 0.02, Currency: "USD"},
		Laps: []agronomy.LapStudy{{Length: 1000, Mean: -0.1, Spread: 0.2, Best: 0.3, Cost: 50, BestCost: 40,
			Curve: []agronomy.LapCost{{Lap: -0.5, Skipped: 90}, {Lap: 0.3, Skipped: 10, Doubled: 30}, {Lap: 0.5, Skipped: 1, Doubled: 60}}}},
		Worths: []agronomy.Worth{{Skip: 0, Verdict: agronomy.Leave, Reason: "going back takes more than the crop brings", Low: &low, High: &high, Drive: &drive, Time: 660}},
	}
	return r
}

// perMachine gives all of it to the first machine.
func perMachine(r *assess.Assessment, m2 float64) []float64 {
	out := make([]float64, len(r.Map.Machines))
	out[0] = m2
	return out
}
