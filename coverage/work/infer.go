package work

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
	"lapwing/geo/plane/raster"
)

// Where a log does not say when the machine was working, that is worked out
// from how it moved and from the ground:
//
//   - A log that falls silent in nearly all turns records only work.
//   - The way of any other log is cut into legs at the turns. Where the machine
//     turns hard, or drives faster than any work, the bar does not work.
//   - Legs along the boundary come first, as crews work a field, then the rest
//     in order of time, then short ones, and turns last. First each takes what wins much of
//     the bar's width, and then all take what wins any. A stretch of a leg is work if it wins
//     more new ground of the field than it crosses of worked ground or of ground
//     outside the field. So a bar is lifted where it comes onto the headland, and
//     lowered where it leaves it:
//
//     headland   |    field     | headland
//     . . . . . .|==============|. . . . . .
//
//   - What was taken is settled (claim.go): a drive over ground that others work as well is
//     travel, and the ground is theirs.
//
// A leg over no new ground is travel. Ground worked again on purpose looks the
// same. How surely all that is right is told of each stretch of the way (sure.go).

// What working looks like on the ground, in figures: judgement, no source.
// TestInferredOtherWork holds leastWon and shortLeg; no test holds another closely,
// and TestLabelling tells how near to the truth a change of one comes.
const (
	leastNew    = 0.25    // m of the bar over new ground, at least: the last pass of a field often wins little
	leastInBend = 0.3     // of the bar's width over new ground, at least, in a bend: there an end of it swings out
	leastWide   = 0.3     // of the bar's width over new ground, at least, for what is taken first
	leastWon    = 1.0 / 3 // working widths of new ground, for a stretch to be work
	shortLeg    = 4.0     // working widths: a shorter leg may be part of a turn, and comes last
	longRunIn   = 2.0     // working widths that a bar runs at most before it is lowered

	alongLeast = 2.0 // working widths of way along the boundary, or away from it, for a leg to be cut there

	// inBend is a penalty: a step over worked ground, or over ground outside the
	// field, costs so many times as much in a bend as straight on.
	inBend = 20.0

	// A bar outside the boundary may belong to the field, since boundaries drawn by
	// hand are off by metres: if it reaches an edge or is within
	// astray of it, along it within askew, for astrayLong on end.
	askew      = 30 * math.Pi / 180
	astray     = 2.0 // m
	astrayLong = 3.0 // working widths
)

// An inferrer knows the ground that is worked so far.
type inferrer struct {
	machines []machine.Machine
	bounded  bool
	inside   *raster.Bitmap
	zone     *raster.Bitmap   // the headland's
	grain    raster.Grain     // of all bitmaps
	every    plane.Length     // along a bar, looks at the ground are so far apart
	rings    []plane.Ring     // of the boundary
	edges    near.Index       // of them
	own      []*raster.Bitmap // by machine
	headland *raster.Bitmap   // along the boundary, by any machine
	wide     bool             // only what wins much is taken
	groups   []int            // by machine: those of one number share the work; nil: not known yet
}

