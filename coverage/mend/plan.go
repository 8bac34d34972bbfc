package mend

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// Options say what a drive is for and who drives it.
type Options struct {
	Skips   []int       // indices into Map.Skips, the ones to choose from
	All     bool        // mend all of them, not only those worth a drive
	Must    []int       // of those, the ones to mend however small
	Machine int         // index into Map.Machines: whose bar mends
	Start   plane.Point // where the machine stands
	// Radius is that of its turns; a turn costs the way along its arc. Zero
	// means half the working width, 25 ft at least. It decides on the order of
	// driving only and is in no length that is told.
	Radius plane.Length
}

// A Plan is a drive: the runs in driving order and the ways between them.
type Plan struct {
	Machine int
	Start   plane.Point
	Stops   []Stop
	Places  [][]int      // the skips of each place gone back for: those that touch, the largest first
	Small   []int        // indices into Map.Skips of those that are not worth a drive
	Left    []int        // of those along which no line stays on the ground
	Bent    []int        // of those so thin and bent that no line goes along them
	TooMany []int        // of those that are more than one drive holds: the smallest
	Radius  plane.Length // of the turns
	// Shortest says that no other order has less travel and turning; otherwise
	// it is one that no small change makes shorter.
	Shortest bool
}

// A Stop is a way to a run, and the run.
type Stop struct {
	Leg Leg
	Run Lane
}

// A Leg is the way from where the machine stood to where a run begins.
type Leg struct {
	Way    []plane.Point // first and last included; the last is the run's first
	Length plane.Distance
	Worked plane.Distance // of it, over ground that is covered
	Turned plane.Angle    // on the way, the sizes of all turns added up
	Off    plane.Distance // of the length, from where the machine stands to the field's ground
	// Outside says that no way over the field leads there; Way is then a
	// straight line, and a road must be found.
	Outside bool
}

// mostRuns is how many runs a drive has at most. More are over a day's work, and the
// time to order them grows with the cube. Judgement. No test
// holds it closely.
const mostRuns = 150

// tightest is the least radius that a machine is taken to turn with: a large tractor
// with an implement behind it. Judgement; no test holds it closely.
const tightest = 25 * 3048 * plane.Tick // 25 ft

// New plans the drive over the field of m.
func New(m *coverage.Map, opt Options) *Plan {
	g := newGround(m.Field.Boundary)
	im := &m.Machines[opt.Machine].Implement
	radius := opt.Radius
	if radius == 0 {
		radius = max(im.Width/2, tightest)
	}
	p := &Plan{Machine: opt.Machine, Start: opt.Start, Radius: radius}
	var runs []course
	skips := slices.Clone(opt.Skips)
	slices.Sort(skips) // Map.Skips are from the largest down
	for _, group := range together(m, slices.Compact(skips)) {
		must := slices.ContainsFunc(group, func(i int) bool { return slices.Contains(opt.Must, i) })
		if whole := patchOf(m, group); !opt.All && !must && !whole.worth() {
			p.Small = append(p.Small, group...)
			continue
		}
		var gone []int
		for _, l := range g.planned(m, group, im) {
			switch {
			case l.courses == nil && l.bent, l.courses != nil && !l.fills():
				p.Bent = append(p.Bent, l.skips...)
			case l.courses == nil:
				p.Left = append(p.Left, l.skips...)
			case len(runs)+len(l.courses) > mostRuns:
				p.TooMany = append(p.TooMany, l.skips...)
			default:
				for k := range l.courses {
					l.courses[k].ways[0].Place, l.courses[k].ways[1].Place = len(p.Places), len(p.Places)
				}
				runs = append(runs, l.courses...)
				gone = append(gone, l.skips...)
			}
		}
		if len(gone) > 0 {
			slices.Sort(gone)
			p.Places = append(p.Places, gone)
		}
	}
	w := newWays(g, opt.Start, runs)
	order, exact := w.costs(radius).order()
	p.Shortest = exact
	from := -1
	over := newCovered(m)
	for _, v := range order {
		leg := w.leg(from, v.index())
		leg.Worked = over.length(leg.Way)
		p.Stops = append(p.Stops, Stop{leg, runs[v.run].ways[v.end]})
		from = v.index()
	}
	return p
}

// Travel is the way between the runs.
func (p *Plan) Travel() plane.Distance {
	var sum plane.Distance
	for i := range p.Stops {
		sum += p.Stops[i].Leg.Length
	}
	return sum
}

// Worked is the part of the travel over covered ground.
func (p *Plan) Worked() plane.Distance {
	var sum plane.Distance
	for i := range p.Stops {
		sum += p.Stops[i].Leg.Worked
	}
	return sum
}

// Work is the length of the runs.
func (p *Plan) Work() plane.Distance {
	var sum plane.Distance
	for i := range p.Stops {
		sum += p.Stops[i].Run.Length
	}
	return sum
}

// setIn is how long it takes to line up and lower the bar at a stop. Judgement, common
// practice, no source; no test holds it closely.
const setIn = 30 * time.Second

// StopTime is how long stop i takes at so many metres a second: the way there, its
// turns along arcs, to set in, and the run.
func (p *Plan) StopTime(i int, speed float64) time.Duration {
	s := &p.Stops[i]
	way := s.Leg.Length
	if s.Leg.Outside {
		way *= byRoad
	}
	way += plane.Distance(float64(p.Radius)*float64(s.Leg.Turned)) + s.Run.Length
	return setIn + time.Duration(way.Metres()/speed*float64(time.Second))
}

