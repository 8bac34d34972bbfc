package rain

import (
	"math"
	"time"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Crew is who works on, with what is known of them.
type Crew struct {
	Worked   []Worked // fields of the last days
	Machines []string // that go on, together in each field
	Tanks    []Tank
	Begun    []Begun    // fields to be finished first
	At       geo.LonLat // the field that they are in
}

// A Begun is a field of which ground is left.
type Begun struct {
	Name   string
	Middle geo.LonLat
	Left   Ground
}

// A Question is what a plan answers.
type Question struct {
	Next      []field.Field // not begun
	Hours     Hours
	Rain      time.Time
	RoadSpeed float64 // m/s; 0 where no road is reckoned
}

// An Answer says whether a field is done before the rain.
type Answer string

// The answers: Yes and No where the whole interval says so.
const (
	Yes      Answer = "yes"
	Likely   Answer = "likely"
	Unlikely Answer = "unlikely"
	No       Answer = "no"
)

// A Plan is which fields to work before the rain, in which order.
type Plan struct {
	Paces  []Pace // of the machines that go on
	Spread Spread
	Stops  []Stop // those planned in their order, then those left, in the order of the list
	Done   int    // of the fields not begun
	Area   plane.Area
	Work   time.Duration // until the rain, in the hours worked
	Exact  bool          // no other choice and order is better
}

// A Stop is one field in a plan.
type Stop struct {
	Name    string
	Middle  geo.LonLat // of the field
	Area    plane.Area
	Begun   bool // there is work in it already, and Area is what is left
	Planned bool // else it is told as if it came after those planned
	Road    time.Duration
	Takes   time.Duration
	Start   geo.Instant
	End     geo.Instant
	// Low and High hold the end nine times in ten, as far as the machines go on as
	// they have.
	Low, High geo.Instant
	Before    Answer
	Fills     []Fills
	Stand     *geo.LonLat // where the trailer stands; nil where no tank runs dry
}

// gridDetour is how much longer a way along a grid of roads is than the straight line,
// on average over all directions: the mean of |cos| + |sin|, 4/π.
const gridDetour = 4 / math.Pi

// New makes the plan that leaves the most ground done and no field half done before
// the rain.
func New(c *Crew, q *Question) *Plan {
	p := &Plan{Spread: SpreadOf(c.Worked), Work: q.Hours.Until(geo.InstantOf(q.Rain))}
	for _, pace := range Paces(c.Worked) {
		for _, name := range c.Machines {
			if pace.Machine == name && pace.tells() {
				p.Paces = append(p.Paces, pace)
			}
		}
	}
	var spent time.Duration
	for _, b := range c.Begun {
		s := Stop{Name: b.Name, Middle: b.Middle, Begun: true, Planned: true, Area: b.Left.Area}
		var shares []float64
		s.Takes, shares = Together(p.Paces, b.Left)
		s.Fills = fillsFor(c.Tanks, p.Paces, shares, s.Area)
		spent = p.put(s, q, spent)
	}
	e := &errand{begin: spent, limit: p.Work, sure: time.Duration(float64(p.Work) / p.Spread.Factor)}
	shares := make([][]float64, len(q.Next))
	for i := range q.Next {
		g := GroundOf(&q.Next[i])
		took, of := Together(p.Paces, g)
		e.work, e.area, shares[i] = append(e.work, took), append(e.area, g.Area), of
	}
	if q.RoadSpeed > 0 {
		e.roads(c.At, q)
	}
	var order []int
	order, p.Exact = e.order()
	planned := make([]bool, len(q.Next))
	at := -1
	stop := func(i int) Stop {
		f := &q.Next[i]
		s := Stop{Name: f.Name, Middle: f.Frame.Centre, Area: e.area[i], Road: e.to(at, i), Takes: e.work[i], Planned: planned[i]}
		s.Fills = fillsFor(c.Tanks, p.Paces, shares[i], s.Area)
		if place, ok := standFor(f, c.Tanks, p.Paces, shares[i]); ok {
			s.Stand = &place
		}
		return s
	}
	for _, i := range order {
		planned[i] = true
		spent = p.put(stop(i), q, spent)
		p.Done++
		p.Area += e.area[i]
		at = i
	}
	for i := range q.Next {
		if !planned[i] {
			p.put(stop(i), q, spent)
		}
	}
	return p
}

// put adds a stop with its times, after so much work, and returns the work spent when
// it is done.
func (p *Plan) put(s Stop, q *Question, spent time.Duration) time.Duration {
	end := spent + s.Road + s.Takes
	low, high := time.Duration(float64(end)/p.Spread.Factor), time.Duration(float64(end)*p.Spread.Factor)
	s.Start, s.End = q.Hours.Begun(spent+s.Road), q.Hours.After(end)
	s.Low, s.High = q.Hours.After(low), q.Hours.After(high)
	switch {
	case high <= p.Work:
		s.Before = Yes
	case end <= p.Work:
		s.Before = Likely
	case low <= p.Work:
		s.Before = Unlikely
	default:
		s.Before = No
	}
	p.Stops = append(p.Stops, s)
	return end
}

// roads reckons the roads from where the crew is to each field, and between them, from
// middle to middle along a grid of roads.
func (e *errand) roads(from geo.LonLat, q *Question) {
	way := func(a, b geo.LonLat) time.Duration {
		frame := geo.NewFrame(a)
		x, y := frame.Metres(b)
		return duration(math.Hypot(x, y) * gridDetour / q.RoadSpeed)
	}
	e.first, e.road = make([]time.Duration, len(q.Next)), make([][]time.Duration, len(q.Next))
	for i := range q.Next {
		at := q.Next[i].Frame.Centre
		e.first[i] = way(from, at)
		e.road[i] = make([]time.Duration, len(q.Next))
		for k := range i {
			e.road[i][k] = way(at, q.Next[k].Frame.Centre)
			e.road[k][i] = e.road[i][k]
		}
	}
}
