package work

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/stance"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
	"lapwing/geo/plane/raster"
)

// Claims are what the legs win, taken one after the other. Who came first had the ground;
// a claim is settled by all of them, those that came later too:
//
//	    pass   pass   pass
//	     |      |      |
//	. . .|. . . | . . .|. . .   a drive across: what it won, the passes work again
//	     |      |      |
//
// What is settled to be travel leaves its ground to the others, and all legs are taken
// anew. That goes on until nothing changes, mostRounds times at most.
//
// How far each figure lies from right is told by TestLabelling and by
// TestHiddenWorkOfRealLogs (package job), which were tried with others: judgement, no source.
const (
	mostRounds = 8

	ownLeast     = 0.3  // share of a claim's way on which it works ground that no other does, at least
	dearer       = 2.0  // times as dear: leaving ground bare, as working ground twice
	mostAgain    = 4.0  // working widths amid a claim that others work, at most
	longEnd      = 1.5  // working widths by which a claim may end later than it was taken to
	leastRunIn   = 0.2  // working widths of a run-in, at least
	joinedBy     = 0.5  // working widths of the way between two claims that are one, at most
	scrap        = 0.5  // working widths: no bar is lowered for a shorter way
	scrapLong    = 2.0  // nor for so short a way
	scrapNarrow  = 0.35 // if it wins no more than so much of the bar's width on it
	sameWay      = 10   // degrees by which two directions are the same
	rareWay      = 0.05 // share of all work in a direction, under which that is rare
	commonLeast  = 0.7  // share of a claim's way in directions that are not rare, for it to run as others do
	companyLeast = 0.5  // of the bar's width that a claim in rare directions wins alone, for it to be company
	rareLeast    = 0.8  // of the bar's width that a claim in rare directions wins alone, at least
	besideLeast  = 0.3  // share of a claim's way on which it runs beside another, for it to be in company
	besideNear   = 0.6  // working widths between the middles of two bars
	besideFar    = 1.4  // that run beside one another
	sharedGround = 0.7  // of a machine's way over ground of another, at most, for the two to share the work
)

// A claim is a spell and its ground.
type claim struct {
	openSpell
	ground  []plane.Ring
	own     float64 // share of its way that was its alone before any was dropped
	dropped bool
}

// width is the working width in metres.
func (c *claim) width() float64 { return c.leg.by.im.Width.Metres() }

// A claims is all that was taken in one round.
type claims struct {
	in          *inferrer
	all         []*claim
	first, last map[*leg]*claim
	tallies     map[int]*raster.Tally // of the ground of machines that share work
}

// claim collects what was taken. Tracks that record only work claim nothing, and have
// their ground.
func (in *inferrer) claim(unclear []*unstated, logged []Pass) *claims {
	cs := &claims{in: in, first: map[*leg]*claim{}, last: map[*leg]*claim{}, tallies: map[int]*raster.Tally{}}
	for _, g := range in.groups {
		cs.tallies[g] = raster.NewTally(in.grain)
	}
	for i := range logged {
		p := &logged[i]
		cs.tallies[in.groups[p.Machine]].Add(in.swept(p.Machine, p.Poses))
	}
	for _, l := range unclear {
		for _, s := range l.spells {
			c := &claim{openSpell: s, ground: in.swept(l.pass.Machine, s.poses())}
			cs.tally(c).Add(c.ground)
			if l.onlyWork {
				continue
			}
			cs.all = append(cs.all, c)
			cs.last[s.leg] = c
			if cs.first[s.leg] == nil {
				cs.first[s.leg] = c
			}
		}
	}
	return cs
}

func (cs *claims) tally(c *claim) *raster.Tally { return cs.tallyOf(c.leg.by) }

func (cs *claims) tallyOf(l *unstated) *raster.Tally {
	return cs.tallies[cs.in.groups[l.pass.Machine]]
}