// PlaceTime is how long all stops at a place take.
func (p *Plan) PlaceTime(place int, speed float64) (sum time.Duration) {
	for i := range p.Stops {
		if p.Stops[i].Run.Place == place {
			sum += p.StopTime(i, speed)
		}
	}
	return sum
}

// Time is how long the whole drive takes.
func (p *Plan) Time(speed float64) (sum time.Duration) {
	for i := range p.Stops {
		sum += p.StopTime(i, speed)
	}
	return sum
}

// ways holds the travel between the ends of runs.
type ways struct {
	*travel
	ground *drivable
	runs   []course
	start  plane.Point // where the machine stands, on the ground or off it
	gate   plane.Point // where it comes onto the ground; start where it is on it
	before [][]int     // for each place asked about, see travel.from
	far    [][]plane.Distance
}

// The places asked about: the gate, then for each run and end (2 × run + end)
// where to line up and where it ends.
const gatePlace = 0

func lineUpPlace(k int) int { return 1 + 2*k }
func endPlace(k int) int    { return 2 + 2*k }

func newWays(g *drivable, start plane.Point, runs []course) *ways {
	w := &ways{ground: g, runs: runs, start: start, gate: start}
	if !g.holds(start) {
		w.gate = g.nearestEdge(start)
		if !g.holds(w.gate) { // rounded to the grid it may lie a tick outside
			w.gate = g.corner(w.gate)
		}
	}
	asked := []plane.Point{w.gate}
	for i := range runs {
		for k := range runs[i].ways {
			r := &runs[i].ways[k]
			asked = append(asked, r.LineUp, r.Line[len(r.Line)-1])
		}
	}
	w.travel = g.travel(asked)
	w.before, w.far = make([][]int, len(asked)), make([][]plane.Distance, len(asked))
	for i := range asked {
		w.far[i], w.before[i] = w.from(i)
	}
	return w
}

func (w *ways) run(k int) *Lane { return &w.runs[k/2].ways[k%2] }

// leg returns the way from the end of run from (2 × run + end; -1 for the
// start) to where run to begins.
func (w *ways) leg(from, to int) Leg {
	at := gatePlace
	if from >= 0 {
		at = endPlace(from)
	}
	r := w.run(to)
	var l Leg
	if from >= 0 {
		if on, ok := w.straightOn(w.run(from), r); ok {
			return on
		}
	}
	if l.Way = w.way(at, lineUpPlace(to), w.before[at]); l.Way == nil {
		l.Way, l.Outside = []plane.Point{w.places[at], r.LineUp}, true
	}
	if from < 0 && w.start != w.gate {
		l.Way = append([]plane.Point{w.start}, l.Way...)
		l.Off = w.start.Distance(w.gate)
	}
	l.Way = slices.Compact(append(l.Way, r.Line[0]))
	l.Length = lengthOf(l.Way)
	var leaving plane.Vector
	if from >= 0 {
		line := w.run(from).Line
		leaving.X, leaving.Y = unit(line[len(line)-2], line[len(line)-1])
	}
	var arriving plane.Vector
	arriving.X, arriving.Y = unit(r.Line[0], r.Line[1])
	l.Turned = turned(leaving, arriving, l.Way)
	return l
}

// straightAhead is the turn, in radians, below which a machine goes on from one run to
// the next without lining up. Judgement. No test holds it closely.
const straightAhead = 20 * math.Pi / 180

// straightOn returns the way from the end of a run to a next one that goes on
// in about its direction, so that the machine need not line up.
func (w *ways) straightOn(from, to *Lane) (Leg, bool) {
	var l Leg
	end, begin := from.Line[len(from.Line)-1], to.Line[0]
	l.Way = slices.Compact([]plane.Point{end, begin})
	var leaving, arriving plane.Vector
	leaving.X, leaving.Y = unit(from.Line[len(from.Line)-2], end)
	arriving.X, arriving.Y = unit(begin, to.Line[1])
	l.Length, l.Turned = end.Distance(begin), turned(leaving, arriving, l.Way)
	return l, l.Turned < straightAhead && w.ground.sees(end, begin)
}

// byRoad is how many times the straight distance a way off the field is taken
// to be. The road is not known here, so the figure is judgement. No test
// holds it closely.
const byRoad = 3

// costs prices the way from each run to each other: its length, and its turns
// along arcs of a radius.
func (w *ways) costs(radius plane.Length) *costs {
	n := len(w.runs)
	c := &costs{n: n, start: make([]float64, 2*n), step: make([][]float64, 2*n)}
	price := func(from, to int) float64 {
		l := w.leg(from, to)
		if l.Outside {
			l.Length *= byRoad
		}
		return float64(l.Length) + float64(radius)*float64(l.Turned)
	}
	for i := range 2 * n {
		c.start[i] = price(-1, i)
		c.step[i] = make([]float64, 2*n)
		for k := range 2 * n {
			c.step[i][k] = math.Inf(1)
			if i/2 != k/2 {
				c.step[i][k] = price(i, k)
			}
		}
	}
	return c
}
