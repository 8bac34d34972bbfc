package live

import (
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/beside"
	"lapwing/coverage/field"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/journal"
	"lapwing/geo/plane"
)

// How fixes are judged at once, before later ones tell more. Package track has the same
// figures where it sees both sides of a fix; here they are judgement, and what they get
// wrong is put right at the next lift. The tests named fail where a figure is halved and
// where it is doubled, but for what is said of one beside it.
const (
	// A fix that is farther than spikeSize from the one before, and faster than topSpeed
	// away, is a jump of the position (TestJumps). Where spikeFixes in a row are, the machine
	// is there; TestJumps fails where that is halved only.
	topSpeed   = 20.0 // m/s
	spikeSize  = 3.0  // m
	spikeFixes = 5

	// A swath goes on over a silence of shortGap, or of slowGap usual intervals where that is
	// longer. The median of the last usualOf intervals is the usual one
	// (TestPaintedOverASilence).
	shortGap = 3 * time.Second
	slowGap  = 2.5
	usualOf  = 9

	// A machine stands that moves less than standsNear in standsFor (TestStandsOrCreeps).
	// Doubled, standsFor only tells two seconds later that a machine stands, and no test fails.
	standsFor  = 2 * time.Second
	standsNear = 0.3 // m

	// Where nothing says whether the bar works, it does on a machine that is as fast as
	// workSpeed and turns less than workTurn within the bar's width, or turnWithin where that
	// is longer. TestInferredAtOnce fails where workTurn is halved; no test, TestAgreesWithTheMap
	// among them, where another is changed: the next lift puts right what they get wrong.
	workSpeed  = 0.5              // m/s
	workTurn   = plane.Angle(0.8) // rad
	turnWithin = 8.0              // m

	// A pose within dropSpacing and dropTurn of the last one that was kept is dropped: the way
	// between two that are kept bends aside by no more than 2.5 m x 4e-3 / 8, 1.3 mm, and the
	// end of a bar of 36 m is no more than 7 cm ahead of or behind where it is drawn. No test
	// fails where either is halved or doubled: memory hangs on them more than what is told.
	dropSpacing = 2.5               // m
	dropTurn    = plane.Angle(4e-3) // rad
)

// A mach is one machine at work.
type mach struct {
	index int // into the machines of the job
	bar   *machine.Implement
	rule  worklog.Rule
	told  bool // some record says whether it works

	history  history
	follower *stance.Follower
	states   []machine.State // by their number in poses
	numbers  map[string]machine.StateID
	delay    delays

	last     fix             // the newest that is no jump
	lately   []fix           // those of the last seconds
	steps    []time.Duration // between the last fixes
	jumps    int             // fixes in a row that were taken for jumps
	pending  []barThen       // at the places that the follower has not settled
	turned   []turnAt        // headings of the last metres
	stance   stance.Stance   // of the last fix
	known    bool
	worksNow bool
	state    machine.StateID

	passes   []*driven      // since the last answer, in order
	going    bool           // the last of passes is not at its end
	begun    int            // the pass of the last answer that the first of passes is the rest of; -1 for none
	before   plane.Distance // how long that pass was in the answer
	at       stance.Stance  // the newest that is settled
	atOK     bool           // there is one
	still    geo.Instant    // since when it stands
	stands   bool
	filled   map[int]float64 // m² worked since the tank of a product was filled
	fills    []geo.Instant   // when, in order
	earlier  []geo.Instant   // when it was filled before this engine began
	pace     float64         // m²/s, see usage
	worked   bool            // the bar has been down, at workedAt last
	workedAt stance.Stance
	bars     painted
}

// A fix is one on the field's plane, in metres.
type fix struct {
	time  geo.Instant
	x, y  float64
	works bool
}

// A barThen is what the bar did at a place that the follower has not settled.
type barThen struct {
	time  geo.Instant
	works bool
	state machine.StateID
}

// A turnAt is a heading so far along the way.
type turnAt struct {
	way     float64 // m
	heading plane.Angle
}