// standing are the claims that were not dropped.
func (cs *claims) standing() (out []*claim) {
	for _, c := range cs.all {
		if !c.dropped {
			out = append(out, c)
		}
	}
	return out
}

func (cs *claims) latestFirst() []*claim {
	out := cs.standing()
	slices.SortStableFunc(out, func(a, b *claim) int { return cmp.Compare(b.from.at, a.from.at) })
	return out
}

// store makes what stands the spells of the tracks.
func (cs *claims) store(unclear []*unstated) {
	for _, l := range unclear {
		if !l.onlyWork {
			l.spells = nil
		}
	}
	for _, c := range cs.standing() {
		c.leg.by.spells = append(c.leg.by.spells, c.openSpell)
	}
}

// drop reclassifies a claim as travel.
func (cs *claims) drop(c *claim) {
	cs.tally(c).Remove(c.ground)
	c.dropped = true
	c.leg.leave(c.begin, c.end)
}

// dropForGood reclassifies a claim as travel even if its ground stays bare.
func (cs *claims) dropForGood(c *claim) {
	cs.drop(c)
	c.leg.forGood = append(c.leg.forGood, [2]int{c.begin, c.end})
}

// shorten gives a claim the ends of s.
func (cs *claims) shorten(c *claim, s openSpell) {
	cs.tally(c).Remove(c.ground)
	c.openSpell, c.ground = s, cs.in.swept(c.leg.by.pass.Machine, s.poses())
	cs.tally(c).Add(c.ground)
}

// settle drops claims and shortens them by what the others work, the surest first. It
// reports whether something is travel now: then all legs are to be taken anew.
func (cs *claims) settle() bool {
	dropped := cs.dropTurns()
	dropped = cs.dropAstray() || dropped
	dropped = cs.dropScraps() || dropped
	if dropped = cs.dropCrossings() || dropped; dropped {
		return true
	}
	shortened := cs.trim(true, true)
	shortened = cs.trim(false, true) || shortened
	shortened = cs.trim(true, false) || shortened
	if cs.cutAmid() || shortened {
		return true
	}
	runIns := cs.cutRunIns()
	return cs.trim(false, false) || runIns
}

// dropTurns drops claims in bends in which the machine turns round, unless work goes on
// before and after: nobody lowers a bar for a turn alone.
func (cs *claims) dropTurns() bool {
	found := false
	for _, c := range cs.standing() {
		if r := c.leg; r.bend && !r.headland && !(cs.worksTo(r.before) && cs.worksFrom(r.after)) {
			cs.drop(c)
			found = true
		}
	}
	return found
}

// worksTo reports whether the end of a leg is worked, or near it.
func (cs *claims) worksTo(r *leg) bool {
	c := cs.last[r]
	return c != nil && !c.dropped && float64(len(r.samples)-1-c.end)*sampleStep <= joinedBy*c.width()
}

// worksFrom reports whether the start of a leg is worked, or near it.
func (cs *claims) worksFrom(r *leg) bool {
	c := cs.first[r]
	return c != nil && !c.dropped && float64(c.begin)*sampleStep <= joinedBy*c.width()
}

// goesBack and goesOn report whether work goes on without a lift on the leg before, and on the
// leg after: the way was only cut in a bend.
func (cs *claims) goesBack(c *claim) bool { return c.fromTurn && cs.worksTo(c.leg.before) }
func (cs *claims) goesOn(c *claim) bool   { return c.toTurn && cs.worksFrom(c.leg.after) }

// alone tells of each sample of a claim whether its bar works ground that no other does.
//
// A bar beside the boundary, where that may be wrong, works ground outside the field only if
// the part of it that is inside works some: else there is a pass along the boundary, which
// is right.
func (cs *claims) alone(c *claim) []bool {
	in, r := cs.in, c.leg
	f, inside := cs.bare(r.by, 1), freshness{of: in.inside}
	anywhere := freshness{taken: f.taken}
	out := make([]bool, c.end-c.begin+1)
	for k := range out {
		i := c.begin + k
		if r.sides[i] == without {
			continue
		}
		bar, won := r.samples[i].bar(), &f
		if r.sides[i] == beside && !inside.atLeast(leastNew, bar, r.by.im, in.every) {
			won = &anywhere
		}
		out[k] = won.atLeast(leastNew, bar, r.by.im, in.every)
	}
	return out
}