// inferWork works out when the machines of unclear were working. logged are
// the passes of tracks that say so. [Split] calls it once, for all unclear
// together, since the ground that one machine worked is not new to another.
func inferWork(field *field.Field, machines []machine.Machine, unclear []*unstated, logged []Pass, opt *field.Options) {
	in := inferrer{machines: machines, bounded: len(field.Boundary) > 0}
	var edges []near.Edge
	for _, p := range field.Boundary {
		in.rings = append(in.rings, p.Rings()...)
	}
	for _, r := range in.rings {
		for i, p := range r {
			edges = append(edges, near.EdgeOf(p, r[(i+1)%len(r)]))
		}
	}
	in.edges = near.New(edges)
	var legs []*leg
	for _, l := range unclear {
		legs = append(legs, l.look()...)
	}
	widest := machine.Widest(machines)
	around := whereabouts(widest, legs, logged)
	deep := opt.HeadlandWidth(widest)
	in.fineness(unclear, legs, logged, around, deep)
	in.inside, in.zone = raster.Within(around, in.grain), raster.Within(around, in.grain)
	in.inside.Fill(in.rings)
	for _, r := range in.rings {
		in.zone.Fill(plane.Within(r, deep))
	}
	legs = in.partAtEdges(legs, deep)
	for _, r := range legs {
		r.sides = in.sides(r)
		r.headland = in.along(len(r.samples), func(k int) plane.Point { return r.samples[k].bar().At }) &&
			(!r.bend || in.follows(r, deep))
		switch {
		case r.bend && !r.headland:
			r.rank = 3
		case r.run/r.by.im.Width.Metres() < shortLeg:
			r.rank = 2
		case !r.headland:
			r.rank = 1
		}
	}
	slices.SortStableFunc(legs, func(a, b *leg) int {
		return cmp.Or(
			cmp.Compare(a.rank, b.rank),
			cmp.Compare(a.samples[0].at, b.samples[0].at),
			cmp.Compare(machines[a.by.pass.Machine].Name, machines[b.by.pass.Machine].Name))
	})
	if len(machines) > 1 {
		in.takeAll(unclear, legs, logged)
		in.groups = in.shareWork(unclear)
	} else {
		in.groups = []int{0}
	}
	var cs *claims
	for range mostRounds {
		in.takeAll(unclear, legs, logged)
		if cs = in.claim(unclear, logged); !cs.settle() && !cs.takeBack(legs) {
			break
		}
	}
	cs.store(unclear)
	cs.judgeAll(unclear, legs)
}

// How much memory and time inference may take. A fix is allowed twice the cells and
// looks that a bar of 36 m needs between fixes 5 s apart at 10 m/s. So every likely
// log is looked at in full detail; one of a bar of a kilometre, or one that leaps
// across a field of a hundred kilometres, is looked at more coarsely. TestFineness holds
// both: it fails where one of these is halved or doubled, but for usuallyEvery halved,
// which costs time and finds nothing more: a decimetre is as near as a bar is driven.
const (
	mostCells    = 50e6 // of the bitmaps
	cellsPerFix  = 400e3
	mostLooks    = 10e6 // at the ground under the bar
	looksPerFix  = 36e3
	usuallyEvery = 20 * plane.Centimetre // along the bar
)

// fineness chooses the grain of the bitmaps and the spacing of looks along a bar:
// the usual ones, unless they cost too much for so many fixes.
func (in *inferrer) fineness(unclear []*unstated, legs []*leg, logged []Pass, around plane.Box, deep plane.Length) {
	fixes, swept, looks := 0, 0.0, 0.0
	for _, l := range unclear {
		fixes += len(l.Fixes)
	}
	for _, r := range legs {
		width := r.by.im.Width
		swept += r.way() * float64(plane.Metre) * float64(width)
		looks += float64(len(r.samples)) * float64(width/usuallyEvery)
	}
	for i := range logged {
		p := &logged[i]
		fixes += len(p.Poses)
		swept += float64(p.Length) * float64(in.machines[p.Machine].Implement.Width)
	}
	outlines := 0.0
	for _, r := range in.rings {
		x, y := r.Bounds().Intersect(around).Size()
		swept += float64(x) * float64(y)
		x, y = r.Bounds().Grow(deep).Intersect(around).Size()
		swept += min(float64(x)*float64(y), 2*float64(r.Length())*float64(deep))
		for i, p := range r { // three sides of what lies along each edge, and an arc
			q := r[(i+1)%len(r)]
			outlines += float64(3*min(y, max(q.Y-p.Y, p.Y-q.Y)) + 2*min(y, deep))
		}
	}
	in.grain = raster.GrainFor(swept, outlines, mostCells+cellsPerFix*float64(fixes))
	in.every = usuallyEvery * plane.Length(max(1, math.Ceil(looks/(mostLooks+looksPerFix*float64(fixes)))))
}