// A driven is a pass that is being driven, or was since the last answer.
type driven struct {
	work.Pass
	index int // among the neighbourhood's
}

func newMach(index int, m *machine.Machine, rule worklog.Rule) *mach {
	return &mach{index: index, bar: &m.Implement, rule: rule, follower: stance.NewFollower(&m.Implement),
		states: []machine.State{nil}, numbers: map[string]machine.StateID{}, begun: -1,
		delay: delays{on: m.Implement.OnDelay, off: m.Implement.OffDelay}, filled: map[int]float64{}}
}

// take reports whether a fix is to be followed, which a jump of the position is not. fresh
// says that no way leads to it from the one before.
func (m *mach) take(f fix, opt *field.Options) (follow, fresh bool) {
	if m.last.time == 0 {
		return true, true
	}
	dt := f.time.Sub(m.last.time)
	if dt <= 0 {
		return false, false
	}
	away := math.Hypot(f.x-m.last.x, f.y-m.last.y)
	if away > spikeSize && away > topSpeed*dt.Seconds() {
		if m.jumps++; m.jumps < spikeFixes {
			return false, false
		}
		fresh = true
	}
	m.jumps = 0
	longest := opt.MaxGap
	if longest == 0 {
		longest = max(shortGap, time.Duration(slowGap*float64(m.usual())))
	}
	if m.steps = append(m.steps, dt); len(m.steps) > 2*usualOf {
		m.steps = append(m.steps[:0], m.steps[usualOf:]...)
	}
	return true, fresh || dt > longest
}

// usual is the usual time between two fixes.
func (m *mach) usual() time.Duration {
	var last [usualOf]time.Duration
	n := copy(last[:], m.steps[max(0, len(m.steps)-usualOf):])
	if n == 0 {
		return 0
	}
	slices.Sort(last[:n])
	return last[n/2]
}

// standing reports whether a machine stands that is at f now.
func (m *mach) standing(f fix) bool {
	for len(m.lately) > 1 && f.time.Sub(m.lately[1].time) >= standsFor {
		m.lately = m.lately[1:]
	}
	m.lately = append(m.lately, f)
	from := &m.lately[0]
	return f.time.Sub(from.time) >= standsFor && math.Hypot(f.x-from.x, f.y-from.y) < standsNear
}

// works tells whether the bar works from a record on, and in which state its sections are.
func (m *mach) works(r *journal.Record, f fix, inside bool) (bool, machine.StateID) {
	state := m.stateOf(r.Sections)
	m.told = m.told || r.Working != "" || r.Sections != ""
	var raw bool
	switch {
	case m.rule.Told():
		raw = m.ruled(r)
	case m.rule.Inferred() || !m.told:
		raw = inside && m.guessed()
	default:
		raw = r.Working == "1" || r.Working == "" && r.Sections != ""
	}
	if s := m.states[state]; s != nil && len(s) == 0 {
		raw = false
	}
	return m.delay.at(f.time, raw), state
}

// ruled asks the rule that the job gives for working. Such a rule may look at the move to
// the next fix, which has not come yet: here it sees the move from the fix before.
func (m *mach) ruled(r *journal.Record) bool {
	t := machine.Track{Fixes: []machine.Fix{{Fix: r.Fix}, {Fix: r.Fix}}}
	if n := m.history.count; n > 1 {
		last := &m.history.pieces[(n-2)/pieceLen][(n-2)%pieceLen] // r itself is the newest
		t.Fixes[0].Fix = last.fix
		t.Fixes[0].Speed, t.Fixes[0].Heading = r.Speed, r.Heading
	}
	return m.rule.Apply(&t) == nil && t.Fixes[0].Working
}

// guessed tells work from the motion: a machine that goes straight at the speed of work
// is taken to work. Package work, which sees the whole log, does better at the next lift.
func (m *mach) guessed() bool { return m.speed() >= workSpeed && m.turning() <= workTurn }