// bare is the ground of the field that no more than so many claims lie over.
func (cs *claims) bare(l *unstated, most int) freshness {
	f := freshness{taken: []ground{workedOver{cs.tallyOf(l), most}}}
	if cs.in.bounded {
		f.of = cs.in.inside
	}
	return f
}

// A workedOver is the ground that more than most claims lie over.
type workedOver struct {
	tally *raster.Tally
	most  int
}

func (o workedOver) Has(p plane.Point) bool { return o.tally.Count(p) > o.most }

// measure returns how many metres a claim goes, up to some, and the square metres that it works there
// alone.
func (cs *claims) measure(c *claim, upTo float64) (way, alone float64) {
	f := cs.bare(c.leg.by, 1)
	for i := c.begin; i <= c.end && way < upTo; i++ {
		w := &c.leg.samples[i]
		way += w.step
		alone += w.step * f.width(w.bar(), c.leg.by.im, cs.in.every)
	}
	return way, alone
}

// dropAstray drops claims that run as nothing else does, neither in the direction of other
// work nor beside other work or the boundary, unless they are long and win nearly all of the
// bar's width: a drive over ground that was left out is no work. Nor is one that goes the
// same way back: who wins less than half of the bar's width is company to nobody.
func (cs *claims) dropAstray() bool {
	var by directions
	for _, c := range cs.standing() {
		by.add(c)
	}
	var rare, company []*claim
	for _, c := range cs.standing() {
		if c.leg.bend || by.common(c) >= commonLeast {
			company = append(company, c)
			continue
		}
		rare = append(rare, c)
		if way, alone := cs.measure(c, math.Inf(1)); alone >= companyLeast*way*c.width() {
			company = append(company, c)
		}
	}
	if len(rare) == 0 {
		return false
	}
	beside, found := newNeighbours(company), false
	for _, c := range rare {
		if cs.inCompany(c, beside) {
			continue
		}
		if way, alone := cs.measure(c, math.Inf(1)); way < shortLeg*c.width() || alone < rareLeast*way*c.width() {
			cs.dropForGood(c)
			found = true
		}
	}
	return found
}

// Directions are how many metres of work run in each direction, to and fro alike, in whole
// degrees.
type directions [180]float64

func (d *directions) add(c *claim) {
	for i := c.begin; i <= c.end; i++ {
		w := &c.leg.samples[i]
		b := w.bar()
		degree := int(math.Floor(math.Atan2(b.Sin, b.Cos) * 180 / math.Pi))
		d[(degree+360)%180] += w.step
	}
}

func (d *directions) sum() (sum float64) {
	for _, way := range d {
		sum += way
	}
	return sum
}

// common is the share of a claim's way in directions that other work takes and that are not
// rare.
func (d *directions) common(c *claim) float64 {
	var own directions
	own.add(c)
	least, common := rareWay*d.sum(), 0.0
	for k, way := range own {
		if way == 0 {
			continue
		}
		others := 0.0
		for n := k - sameWay; n <= k+sameWay; n++ {
			n := (n + 180) % 180
			others += d[n] - own[n]
		}
		if others >= least {
			common += way
		}
	}
	return common / own.sum()
}

// Neighbours find the bars of claims near a place.
type neighbours struct {
	grid near.GridIndex
	bars []stance.Bar
	of   []*claim
}