// whereabouts returns a box around all that bars, as wide as the widest, come over on the
// legs and in the passes: a boundary may reach much farther.
func whereabouts(widest plane.Length, legs []*leg, passes []Pass) plane.Box {
	box, by := plane.Empty(), plane.Point{X: widest, Y: widest}
	for _, r := range legs {
		for k := range r.samples {
			at := r.samples[k].bar().At
			box = box.Add(at.Add(by)).Add(at.Sub(by))
		}
	}
	for i := range passes {
		for _, pose := range passes[i].Poses {
			box = box.Add(pose.Bar.Add(by)).Add(pose.Bar.Sub(by))
		}
	}
	return box
}

// takeAll finds what is work in the legs, in their order, on ground that only
// the logged passes have worked.
func (in *inferrer) takeAll(unclear []*unstated, legs []*leg, logged []Pass) {
	in.own, in.headland = nil, raster.New(in.grain)
	for range in.machines {
		in.own = append(in.own, raster.New(in.grain))
	}
	for i := range logged {
		p := &logged[i]
		in.mark(p.Machine, p.Poses, in.along(len(p.Poses), func(k int) plane.Point { return p.Poses[k].Bar }))
	}
	for _, l := range unclear {
		l.spells = nil
	}
	for _, r := range legs {
		r.spells = nil
	}
	for _, in.wide = range [2]bool{true, false} {
		for _, r := range legs {
			if !in.wide || r.rank < 3 || r.by.onlyWork {
				in.take(r)
			}
		}
	}
	for _, r := range legs {
		r.by.spells = append(r.by.spells, r.spells...)
	}
}

// partAtEdges cuts legs where they come to run along the boundary, no farther from it than
// deep, or leave it: a drive across the field may end in a round, and no turn is between.
func (in *inferrer) partAtEdges(legs []*leg, deep plane.Length) []*leg {
	var out []*leg
	for _, r := range legs {
		if r.bend || r.by.onlyWork {
			out = append(out, r)
			continue
		}
		parts := r.cutAt(in.edgeCuts(r, deep))
		out = append(out, parts...)
	}
	return out
}

// edgeCuts are the samples of a leg at which it comes to run along the boundary, or leaves
// it, for alongLeast at least, and after as much.
func (in *inferrer) edgeCuts(r *leg, deep plane.Length) (cuts []int) {
	least := alongLeast * r.by.im.Width.Metres()
	was, since := false, 0
	way, changed := 0.0, 0.0 // up to the sample, and up to where it came to be other than it was
	for i := range r.samples {
		is := in.alongEdge(r.samples[i].bar(), deep, askew)
		way += r.samples[i].step
		switch {
		case i == 0 || is != was && way-changed >= least && changed < least: // a short start is a part of what follows
			was, since, changed = is, i, way
		case is == was:
			since, changed = i, way
		case way-changed >= least:
			cuts = append(cuts, since)
			was, since, changed = is, i, way
		}
	}
	return cuts
}

// follows reports whether a leg runs along the boundary, no farther from it than deep. A turn in a
// corner runs along one side or the other for two thirds of its way.
func (in *inferrer) follows(r *leg, deep plane.Length) bool {
	n := 0
	for i := range r.samples {
		if in.alongEdge(r.samples[i].bar(), deep, askew) {
			n++
		}
	}
	return 4*n > 3*len(r.samples)
}

// alongEdge reports whether a bar runs along an edge of the boundary, no farther from it than
// reach and within an angle.
func (in *inferrer) alongEdge(b stance.Bar, reach plane.Length, angle float64) bool {
	for e := range in.edges.Around(float64(b.At.X), float64(b.At.Y), float64(reach)) {
		if dx, dy := e.BX-e.AX, e.BY-e.AY; math.Abs(dx*b.Cos-dy*b.Sin) < math.Sin(angle)*math.Hypot(dx, dy) {
			return true
		}
	}
	return false
}

