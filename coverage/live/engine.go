package live

import (
	"slices"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/beside"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/journal"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Source is a journal that grows.
type Source struct {
	Machine string // whose it is, by its name in the job
	Journal string // where it is, as seen from the working directory
	// Other says that another cab writes it, and this one has a copy of it, as far as
	// it came. A machine has one journal of this cab's, and as many as there are of
	// others'.
	Other bool
}

// An Engine says what a crew does while it does it. One goroutine owns it.
type Engine struct {
	job      *job.Live
	sources  []Source
	machines []*mach
	products []agronomy.Product
	opt      field.Options
	land     field.Field
	placed   bool // the frame of the field is known
	bars     []machine.Machine
	headland plane.Length
	rims     near.Index // the field's edge

	near *beside.Neighbourhood
	edge openings
	left remainder

	answer *Answer
	asked  geo.Instant // the time of the newest fix when it was asked last
	due    bool
	late   bool        // ground of others came since
	now    geo.Instant // the time of the newest fix
}

// New makes the engine of a job and its sources. What is wrong is a [*job.InputError].
func New(live *job.Live, sources []Source) (*Engine, error) {
	c, err := CrewOf(live)
	if err != nil {
		return nil, err
	}
	e := &Engine{land: c.land, opt: c.opt, due: true}
	e.placed = len(e.land.Boundary) > 0
	if !e.placed {
		e.land.Worked = true
		if c.somewhere {
			e.land.Frame, e.placed = geo.NewFrame(c.middle), true
		}
	}
	var edges []near.Edge
	for _, p := range e.land.Boundary {
		for _, r := range p.Rings() {
			for i, a := range r {
				edges = append(edges, near.EdgeOf(a, r[(i+1)%len(r)]))
			}
		}
	}
	e.rims = near.New(edges)
	e.near = beside.New(&e.land, c.bars, nil)
	return e, e.Join(c, sources)
}

// Keep says where the journal of a source is, before its first record.
func (e *Engine) Keep(source int, journal string) { e.sources[source].Journal = journal }

// Machine is the machine of a source, as the job has it.
func (e *Engine) Machine(source int) *machine.Machine { return &e.bars[e.machines[source].index] }

// Machines are all machines of the job; those of other cabs stand last.
func (e *Engine) Machines() []machine.Machine { return e.bars }

// Step takes the next record of a source in, which has been written to its journal.
func (e *Engine) Step(source int, r journal.Record) {
	m := e.machines[source]
	m.history.add(&r)
	if !r.At.Valid() || r.At == (geo.LonLat{}) {
		return
	}
	if !e.placed {
		e.land.Frame, e.placed = geo.NewFrame(r.At), true
	}
	x, y := e.land.Frame.Metres(r.At)
	f := fix{time: r.Time, x: x + e.opt.Shift.X.Metres(), y: y + e.opt.Shift.Y.Metres()}
	const farthest = (plane.Reach - field.Room) / plane.Metre // m
	if max(f.x, -f.x, f.y, -f.y) > float64(farthest) {
		return
	}
	e.now = max(e.now, r.Time)
	follow, fresh := m.take(f, &e.opt)
	if !follow {
		return
	}
	if fresh {
		m.lately, m.turned = m.lately[:0], m.turned[:0]
	}
	stands := m.standing(f)
	works, state := m.works(&r, f, e.inside(f))
	f.works = works
	switched := works != m.worksNow || state != m.state
	lifted := m.worksNow && !works
	m.worksNow, m.state = works, state
	m.chances(stands, f.time)
	if stands && !fresh && !switched {
		if s, ok := m.follower.Peek(f.x, f.y); ok {
			m.stance = s
		}
	} else {
		m.pending = append(m.pending, barThen{f.time, works, state})
		got := m.follower.On(f.x, f.y, r.Heading, works, fresh)
		e.settled(m, &got)
		m.stance, m.known = got.Now, got.Known
		m.noteHeading(f, got.Now.Heading)
	}
	if m.known && works {
		m.worked, m.workedAt = true, m.stance
	}
	m.last = f
	switch {
	case e.sources[source].Other:
		e.late = true
	case lifted || e.now.Sub(e.asked) >= askEvery:
		e.due = true
	}
}

// askEvery is how old the exact answer gets while the bar stays down: a pass round and
// round the field has no lift for hours. Judgement: shorter, and the answers of a large field
// keep a slow computer busy; longer, and a skip is told far from where it is. No test but
// TestTankOnTheHeadland, whose pass is longer than half of it, fails where it is halved, and
// none where it is doubled.
const askEvery = 5 * time.Minute

// inside reports whether a place is on the field. Each is where the field has no boundary.
func (e *Engine) inside(f fix) bool {
	if len(e.land.Boundary) == 0 {
		return true
	}
	at := plane.Point{X: plane.Metres(f.x), Y: plane.Metres(f.y)}
	for i := range e.land.Boundary {
		if e.land.Boundary[i].Contains(at) {
			return true
		}
	}
	return false
}

// Due reports whether the field is to be measured: at the start, at each lift, and every
// few minutes of a pass that has none.
func (e *Engine) Due() bool { return e.due }

// Ask takes a snapshot of all that came so far. The caller has it answered, one question
// at a time, and gives the answer to [Engine.Take].
func (e *Engine) Ask() *Question {
	e.due, e.late, e.asked = false, false, e.now
	q := &Question{job: e.job, sources: slices.Clone(e.sources), frame: e.land.Frame, cell: cellOf(e.bars), allow: e.opt.EdgeAllowance, products: e.products}
	for _, m := range e.machines {
		q.fills = append(q.fills, slices.Concat(m.earlier, m.fills))
		q.taken = append(q.taken, m.history.snapshot())
		q.cuts = append(q.cuts, m.last.time)
	}
	return q
}

// Take goes on from an answer: it takes the place of all that was found up to its question.
func (e *Engine) Take(a *Answer) {
	e.answer, e.near, e.edge, e.left = a, a.near, a.edge, a.left
	e.near.Join(e.bars) // machines may have come since it was asked
	for i, m := range e.machines {
		var cut geo.Instant
		if i < len(a.cuts) {
			cut = a.cuts[i]
		}
		m.since(cut, e.near, a.exact)
		m.bars.since(cut)
		since := 0.0
		for _, p := range m.passes {
			since += e.again(m, p)
		}
		if i < len(a.tanks) {
			m.refill(&a.tanks[i], cut, since)
		}
	}
}

// again subtracts the ground of a pass, which was driven after the question was asked, from
// what the answer says is left, and returns that ground in m².
func (e *Engine) again(m *mach, p *driven) (ground float64) {
	for k := 1; k < len(p.Poses); k++ {
		from, to := &p.Poses[k-1], &p.Poses[k]
		bar := work.BarOf(to)
		left, right, width := m.open(to.State)
		if width == 0 {
			continue
		}
		length := (to.Along - from.Along).Metres()
		e.left.work(bar, left, right, length)
		e.edge.work(bar, left, right, length)
		ground += length * width.Metres()
	}
	return ground
}

// Answer is the newest that was taken; nil for none.
func (e *Engine) Answer() *Answer { return e.answer }

// Time is the time of the newest fix; 0 before the first.
func (e *Engine) Time() geo.Instant { return e.now }

// Fixes is how many records came.
func (e *Engine) Fixes() int {
	n := 0
	for _, m := range e.machines {
		n += m.history.count
	}
	return n
}

// A Side is what lies beside an end of the bar.
type Side struct {
	// Beside says that ground worked before is: By is how far the bar laps it, negative
	// where ground is left. Edge says that the field's edge is instead: By is how far the
	// bar reaches past it.
	Beside, Edge bool
	By           plane.Distance
}

// A Now is one machine as of its last fix.
type Now struct {
	Machine     string
	Time        geo.Instant // of its last fix; 0 before the first
	At          plane.Point // of the bar's middle
	Heading     plane.Angle // of the bar
	Known       bool        // where the bar is; else only Time is
	Works       bool
	Guessed     bool // neither log nor job says whether it works: that is told from its motion
	Left, Right Side // where it works
	// LeftEnd and RightEnd are the ends of the part of the bar that works, or of the whole.
	LeftEnd, RightEnd plane.Point
}

// Now says where the machine of a source is and what lies beside it.
func (e *Engine) Now(source int) Now {
	m := e.machines[source]
	n := Now{Machine: e.sources[source].Machine, Time: m.last.time, Known: m.known, Works: m.worksNow, Guessed: m.rule.Inferred() || !m.rule.Told() && !m.told}
	if !m.known {
		return n
	}
	bar := m.stance.Bar()
	n.At, n.Heading = bar.At, m.stance.Heading
	left, right, width := m.open(m.state)
	if width == 0 {
		left, right = -m.bar.Width/2, m.bar.Width/2
	}
	n.LeftEnd, n.RightEnd = bar.End(left), bar.End(right)
	if m.worksNow && width > 0 {
		l, r := m.lap(e.near)
		n.Left, n.Right = sideOf(l), sideOf(r)
	}
	return n
}

func sideOf(l beside.Lap) Side {
	return Side{Beside: l.Pass != 0, Edge: l.Edge && l.Pass == 0, By: l.By}
}

// A FieldNow is the field as of now.
type FieldNow struct {
	Left     float64     // m² not worked yet
	Finish   geo.Instant // when it will be, as work has gone so far
	Finishes bool        // that is known
	// Closed is the share of the field's edge that work has reached; HasEdge is false for
	// a field that is the worked ground.
	Closed  float64
	HasEdge bool
}

// Field says what is left of the field.
func (e *Engine) Field() FieldNow {
	f := FieldNow{Left: e.left.area, HasEdge: e.answer != nil && !e.land.Worked, Closed: e.edge.closed()}
	if e.now != 0 { // without a fix there is no time that it is
		f.Finish, f.Finishes = e.left.finish(e.now)
	}
	return f
}

// NextOpening is the opening of the field's edge that comes next for the machine of a
// source.
func (e *Engine) NextOpening(source int) (Opening, bool) {
	m := e.machines[source]
	if !m.known {
		return Opening{}, false
	}
	return e.edge.next(m.stance.Bar())
}

// Painted is the ground of the machine of a source that is not in the last answer, as
// bars that are numbered from 0 in the order they came. first is the number of the earliest
// whose ground no answer has. bars are those from a number on, or from first where that is
// later; the last one may still move.
func (e *Engine) Painted(source, from int) (first int, bars []Bar) {
	p := &e.machines[source].bars
	return p.first, p.bars[min(max(0, from-p.first), len(p.bars)):]
}

// Land is the field, on whose plane all places are.
func (e *Engine) Land() *field.Field { return &e.land }