// newNeighbours notes the bars of claims, one for each width of way.
func newNeighbours(all []*claim) *neighbours {
	n := &neighbours{}
	widest := plane.Length(0)
	for _, c := range all {
		widest = max(widest, c.leg.by.im.Width)
		for i := c.begin; i <= c.end; i += c.stride() {
			n.bars, n.of = append(n.bars, c.leg.samples[i].bar()), append(n.of, c)
		}
	}
	n.grid = near.NewGridIndex(2*float64(widest), len(n.bars), func(i int) (x, y float64) {
		return float64(n.bars[i].At.X), float64(n.bars[i].At.Y)
	})
	return n
}

// stride is how many samples there are in a working width.
func (c *claim) stride() int { return max(1, int(c.width()/sampleStep)) }

// inCompany reports whether a good part of a claim runs beside another, or along the boundary.
func (cs *claims) inCompany(c *claim, n *neighbours) bool {
	looks, beside := 0, 0
	for i := c.begin; i <= c.end; i += c.stride() {
		looks++
		if b := c.leg.samples[i].bar(); cs.in.alongEdge(b, c.leg.by.im.Width, sameWay*math.Pi/180) || n.beside(c, b) {
			beside++
		}
	}
	return float64(beside) > besideLeast*float64(looks)
}

// beside reports whether a bar of another claim runs beside the bar b.
func (n *neighbours) beside(c *claim, b stance.Bar) bool {
	width := float64(c.leg.by.im.Width)
	for i := range n.grid.Around(float64(b.At.X), float64(b.At.Y)) {
		q := &n.bars[i]
		x, y := float64(q.At.X-b.At.X), float64(q.At.Y-b.At.Y)
		across, along := math.Abs(x*b.Cos-y*b.Sin), math.Abs(x*b.Sin+y*b.Cos)
		if n.of[i] != c && !n.of[i].dropped && across > besideNear*width && across < besideFar*width && along < width && parallelBars(&b, q, sameWay*math.Pi/180) {
			return true
		}
	}
	return false
}

// parallelBars reports whether two bars run in one direction, to or fro, within an angle.
func parallelBars(a, b *stance.Bar, angle float64) bool {
	return math.Abs(a.Sin*b.Cos-a.Cos*b.Sin) < math.Sin(angle)
}

// dropScraps drops claims that no bar is lowered for.
func (cs *claims) dropScraps() bool {
	found := false
	for _, c := range cs.standing() {
		if cs.goesBack(c) || cs.goesOn(c) {
			continue
		}
		way, alone := cs.measure(c, scrapLong*c.width())
		if way < scrap*c.width() || way < scrapLong*c.width() && alone < scrapNarrow*way*c.width() {
			cs.dropForGood(c)
			found = true
		}
	}
	return found
}

// dropCrossings drops claims if others work nearly all of their ground, those of which that
// is most true first. A bar that was lifted once is likelier than bars that were left down
// every time they crossed it.
func (cs *claims) dropCrossings() bool {
	var some []*claim
	for _, c := range cs.standing() {
		if c.own = cs.own(c); c.own < ownLeast {
			some = append(some, c)
		}
	}
	slices.SortStableFunc(some, func(a, b *claim) int { return cmp.Compare(a.own, b.own) })
	found := false
	for _, c := range some {
		if cs.own(c) < ownLeast { // still, without those that were dropped
			cs.drop(c)
			found = true
		}
	}
	return found
}

// own is the share of a claim's way on which it works ground that no other does.
func (cs *claims) own(c *claim) float64 {
	way, own := 0.0, 0.0
	for k, alone := range cs.alone(c) {
		step := c.leg.samples[c.begin+k].step
		way += step
		if alone {
			own += step
		}
	}
	if way == 0 {
		return 0
	}
	return own / way
}