// along reports whether most of n places lie in the headland.
func (in *inferrer) along(n int, at func(k int) plane.Point) bool {
	count := 0
	for k := range n {
		if in.zone.Has(at(k)) {
			count++
		}
	}
	return 2*count > n
}

// mark notes the ground that a bar swept.
func (in *inferrer) mark(machine int, poses []Pose, headland bool) {
	rings := in.swept(machine, poses)
	in.own[machine].Fill(rings)
	if headland {
		in.headland.Fill(rings)
	}
}

// swept returns the ground that a bar swept, near enough for the bitmaps.
func (in *inferrer) swept(machine int, poses []Pose) []plane.Ring {
	im := &in.machines[machine].Implement
	all := BarsOf(poses, nil)
	var bars []stance.Bar
	for _, k := range Keep(poses, all, im.Width/2, plane.Distance(in.grain.Side()/2), nil) {
		bars = append(bars, all[k])
	}
	return stance.Strip(nil, bars, im.Whole()[0])
}

// wins reports whether the bar covers ground of the field that was not worked
// before. A headland leg also wins ground that other machines worked along the
// boundary, since two of them may follow one another there.
func (in *inferrer) wins(w *sample, r *leg, at side) bool {
	if at == without {
		return false
	}
	im := r.by.im
	fresh := in.fresh(r, at)
	least := leastNew
	if math.Abs(w.turn) > 1/(softTurn*im.Width.Metres()) {
		least = max(least, leastInBend*im.Width.Metres())
	}
	if in.wide {
		least = max(least, leastWide*im.Width.Metres())
	}
	return fresh.atLeast(least, w.bar(), im, in.every)
}

// fresh is the ground that a leg may win where the bar is so.
func (in *inferrer) fresh(r *leg, at side) freshness {
	m := r.by.pass.Machine
	fresh := freshness{taken: []ground{in.own[m]}}
	if !r.headland {
		fresh.taken = append(fresh.taken, in.headland)
	}
	for o, g := range in.groups {
		if o != m && g == in.groups[m] {
			fresh.taken = append(fresh.taken, in.own[o])
		}
	}
	if in.bounded && at == within {
		fresh.of = in.inside
	}
	return fresh
}

// A side says where the bar is relative to the boundary.
type side int

const (
	within side = iota
	beside      // outside, but so near the boundary and along it that the boundary may be wrong
	without
)

// sideOf tells where the bar is. Boundaries drawn by hand are off by some
// metres.
func (in *inferrer) sideOf(b stance.Bar, width plane.Length) side {
	if !in.bounded || in.inside.Has(b.At) {
		return within
	}
	if in.alongEdge(b, max(width/2, plane.Metres(astray)), askew) {
		return beside
	}
	return without
}

// sides tells where the bar of a leg is, sample by sample. A bar that is beside the
// boundary for a short way only counts as without.
func (in *inferrer) sides(r *leg) []side {
	im := r.by.im
	out := make([]side, len(r.samples))
	for i := range out {
		out[i] = in.sideOf(r.samples[i].bar(), im.Width)
	}
	for i := 0; i < len(out); {
		j, way := i, 0.0
		for ; j < len(out) && out[j] == beside; j++ {
			way += r.samples[j].step
		}
		if way < astrayLong*im.Width.Metres() {
			for k := i; k < j; k++ {
				out[k] = without
			}
		}
		i = max(j, i+1)
	}
	return out
}

