package stance

import (
	"math"
	"sort"
	"sync"

	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// Baseline is how far before and after a fix others are taken into account to
// say where the machine went there, and which way it headed. Two fixes at
// 10 Hz lie 20 cm apart: with 2 cm of noise their direction is off by 8
// degrees, and the ends of a 16 m bar swing by a metre. Over this it is off by
// a sixth of a degree. Longer baselines gain little and begin to lose the
// shape of a turn, of which a parabola through 5 m of one of 10 m loses 0.1 mm.
const Baseline = 2.8 // m, either way

// finest is how far the path between two fixes may bend away from the line
// between them before poses are put in between. It is below what thinning takes
// away again (sweep.Thin), so that sparse logs of turns lose nothing to it. No test
// holds it closely.
const finest = 0.002 // m

// A Stance is where the bar of an implement was at one time, on the field's
// plane.
type Stance struct {
	X, Y    float64     // of the bar's centre, m
	Heading plane.Angle // of the bar
	Guess   bool        // a towed bar has not been pulled far enough to have come in line
	Back    bool        // the machine is in reverse
}

// smoothed is a station's place on the smoothed path.
type smoothed struct {
	x, y   float64
	tx, ty float64 // direction of travel, of length 1
	curve  float64 // 1/m; positive where it turns right
	back   bool    // in reverse, see cusps
}

// A smoothedPath is the places of all stations, in pieces: a walk forgets those that
// it has left, whose room the poses then take.
type smoothedPath struct {
	pieces [][]smoothed // of pieceLength stations each, the last of fewer
	count  int
	geared bool // the machine changed gear on the way: some of it may be in reverse
}

const pieceLength = 4096 // judgement: short beside a day's log, long beside a step

func newSmoothedPath(count int) *smoothedPath {
	p := &smoothedPath{count: count}
	for ; count > 0; count -= pieceLength {
		p.pieces = append(p.pieces, make([]smoothed, min(count, pieceLength)))
	}
	return p
}

func (p *smoothedPath) at(i int) *smoothed { return &p.pieces[i/pieceLength][i%pieceLength] }

// forgetBefore frees what is well before station i, which is not asked for again.
func (p *smoothedPath) forgetBefore(i int) {
	for left := i/pieceLength - 1; left >= 0 && p.pieces[left] != nil; left-- {
		p.pieces[left] = nil
	}
}

// smooth is local quadratic regression on the distance travelled (LOESS of degree
// 2: W. S. Cleveland, "Robust locally weighted regression and smoothing
// scatterplots", 1979) with the kernel 1 - d² (V. A. Epanechnikov, 1969) and a
// bandwidth of Baseline: it fits a parabola to the stations about each one and
// takes its middle, which has no bias on a straight line nor on a steady turn.
// Weights fall to zero at the bandwidth, so that the path does not jump when a
// station comes within reach. With few stations in reach it takes the nearest on
// either side, and passes through all three. It does not look across a silence,
// since the machine may have turned there, nor across a change of gear, which it
// would round off.
func smooth(st []track.Station) *smoothedPath {
	out := newSmoothedPath(len(st))
	for from := 0; from < len(st); {
		to := from + 1
		for to < len(st) && !st[to].Fresh && !st[to].Silent {
			to++
		}
		geared := smoothUnbroken(st[from:to], func(i int) *smoothed { return out.at(from + i) })
		out.geared = out.geared || geared
		from = to
	}
	return out
}

// smoothUnbroken is smooth for stations that continue from one another without a
// silence. The place of station i goes where out says. It reports whether the machine
// changed gear.
//
// The sums over the window slide along with it: each station enters once and
// leaves once. They are kept about a reference that moves up every so often,
// so that no digits are lost to large numbers.
func smoothUnbroken(st []track.Station, out func(i int) *smoothed) bool {
	n := len(st)
	if n == 1 {
		*out(0) = smoothed{x: st[0].X, y: st[0].Y, tx: math.NaN(), ty: math.NaN()}
		return false
	}
	s := make([]float64, n) // distance along the run
	parallel.Runs(n-1, chunk, func(from, to int) {
		for i := from + 1; i <= to; i++ {
			s[i] = plane.Vector{X: st[i].X - st[i-1].X, Y: st[i].Y - st[i-1].Y}.Length()
		}
	})
	for i := 1; i < n; i++ {
		s[i] += s[i-1]
	}
	turns := cusps(st, s)
	if len(turns) == 0 {
		r := newWindowing(st, s)
		parallel.Runs(n, chunk, func(from, to int) { smoothChunk(st, &r, out, from, to) })
		return false
	}
	from := 0
	for k, back := range gears(turns, s) {
		to := n - 1
		if k < len(turns) {
			to = turns[k]
		}
		var met smoothed // both stretches have the place where they meet; it is the first one's
		own := func(i int) *smoothed {
			if i == 0 && k > 0 {
				return &met
			}
			return out(from + i)
		}
		r := newWindowing(st[from:to+1], s[from:to+1])
		parallel.Runs(to-from+1, chunk, func(a, b int) { smoothChunk(st[from:to+1], &r, own, a, b) })
		for i := range to - from + 1 {
			own(i).back = back
		}
		from = to
	}
	return true
}

// chunk is how many of a run of stations one processor takes at a time: a
// multiple of what smoothing counts by, and long enough to be worth handing out.
const chunk = 64 * renew

// renew is after how many stations the sums of a window are made anew.
const renew = 64

// smoothChunk is smoothRun for the stations from ≤ i < to of a run; from is a
// multiple of renew.
func smoothChunk(st []track.Station, r *windowing, out func(i int) *smoothed, from, to int) {
	n, s := len(st), r.way
	var w window
	lo := min(max(0, from-1), sort.Search(from, func(k int) bool { return s[from]-s[k] <= r.reach(from) }))
	hi := lo
	for i := from; i < to; i++ {
		reach := r.reach(i)
		a, b := lo, hi
		for s[i]-s[a] > reach && a < i-1 {
			a++
		}
		for b < n && (s[b]-s[i] <= reach || b <= i+1) {
			b++
		}
		if i%renew == 0 {
			w = window{s0: s[i], x0: st[i].X, y0: st[i].Y}
			for k := a; k < b; k++ {
				w.add(s[k], st[k].X, st[k].Y, 1)
			}
		} else {
			for k := lo; k < a; k++ {
				w.add(s[k], st[k].X, st[k].Y, -1)
			}
			for k := hi; k < b; k++ {
				w.add(s[k], st[k].X, st[k].Y, 1)
			}
		}
		lo, hi = a, b
		*out(i) = w.at(s[i], fades(s, i, reach), hi-lo)
	}
}

// fades returns the kernel's bandwidth at station i: its reach, or a little more
// than the distance to its farther neighbour where that is longer.
func fades(s []float64, i int, reach float64) float64 {
	if i > 0 {
		reach = max(reach, beyond*(s[i]-s[i-1]))
	}
	if i+1 < len(s) {
		reach = max(reach, beyond*(s[i+1]-s[i]))
	}
	return reach
}

// beyond is the least bandwidth, as a multiple of the distance to a neighbour. The
// parabola through three stations does not depend on it, and that through more
// hardly does: no test holds it closely.
const beyond = 1.25

// A window holds the sums that weighted least-squares parabolas x(s) and y(s)
// need.
type window struct {
	s0, x0, y0 float64    // what the sums are about
	s          [7]float64 // Σ (s-s0)^k
	x, y       [5]float64 // Σ (x-x0) (s-s0)^k, Σ (y-y0) (s-s0)^k
}

func (w *window) add(s, x, y, sign float64) {
	s, x, y = s-w.s0, x-w.x0, y-w.y0
	power := sign
	for k := range w.x {
		w.s[k] += power
		w.x[k] += power * x
		w.y[k] += power * y
		power *= s
	}
	w.s[5] += power
	w.s[6] += power * s
}

// about shifts the origin of five moments by d: from powers of s - s0 to those of
// s - s0 - d. Written out, for it is done at each station.
func about(d float64, m [5]float64) [5]float64 {
	m0, m1, m2, m3, m4 := m[0], m[1], m[2], m[3], m[4]
	m4, m3, m2, m1 = m4-d*m3, m3-d*m2, m2-d*m1, m1-d*m0
	m4, m3, m2 = m4-d*m3, m3-d*m2, m2-d*m1
	m4, m3 = m4-d*m3, m3-d*m2
	m4 -= d * m3
	return [5]float64{m0, m1, m2, m3, m4}
}

// about7 is about of seven moments.
func about7(d float64, m [7]float64) [7]float64 {
	m0, m1, m2, m3, m4, m5, m6 := m[0], m[1], m[2], m[3], m[4], m[5], m[6]
	m6, m5, m4, m3, m2, m1 = m6-d*m5, m5-d*m4, m4-d*m3, m3-d*m2, m2-d*m1, m1-d*m0
	m6, m5, m4, m3, m2 = m6-d*m5, m5-d*m4, m4-d*m3, m3-d*m2, m2-d*m1
	m6, m5, m4, m3 = m6-d*m5, m5-d*m4, m4-d*m3, m3-d*m2
	m6, m5, m4 = m6-d*m5, m5-d*m4, m4-d*m3
	m6, m5 = m6-d*m5, m5-d*m4
	m6 -= d * m5
	return [7]float64{m0, m1, m2, m3, m4, m5, m6}
}

// at returns the value, direction and curvature at s of the parabolas to which
// a station at the distance d from s counts 1 - (d/fades)².
func (w *window) at(s, fades float64, count int) smoothed {
	// With moments about s the coefficients a, b, c give place, direction, curvature.
	d := s - w.s0
	m, mx, my := about7(d, w.s), about(d, w.x), about(d, w.y)
	q := 1 / (fades * fades)
	n, s1, s2, s3, s4 := m[0]-q*m[2], m[1]-q*m[3], m[2]-q*m[4], m[3]-q*m[5], m[4]-q*m[6]
	x0, x1, x2 := mx[0]-q*mx[2], mx[1]-q*mx[3], mx[2]-q*mx[4]
	y0, y1, y2 := my[0]-q*my[2], my[1]-q*my[3], my[2]-q*my[4]

	var ax, bx, cx, ay, by, cy float64 // a + b s + c s²
	det := n*(s2*s4-s3*s3) - s1*(s1*s4-s3*s2) + s2*(s1*s3-s2*s2)
	if count >= 3 && det > 1e-9*n*s2*s4 {
		solve := func(r0, r1, r2 float64) (a, b, c float64) {
			a = (r0*(s2*s4-s3*s3) - s1*(r1*s4-s3*r2) + s2*(r1*s3-s2*r2)) / det
			b = (n*(r1*s4-s3*r2) - r0*(s1*s4-s3*s2) + s2*(s1*r2-r1*s2)) / det
			c = (n*(s2*r2-r1*s3) - s1*(s1*r2-r1*s2) + r0*(s1*s3-s2*s2)) / det
			return
		}
		ax, bx, cx = solve(x0, x1, x2)
		ay, by, cy = solve(y0, y1, y2)
	} else { // a straight line
		det := n*s2 - s1*s1
		if !(det > 0) {
			return smoothed{x: w.x0 + x0/n, y: w.y0 + y0/n, tx: math.NaN(), ty: math.NaN()}
		}
		ax, bx = (x0*s2-s1*x1)/det, (n*x1-s1*x0)/det
		ay, by = (y0*s2-s1*y1)/det, (n*y1-s1*y0)/det
	}
	speed := plane.Vector{X: bx, Y: by}.Length()
	if speed == 0 {
		return smoothed{x: w.x0 + ax, y: w.y0 + ay, tx: math.NaN(), ty: math.NaN()}
	}
	return smoothed{
		x: w.x0 + ax, y: w.y0 + ay, tx: bx / speed, ty: by / speed,
		curve: 2 * (by*cx - bx*cy) / (speed * speed * speed),
	}
}

// A Step is one stance on the way along a path: at a station, or between two
// where the path bends.
type Step struct {
	Stance
	Station int32   // the station, or the one before
	Share   float32 // of the way to the next station; 0 at the station itself
}

// A Walk follows the bar of an implement along a path, from one station to the
// next. It can be walked only once.
type Walk struct {
	*track.Path
	smooth  *smoothedPath
	slip    slip
	tow     *tow
	next    int         // the station it has not come to yet
	slipped plane.Angle // the slip at the one before
	part    bool        // what it has left is not its own to forget
}

// Follow makes the walk of the bar along each path of each log, in the order of
// the logs.
func Follow(logs []track.Log, machines []machine.Machine) [][]*Walk {
	out := make([][]*Walk, len(logs))
	parallel.Each(len(logs), func(i int) {
		for k := range logs[i].Paths {
			out[i] = append(out[i], newWalk(&machines[logs[i].Machine].Implement, &logs[i].Paths[k]))
		}
	})
	return out
}

// newWalk makes the walk of an implement along a path.
func newWalk(im *machine.Implement, p *track.Path) *Walk {
	path := smooth(p.Stations)
	heading := headings(p)
	agrees := agreements(path, heading)
	if heading != nil && !trusted(agrees) {
		heading, agrees = nil, agreements(path, nil)
	}
	if heading != nil && isCourse(path, heading) {
		heading = faced(path, heading)
		agrees = agreements(path, heading)
	}
	slip := slip{arm: findArm(im, path, heading)}
	var meanwhile sync.WaitGroup
	if slip.arm != 0 {
		meanwhile.Go(func() { slip.quiet = max(slipQuiet, slipNoisy*curveNoise(path)) })
	}
	orient(path, heading, agrees)
	meanwhile.Wait()
	return &Walk{Path: p, smooth: path, slip: slip, tow: newTow(im)}
}

// headings returns the logged heading of each station, that of the
// first of its fixes that has one; NaN for a station without, nil for a path
// without.
func headings(p *track.Path) []geo.Bearing {
	heading := make([]geo.Bearing, len(p.Stations))
	if !parallel.Any(len(heading), chunk, func(from, to int) (told bool) {
		for k := from; k < to; k++ {
			heading[k] = geo.Bearing(math.NaN())
			for i := int(p.Stations[k].First); i < p.End(k); i++ {
				if h := p.Fixes[i].Heading; h.Known() {
					heading[k], told = h, true
					break
				}
			}
		}
		return told
	}) {
		return nil
	}
	return heading
}

// Rigid reports whether the bar is one with the machine. Its steps up to a station hang
// on that station and the one before alone: the walk can be taken up anywhere.
func (w *Walk) Rigid() bool { return len(w.tow.links) == 0 }

// From returns a walk of a rigid bar along the same path that goes on to station k. Walks
// side by side leave it to the one that they are from to [Walk.Forget].
func (w *Walk) From(k int) *Walk {
	from := &Walk{Path: w.Path, smooth: w.smooth, slip: w.slip, tow: newTow(w.tow.im), next: k, part: true}
	if k > 0 {
		from.slipped = w.slip.at(w.smooth.at(k - 1).curve)
	}
	return from
}

// Forget gives back the room of what lies before station k, to which no walk comes again.
func (w *Walk) Forget(k int) { w.smooth.forgetBefore(k) }

// Next returns the station that the walk has not come to yet.
func (w *Walk) Next() int { return w.next }

// On goes on to the next station and adds the steps up to it, the last of
// which is at it.
func (w *Walk) On(steps []Step) []Step {
	i := w.next
	w.next++
	here, st := w.smooth.at(i), &w.Stations[i]
	slip := w.slip.at(here.curve)
	if i > 0 && (st.Fresh || st.Silent) && !straight(w.smooth.at(i-1), here) {
		w.tow.letGo()
	} else if i > 0 && !st.Fresh {
		steps = w.tow.between(steps, w.smooth.at(i-1), here, w.slipped, slip, int32(i-1))
	}
	w.slipped = slip
	if !w.part {
		w.smooth.forgetBefore(i)
	}
	return append(steps, Step{Stance: w.tow.follow(here, slip), Station: int32(i)})
}

// All returns the steps up to the last station.
func (w *Walk) All() []Step {
	steps := make([]Step, 0, w.smooth.count+w.smooth.count/8)
	for w.next < w.smooth.count {
		steps = w.On(steps)
	}
	return steps
}

// agree is how far the chord of a silence and the headings at its ends may
// differ for the machine to have gone straight on: TestSilenceInATurn.
const agree = plane.Angle(30 * math.Pi / 180)

// stayed is the length of a chord below which its direction tells nothing: the
// machine stood. Judgement; no test holds it closely.
const stayed = 1.0 // m

// StraightOn reports whether the bar went straight from one stance to another
// while the log was silent.
func StraightOn(from, to *Stance) bool {
	dx, dy := to.X-from.X, to.Y-from.Y
	if math.Hypot(dx, dy) < stayed {
		return true // it stood; there is no ground in between to speak of
	}
	chord := plane.Direction(dx, dy)
	return from.Heading.To(chord).Abs() <= agree && to.Heading.To(chord).Abs() <= agree
}

// straight reports whether the machine went straight from a to b: both
// directions agree with the way. Over less than a metre they need not.
func straight(a, b *smoothed) bool {
	dx, dy := b.x-a.x, b.y-a.y
	d := math.Hypot(dx, dy)
	least := d * math.Cos(float64(agree))
	return d < stayed || dx*a.tx+dy*a.ty >= least && dx*b.tx+dy*b.ty >= least
}

// orient fills in the direction of a station without travel, from the log's heading
// or else from a neighbour. It turns the direction round where the logged heading
// says that the machine was backing up, or else the cusps do. heading is one for
// each station; nil where the log's headings are not to be trusted.
func orient(path *smoothedPath, heading []geo.Bearing, agrees []agreement) {
	undirected := parallel.Any(path.count, chunk, func(from, to int) (some bool) {
		for i := from; i < to; i++ {
			p := path.at(i)
			switch {
			case math.IsNaN(p.tx) && heading != nil && heading[i].Known():
				p.tx, p.ty = heading[i].Angle().Sincos()
			case math.IsNaN(p.tx):
				some = true
			case agrees[i] == opposed, p.back && agrees[i] != alikeAbout:
				p.tx, p.ty, p.back = -p.tx, -p.ty, true
			default:
				p.back = false
			}
		}
		return some
	})
	if !undirected {
		return
	}
	for i := 1; i < path.count; i++ {
		if p := path.at(i); math.IsNaN(p.tx) {
			p.tx, p.ty = path.at(i-1).tx, path.at(i-1).ty
		}
	}
	for i := path.count - 2; i >= 0; i-- {
		if p := path.at(i); math.IsNaN(p.tx) {
			p.tx, p.ty = path.at(i+1).tx, path.at(i+1).ty
		}
	}
	for i := range path.count {
		if p := path.at(i); math.IsNaN(p.tx) { // a log of a single place
			p.tx, p.ty = 0, 1
		}
	}
}

// When logged headings are believed: TestAntennaAheadInATurn.
const (
	alike         = 0.5 // cosine of the angle to the travel, at least, to agree with it; below its negative, to oppose it
	trustedTenths = 9   // tenths of the stations where heading and travel agree, at least
)

// trusted reports whether the log's headings may overrule the travel: they
// agree with it nearly always. A column that is always 0 does not, nor does
// one that means something else.
func trusted(agrees []agreement) bool {
	agree, told := 0, 0
	for _, a := range agrees {
		if a != untold {
			told++
		}
		if a == alikeAbout {
			agree++
		}
	}
	return told > 0 && agree*10 >= told*trustedTenths
}

// An agreement is how a logged heading and the travel go together at a station.
type agreement int8

const (
	untold     agreement = iota // there is no heading, or no travel
	alikeAbout                  // they agree
	neither
	opposed // the heading is about the reverse of the travel
)

// agreements returns that of each station; all are untold where heading is nil.
func agreements(path *smoothedPath, heading []geo.Bearing) []agreement {
	out := make([]agreement, path.count)
	parallel.Runs(len(heading), chunk, func(from, to int) {
		for i := from; i < to; i++ {
			p := path.at(i)
			if !heading[i].Known() || math.IsNaN(p.tx) {
				continue
			}
			x, y := heading[i].Angle().Sincos()
			switch along := p.tx*x + p.ty*y; {
			case along > alike:
				out[i] = alikeAbout
			case along < -alike:
				out[i] = opposed
			default:
				out[i] = neither
			}
		}
	})
	return out
}

// Which ways between two stations are arcs, and into how many parts they are cut.
// Judgement; no test holds it closely.
const (
	sharpest  = 2.6  // rad; what turns by more is a cusp
	shortest  = 0.05 // m; what is shorter is a turn on the spot
	mostParts = 64
)

// subdivisions says in how many parts the way from a to b is to be taken, so
// that the ends of the bar, half metres out, stay within finest of an arc.
func subdivisions(a, b *smoothed, half float64) int {
	sin, cos := a.tx*b.ty-a.ty*b.tx, a.tx*b.tx+a.ty*b.ty
	dist := plane.Vector{X: b.x - a.x, Y: b.y - a.y}.Length()
	// The sagitta of an arc of length l over which the direction turns by t is l t / 8.
	// Up to a quarter turn t is under 1.6 sin t, which tells most of a straight way.
	if most := 1.6 * math.Abs(sin); cos > 0 && most*(dist+half*most) < 8*finest {
		return 1
	}
	turn := math.Abs(math.Atan2(sin, cos))
	if turn > sharpest || dist < shortest { // a cusp, where there is no arc to follow
		return 1
	}
	n := math.Sqrt(turn * (dist + half*turn) / (8 * finest))
	return max(1, min(mostParts, int(math.Ceil(n))))
}

// between returns the place at share t of the way from a to b, on the cubic
// that has their places and directions (Hermite's).
func between(a, b *smoothed, t float64) smoothed {
	d := math.Hypot(b.x-a.x, b.y-a.y)
	if (b.x-a.x)*(a.tx+b.tx)+(b.y-a.y)*(a.ty+b.ty) < 0 {
		d = -d // backing up
	}
	t2, t3 := t*t, t*t*t
	h00, h10, h01, h11 := 2*t3-3*t2+1, t3-2*t2+t, -2*t3+3*t2, t3-t2
	g00, g10, g01, g11 := 6*t2-6*t, 3*t2-4*t+1, -6*t2+6*t, 3*t2-2*t
	m := smoothed{
		x:     h00*a.x + h10*d*a.tx + h01*b.x + h11*d*b.tx,
		y:     h00*a.y + h10*d*a.ty + h01*b.y + h11*d*b.ty,
		tx:    g00*a.x + g10*d*a.tx + g01*b.x + g11*d*b.tx,
		ty:    g00*a.y + g10*d*a.ty + g01*b.y + g11*d*b.ty,
		curve: a.curve + (b.curve-a.curve)*t,
		back:  b.back,
	}
	if l := math.Hypot(m.tx, m.ty); l > 0 {
		l = math.Copysign(l, d)
		m.tx, m.ty = m.tx/l, m.ty/l
	} else {
		m.tx, m.ty = a.tx, a.ty
	}
	return m
}

// A tow follows an implement behind a machine, link by link.
type tow struct {
	im      *machine.Implement
	half    float64 // m from the way to the bar's farther end
	links   []link
	given   bool    // the angles of the links at the next place are known
	way     float64 // m pulled since the bar's angle was last unknown
	settles float64 // m of way after which the bar is in line from any angle
}

// A link is a rigid pole whose front pin is pulled along and whose rear end
// follows without slipping sideways.
type link struct {
	length float64     // m
	after  float64     // m from the rear end back to the next pin
	angle  plane.Angle // heading of the pole
	x, y   float64     // the front pin, last time
	set    bool
}

// settled is how many times its own length a pole is pulled until it counts as in
// line: exp(-3), about 0.05 of its angle, is left then (see pull). Judgement; no test of
// the package fails where it is halved or doubled.
const settled = 3

func newTow(im *machine.Implement) *tow {
	t := &tow{im: im, half: im.Width.Metres()/2 + math.Abs(im.Offset.Metres())}
	if !im.Towed {
		return t
	}
	if c := im.Cart; c != nil {
		t.links = append(t.links, link{length: c.HitchToAxle.Metres(), after: c.AxleToHitch.Metres()})
	}
	t.links = append(t.links, link{length: im.HitchToBar.Metres()})
	for _, l := range t.links {
		t.settles += settled * l.length
	}
	if im.StartHeading != nil {
		t.given, t.way = true, t.settles
		for i := range t.links {
			t.links[i].angle = *im.StartHeading
		}
	}
	return t
}

// letGo makes the bar's heading unknown, after a turn in a silence of the log. The
// bar is assumed to be in line with the travel when the log goes on.
func (t *tow) letGo() {
	t.given, t.way = false, 0
	for i := range t.links {
		t.links[i].set = false
	}
}

// between moves the antenna from one place towards the next, where the slip of the
// machine is known at each, and adds the steps on the way there but for its end. Station
// is the number of the first.
func (t *tow) between(steps []Step, from, to *smoothed, slipFrom, slipTo plane.Angle, station int32) []Step {
	n := subdivisions(from, to, t.half)
	for k := 1; k < n; k++ {
		share := float64(k) / float64(n)
		p := between(from, to, share)
		s := t.follow(&p, slipFrom+(slipTo-slipFrom)*plane.Angle(share))
		steps = append(steps, Step{Stance: s, Station: station, Share: float32(share)})
	}
	return steps
}

// follow moves the antenna to p, where the machine heads to the left of its travel by
// slip, and returns the stance of the bar.
func (t *tow) follow(p *smoothed, slip plane.Angle) Stance {
	im := t.im
	if slip != 0 {
		ahead := *p
		sin, cos := slip.Sincos()
		ahead.tx, ahead.ty = p.tx*cos-p.ty*sin, p.ty*cos+p.tx*sin
		p = &ahead
	}
	back, right := im.AntennaToHitch.Metres(), -im.AntennaRight.Metres()
	x := p.x - back*p.tx + right*p.ty
	y := p.y - back*p.ty - right*p.tx
	heading := plane.Direction(p.tx, p.ty)
	for i := range t.links {
		l := &t.links[i]
		if i == 0 && l.set {
			t.way += math.Hypot(x-l.x, y-l.y)
		}
		l.pull(x, y, heading, t.given)
		heading = l.angle
		sin, cos := heading.Sincos()
		x -= (l.length + l.after) * sin
		y -= (l.length + l.after) * cos
	}
	guess := t.way < t.settles
	off := im.Offset.Metres()
	if off == 0 {
		return Stance{X: x, Y: y, Heading: heading, Guess: guess, Back: p.back}
	}
	sin, cos := heading.Sincos()
	return Stance{X: x + off*cos, Y: y - off*sin, Heading: heading, Guess: guess, Back: p.back}
}

// pushedBack is the angle, in radians, between a pole and the travel of its pin from
// which on the pole is pushed straight back and stays in line: just under π, where
// the closed form of pull has no bound. No test holds it closely.
const pushedBack = 3.1

// pull moves the front pin to x, y.
//
// It is the off-tracking of a towed link. While the pin moves in a straight line
// the rear end draws a tractrix (C. Huygens, 1693, from memory), which has a closed
// form: the angle θ between pole and line shrinks by tan(θ/2) = tan(θ₀/2) exp(-s/L).
// Steps are short where the path bends, so a chain of straight ones is exact to far
// below a millimetre.
func (l *link) pull(x, y float64, lead plane.Angle, given bool) {
	dx, dy := x-l.x, y-l.y
	l.x, l.y = x, y
	if !l.set {
		l.set = true
		if !given {
			l.angle = lead // in line with the first travel
		}
		return
	}
	s := math.Hypot(dx, dy)
	if s == 0 || l.length <= 0 {
		if l.length <= 0 {
			l.angle = lead
		}
		return
	}
	way := plane.Direction(dx, dy)
	theta := l.angle.To(way)
	if theta.Abs() > pushedBack {
		return
	}
	// Expm1, for Exp is machine code of its own on some processors and differs there in
	// the last bit: the same logs give the same bytes on each, and in a browser.
	l.angle = way - plane.Angle(2*math.Atan(math.Tan(float64(theta)/2)*(1+math.Expm1(-s/l.length))))
}