// trim takes away what others work as well from the ends of claims, or from their starts; with
// bends, only from ends that lie in bends. The later of two claims loses: who comes onto
// worked ground lifts the bar. It reports whether more was taken away than a run-in, which
// others may have the ground of.
func (cs *claims) trim(end, bends bool) bool {
	found := false
	for _, c := range cs.latestFirst() {
		if end && cs.goesOn(c) || !end && cs.goesBack(c) {
			continue
		}
		s, far, ok := cs.cut(c, end, bends)
		if !ok {
			continue
		}
		if far > longRunIn*c.width() {
			found = true
			if end {
				c.leg.leave(s.end+1, c.end)
			} else {
				c.leg.leave(c.begin, s.begin-1)
			}
		}
		cs.shorten(c, s)
	}
	return found
}

// cut returns a claim without so much of its end, or of its start, as others work as well, and how
// far that goes. It goes so far that what is worked twice outweighs most what is left bare.
func (cs *claims) cut(c *claim, end, bends bool) (s openSpell, far float64, ok bool) {
	r, alone := c.leg, cs.alone(c)
	first, inward := c.begin, 1
	if end {
		first, inward = c.end, -1
	}
	best, sum, way, last := 0.0, 0.0, 0.0, first
	for i := first; i+inward >= c.begin && i+inward <= c.end; i += inward {
		if bends && math.Abs(r.samples[i].turn) <= 1/(softTurn*c.width()) {
			break
		}
		step := r.samples[max(i, i+inward)].step
		way += step
		if alone[i-c.begin] {
			sum -= dearer * step
		} else {
			sum += step
		}
		if sum > best {
			best, last, far = sum, i+inward, way
		}
	}
	if last == first || last == c.begin && end || last == c.end && !end {
		return s, 0, false
	}
	f := freshness{taken: []ground{workedOver{cs.tally(c), 1}}}
	place := r.bisect(last, last-inward, func(w *sample) bool {
		return f.atLeast(leastNew, w.bar(), r.by.im, cs.in.every)
	})
	s = c.openSpell
	if end {
		s.end, s.to, s.toTurn = last, place, false
	} else {
		s.begin, s.from, s.fromTurn = last, place, false
	}
	return s, far, s.to.at > s.from.at
}

// cutAmid finds a claim that goes far, amid its work, over ground that others work as well, and
// reclassifies that stretch as travel.
func (cs *claims) cutAmid() bool {
	for _, c := range cs.latestFirst() {
		alone := cs.alone(c)
		gains := make([]float64, len(alone)-1)
		for k := range gains {
			step := c.leg.samples[c.begin+k+1].step
			if alone[k] || alone[k+1] {
				step *= -dearer
			}
			gains[k] = step
		}
		for _, again := range bestStretches(gains) {
			if again.sum > mostAgain*c.width() {
				c.leg.leave(c.begin+again.from, c.begin+again.to)
				return true
			}
		}
	}
	return false
}

// cutRunIns reclassifies as travel the start of a claim whose ground another works if that ends a
// little later than it was taken to:
//
//	    ^ ends up here, where the first round was begun
//	. . | . .=====================>   the run-in
//	    |
//
// A round begun in a corner runs in with the bar up, since the last side will work the
// corner. A claim that runs on in the same direction has no such right: who comes onto
// worked ground lifts the bar.
func (cs *claims) cutRunIns() bool {
	all := cs.standing()
	beyond := make([][]plane.Ring, len(all))
	for i, c := range all {
		beyond[i] = cs.beyond(c)
		cs.tally(c).Add(beyond[i])
	}
	found := false
	for i, c := range all {
		if !c.fromOpen || cs.goesBack(c) {
			continue
		}
		start := c.from.stance.Bar()
		around := plane.Empty().Add(start.At).Grow(plane.Metres((longEnd + longRunIn + 1) * c.width()))
		var without []int
		for k, o := range all {
			if end := o.to.stance.Bar(); k == i || len(beyond[k]) > 0 && around.Meets(plane.Empty().Add(end.At)) && parallelBars(&start, &end, askew) {
				without = append(without, k)
				cs.tally(o).Remove(beyond[k])
			}
		}
		s, far, ok := cs.cut(c, false, false)
		for _, k := range without {
			cs.tally(all[k]).Add(beyond[k])
		}
		if ok && far > leastRunIn*c.width() && far < longRunIn*c.width() {
			found = true
			c.leg.leave(c.begin, s.begin-1)
			cs.shorten(c, s)
		}
	}
	for i, c := range all {
		cs.tally(c).Remove(beyond[i])
	}
	return found
}