// take finds the stretches of a leg that are work, and notes their ground.
func (in *inferrer) take(r *leg) {
	l := r.by
	if l.onlyWork && !in.wide {
		return
	}
	width := l.im.Width.Metres()
	n := len(r.samples)
	before := r.spells // of the first sweep
	var was stretches
	for _, s := range before {
		was = append(was, [2]int{s.begin, s.end})
	}
	taken, travel := was.over(n), r.travel.over(n)
	worth := make([]float64, n)
	for i := range r.samples {
		w := &r.samples[i]
		switch {
		case travel[i]:
			worth[i] = -inBend
		case l.onlyWork || taken[i] || in.wins(w, r, r.sides[i]):
			worth[i] = 1
		case math.Abs(w.turn) > 1/(softTurn*width):
			worth[i] = -inBend
		default:
			worth[i] = -1
		}
	}
	gains := make([]float64, n-1) // of the steps from each sample to the next
	for i := range gains {
		gains[i] = r.samples[i+1].step * (worth[i] + worth[i+1]) / 2
	}
	var spells []openSpell
	for _, s := range bestStretches(gains) {
		if s.sum < leastWon*width && !l.onlyWork {
			continue
		}
		spell := openSpell{leg: r, begin: s.from, end: s.to}
		spell.from, spell.fromTurn = in.edge(r, worth, s.from, -1)
		spell.fromOpen = s.from == 0 || r.sides[s.from-1] != within
		spell.to, spell.toTurn = in.edge(r, worth, s.to, 1)
		for _, b := range before {
			if b.begin == spell.begin {
				spell.from = b.from
			}
			if b.end == spell.end {
				spell.to = b.to
			}
		}
		if spell.to.at <= spell.from.at {
			continue
		}
		in.mark(l.pass.Machine, spell.poses(), r.headland)
		spells = append(spells, spell)
	}
	r.spells = spells
}

// edge bisects the way between sample i, which wins ground, and the next one in
// the direction of step, which does not, for the place where winning ends. It is
// free if the leg ends first: the place where the bar was lifted or lowered is
// unknown then.
func (in *inferrer) edge(r *leg, worth []float64, i, step int) (on timedStance, free bool) {
	on = r.samples[i].timedStance
	j := i + step
	if j < 0 || j >= len(r.samples) {
		return on, !r.by.onlyWork
	}
	width := r.by.im.Width
	return r.bisect(i, j, func(w *sample) bool {
		return in.sideOf(w.bar(), width) == within && in.wins(w, r, within)
	}), false
}

// bisect returns the last place on the way from sample i to j at which the
// condition holds. It holds at i.
func (r *leg) bisect(i, j int, holds func(*sample) bool) timedStance {
	on, off := r.samples[i].timedStance, r.samples[j].timedStance
	for range 6 { // halves sampleStep to under a centimetre
		a, b := &on, &off
		if j < i {
			a, b = b, a
		}
		at := a.at + (b.at-a.at)/2
		if at == a.at || at == b.at {
			break
		}
		st := amid(a, b, at)
		w := sample{timedStance: timedStance{at: at, stance: &st}, turn: r.samples[i].turn}
		if holds(&w) {
			on = w.timedStance
		} else {
			off = w.timedStance
		}
	}
	return on
}

// A bestStretch is a maximal scoring subsequence of the gains of steps: every part
// of it sums to less than the whole, and no longer stretch around it has that
// property.
type bestStretch struct {
	from, to int // of the places that the steps join
	sum      float64
}

// bestStretches finds all maximal scoring subsequences of gains (W. L. Ruzzo,
// M. Tompa, "A Linear Time Algorithm for Finding All Maximal Scoring Subsequences",
// ISMB 1999).
func bestStretches(gains []float64) []bestStretch {
	type candidate struct {
		bestStretch
		left, right float64 // the sum of all steps before it, and up to its end
	}
	var list []candidate
	total := 0.0
	for i, g := range gains {
		before := total
		total += g
		if g <= 0 {
			continue
		}
		c := candidate{bestStretch{i, i + 1, g}, before, total}
		for {
			j := len(list) - 1
			for j >= 0 && list[j].left >= c.left {
				j--
			}
			if j < 0 || list[j].right >= c.right {
				break
			}
			c = candidate{bestStretch{list[j].from, c.to, c.right - list[j].left}, list[j].left, c.right}
			list = list[:j]
		}
		list = append(list, c)
	}
	out := make([]bestStretch, len(list))
	for i, c := range list {
		out[i] = c.bestStretch
	}
	return out
}