// speed is how fast a machine went over the last seconds, in m/s.
func (m *mach) speed() float64 {
	if len(m.lately) < 2 {
		return 0
	}
	a, b := m.lately[0], m.lately[len(m.lately)-1]
	return math.Hypot(b.x-a.x, b.y-a.y) / max(0.1, b.time.Sub(a.time).Seconds())
}

// turning is how far the heading ranged over the last metres.
func (m *mach) turning() plane.Angle {
	if len(m.turned) == 0 {
		return 0
	}
	last := m.turned[len(m.turned)-1]
	var lo, hi plane.Angle
	for i := range m.turned {
		d := last.heading.To(m.turned[i].heading)
		lo, hi = min(lo, d), max(hi, d)
	}
	return hi - lo
}

// noteHeading keeps the headings of the last metres.
func (m *mach) noteHeading(f fix, heading plane.Angle) {
	way := 0.0
	if n := len(m.turned); n > 0 {
		way = m.turned[n-1].way + math.Hypot(f.x-m.last.x, f.y-m.last.y)
	}
	within := max(turnWithin, m.bar.Width.Metres())
	from := 0
	for from < len(m.turned) && way-m.turned[from].way > within {
		from++
	}
	m.turned = append(m.turned[from:], turnAt{way, heading})
}

// stateOf is the number of a state of the sections.
func (m *mach) stateOf(bits string) machine.StateID {
	id, known := m.numbers[bits]
	if known {
		return id
	}
	if bits != "" && strings.Trim(bits, "1") != "" && len(m.states) < math.MaxUint16 {
		sections := m.bar.Sections
		if len(sections) != len(bits) {
			sections = machine.EqualSections(m.bar.Width, len(bits))
		}
		on := make([]bool, len(bits))
		for i := range on {
			on[i] = bits[i] == '1'
		}
		id = machine.StateID(len(m.states))
		m.states = append(m.states, machine.StateOf(sections, on))
	}
	m.numbers[bits] = id
	return id
}

// open is the part of the bar that works in a state, from its left end to its right.
func (m *mach) open(id machine.StateID) (left, right plane.Length, width plane.Distance) {
	parts := m.bar.Open(m.states, id)
	if len(parts) == 0 {
		return 0, 0, 0
	}
	for _, s := range parts {
		width += plane.Distance(s.Right - s.Left)
	}
	return parts[0].Left, parts[len(parts)-1].Right, width
}

// lap compares the bar with what lies beside it now.
func (m *mach) lap(n *beside.Neighbourhood) (left, right beside.Lap) {
	sin, cos := m.stance.Heading.Sincos()
	d := beside.Driving{Machine: m.index, Pass: -1, Begun: -1,
		Bar: locate.WayStance{X: float64(plane.DistanceOf(m.stance.X)), Y: float64(plane.DistanceOf(m.stance.Y)), Sin: sin, Cos: cos}}
	l, r, _ := m.open(m.state)
	d.Left, d.Right = plane.Distance(l), plane.Distance(r)
	if m.going {
		p := m.passes[len(m.passes)-1]
		d.Pass = p.index
		d.AlongPass = p.Length + plane.DistanceOf(math.Hypot(m.stance.X-m.at.X, m.stance.Y-m.at.Y))
		if m.begun >= 0 && len(m.passes) == 1 {
			d.Begun, d.AlongOfBegun = m.begun, m.before+d.AlongPass
		}
	}
	return n.Now(&d)
}

// delays move each switch to the time at which the product reaches the ground.
type delays struct {
	on, off time.Duration
	last    bool // as switched
	now     bool // on the ground
	to      []switched
}

type switched struct {
	at    geo.Instant
	works bool
}

func (d *delays) at(t geo.Instant, raw bool) bool {
	if raw != d.last {
		after := d.off
		if raw {
			after = d.on
		}
		d.last = raw
		d.to = append(d.to, switched{t + geo.Instant(after), raw})
	}
	for len(d.to) > 0 && d.to[0].at <= t {
		d.now, d.to = d.to[0].works, d.to[1:]
	}
	return d.now
}