// beyond returns the ground that a claim would work if it ended later, while the bar is in
// the field and not known to travel.
func (cs *claims) beyond(c *claim) []plane.Ring {
	r := c.leg
	poses := []Pose{c.to.pose()}
	for i, way := c.end+1, 0.0; i < len(r.samples); i++ {
		w := &r.samples[i]
		if way += w.step; way > longEnd*c.width() || r.sides[i] != within || r.travel.has(i) {
			break
		}
		if w.at > c.to.at {
			poses = append(poses, w.pose())
		}
	}
	if len(poses) < 2 {
		return nil
	}
	return cs.in.swept(r.by.pass.Machine, poses)
}

// takeBack finds travel over ground that is now worked by nobody, and reclassifies it as
// work, but no stretch twice.
func (cs *claims) takeBack(legs []*leg) bool {
	type stretch struct {
		r        *leg
		from, to int
	}
	bare := func(r *leg, from, to int) (s *stretch, is bool) {
		f, way := cs.bare(r.by, 0), 0.0
		forGood := r.forGood.over(len(r.samples))
		s = &stretch{r: r, from: -1}
		for i := from; i <= to; i++ {
			if w := &r.samples[i]; !forGood[i] && f.atLeast(leastNew, w.bar(), r.by.im, cs.in.every) {
				way += w.step
				if s.from < 0 {
					s.from = i
				}
				s.to = i
			}
		}
		return s, way > leastWon*r.by.im.Width.Metres()
	}
	var all []*stretch
	for _, r := range legs {
		if r.bend && !r.headland {
			continue
		}
		for _, t := range r.travel {
			if s, is := bare(r, t[0], t[1]); is {
				all = append(all, s)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b *stretch) int {
		return cmp.Compare(a.r.samples[a.from].at, b.r.samples[b.from].at)
	})
	found := false
	for _, s := range all {
		s, is := bare(s.r, s.from, s.to) // still, beside those that were taken back
		if !is {
			continue
		}
		found = true
		var poses []Pose
		for i := s.from; i <= s.to; i++ {
			poses = append(poses, s.r.samples[i].pose())
		}
		cs.tallyOf(s.r.by).Add(cs.in.swept(s.r.by.pass.Machine, poses))
		s.r.travel = s.r.travel.without(s.from, s.to)
		s.r.back = append(s.r.back, [2]int{s.from, s.to})
	}
	return found
}

// shareWork tells which machines share work, each group by its first: those that mostly
// work ground of their own. A roller that follows a drill does another job.
func (in *inferrer) shareWork(unclear []*unstated) []int {
	n := len(in.machines)
	looks, over := make([]float64, n), make([][]float64, n)
	for m := range over {
		over[m] = make([]float64, n)
	}
	for _, l := range unclear {
		m := l.pass.Machine
		for _, s := range l.spells {
			for i := s.begin; i <= s.end; i += 4 {
				b := s.leg.samples[i].bar()
				looks[m]++
				for o := range n {
					if o != m && in.own[o].Has(b.At) {
						over[m][o]++
					}
				}
			}
		}
	}
	groups := make([]int, n)
	for m := range groups {
		groups[m] = m
		for g := range m {
			apart := groups[g] != g
			for o := range m {
				apart = apart || groups[o] == g && (over[m][o] > sharedGround*looks[m] || over[o][m] > sharedGround*looks[o])
			}
			if !apart {
				groups[m] = g
				break
			}
		}
	}
	return groups
}
