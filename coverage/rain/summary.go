package rain

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/figure"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// lately is how long ago work may have ended for its pace to be that of today.
// Judgement: crops, ground and crews change within weeks. No test of the package
// fails where it is halved or doubled.
const lately = 14 * 24 * time.Hour

// A Past is a field that was assessed. Its ground is asked for where it is one of the
// last days.
type Past struct {
	Summary *assess.Summary
	Ground  func() (field.Field, error)
}

// AnyAmmonia reports whether a product of some fields is anhydrous ammonia, by its
// analysis or its name.
func AnyAmmonia(pasts []Past) bool {
	for _, p := range pasts {
		for i := range p.Summary.Products {
			product := &p.Summary.Products[i]
			if a := product.Analysis; a != nil && *a == (assess.AnalysisSummary{N: 0.82}) ||
				strings.Contains(strings.ToLower(product.Name), "anhydrous ammonia") {
				return true
			}
		}
	}
	return false
}

// A Season is the fields of a season, the times of their logs read.
type Season struct {
	pasts []past
	Last  int // index of the field worked last
	Now   geo.Instant
	days  []span // of all passes of the last days
}

type past struct {
	*assess.Summary
	ground   field.Field
	last     geo.Instant
	machines map[string]geo.Instant // the end of each one's last pass
	spans    []span
}

type span struct{ from, to geo.Instant }

// ErrNoTimes says that no pace can be told.
var ErrNoTimes = errors.New("no pass of a log with times")

// Read reads the times of a season's passes, and the ground of the fields of the last
// days. The error is [ErrNoTimes], or what was wrong with ground.
func Read(fields []Past) (*Season, error) {
	s := &Season{Last: -1}
	for _, f := range fields {
		p := past{Summary: f.Summary, machines: map[string]geo.Instant{}}
		for i := range f.Summary.Passes {
			pass := &f.Summary.Passes[i]
			from, errFrom := time.Parse(time.RFC3339Nano, pass.Start)
			to, errTo := time.Parse(time.RFC3339Nano, pass.End)
			if errFrom != nil || errTo != nil {
				continue
			}
			end := geo.InstantOf(to)
			p.spans = append(p.spans, span{geo.InstantOf(from), end})
			p.last, p.machines[pass.Machine] = max(p.last, end), max(p.machines[pass.Machine], end)
		}
		s.pasts = append(s.pasts, p)
		if len(p.spans) > 0 && (s.Last < 0 || p.last > s.Now) {
			s.Last, s.Now = len(s.pasts)-1, p.last
		}
	}
	if s.Last < 0 {
		return nil, ErrNoTimes
	}
	for i := range s.pasts {
		p := &s.pasts[i]
		if !s.recent(p.last) {
			continue
		}
		s.days = append(s.days, p.spans...)
		var err error
		if p.ground, err = fields[i].Ground(); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// recent reports whether work that ended then counts for the pace.
func (s *Season) recent(end geo.Instant) bool { return end > 0 && s.Now.Sub(end) <= lately }

// goesOn is how long before the last pass of all a machine's own last may have ended
// for it to be one that goes on: it worked on the last day. Judgement. TestCrewOfTheLastDay
// fails where it is doubled.
const goesOn = 24 * time.Hour

// Crew gathers who goes on, with the pace and tanks of the last days. Without names it
// is all machines that worked on the last day.
func (s *Season) Crew(names []string) (*Crew, error) {
	c := &Crew{}
	last := s.pasts[s.Last]
	c.At = geo.LonLat{Lon: float64(last.Field.Lon), Lat: float64(last.Field.Lat)}
	var known []string
	for i := range s.pasts {
		p := &s.pasts[i]
		if !s.recent(p.last) {
			continue
		}
		w := workedOf(p)
		for _, by := range w.By {
			if !slices.Contains(known, by.Machine) {
				known = append(known, by.Machine)
			}
			if len(names) == 0 && s.Now.Sub(p.machines[by.Machine]) <= goesOn && !slices.Contains(c.Machines, by.Machine) {
				c.Machines = append(c.Machines, by.Machine)
			}
		}
		c.Worked = append(c.Worked, w)
	}
	for _, name := range names {
		if !slices.Contains(known, name) {
			return nil, fmt.Errorf("found %q, want one of %s", name, geo.Quoted(known))
		}
		if !slices.Contains(c.Machines, name) {
			c.Machines = append(c.Machines, name)
		}
	}
	slices.Sort(c.Machines)
	// What other machines did, another day or another job, tells nothing of these.
	for i := range c.Worked {
		w := &c.Worked[i]
		w.By = slices.DeleteFunc(w.By, func(b Spent) bool { return !slices.Contains(c.Machines, b.Machine) })
	}
	c.Worked = slices.DeleteFunc(c.Worked, func(w Worked) bool { return len(w.By) == 0 })
	if !slices.ContainsFunc(Paces(c.Worked), func(p Pace) bool { return p.tells() }) {
		return nil, ErrNoTimes
	}
	s.tanks(c)
	s.begun(c)
	return c, nil
}

// workedOf reads the time of each machine in a field.
func workedOf(p *past) Worked {
	w := Worked{Name: p.Field.Name, Ground: GroundOf(&p.ground)}
	seconds := func(f figure.Number) time.Duration { return duration(float64(f)) }
	for i := range p.Times {
		t := &p.Times[i]
		s := Spent{
			Machine: t.Machine, New: plane.Area(t.New),
			Working: seconds(t.Working), Turning: seconds(t.Turning), Standing: seconds(t.Standing),
			Stopped: seconds(t.Stopped), Travelling: seconds(t.Travelling),
		}
		for _, m := range p.Machines {
			if m.Name == t.Machine {
				s.Width = plane.Metres(float64(m.Width))
			}
		}
		for _, pass := range p.Passes {
			if pass.Machine == t.Machine {
				s.Passes++
				s.Swept += plane.Area(pass.Swept)
			}
		}
		if s.New > 0 {
			w.By = append(w.By, s)
		}
	}
	return w
}

// tanks finds the tanks of the machines that go on, as their latest fields have them.
func (s *Season) tanks(c *Crew) {
	latest := map[[2]string]geo.Instant{}
	for i := range s.pasts {
		p := &s.pasts[i]
		if !s.recent(p.last) {
			continue
		}
		for _, product := range p.Products {
			for _, t := range product.Tanks {
				key := [2]string{t.Machine, product.Name}
				end := p.machines[t.Machine]
				if !slices.Contains(c.Machines, t.Machine) || !(t.Ground > 0) || end <= latest[key] {
					continue
				}
				latest[key] = end
				tank := Tank{Machine: t.Machine, Product: product.Name, Ground: areaOf(float64(t.Ground))}
				if n := len(t.Fills); n > 0 && t.Filled > 0 {
					tank.Left = areaOf(float64(t.Ground) * float64(t.Fills[n-1].Left) / float64(t.Filled))
				}
				c.Tanks = slices.DeleteFunc(c.Tanks, func(o Tank) bool { return o.Machine == tank.Machine && o.Product == tank.Product })
				c.Tanks = append(c.Tanks, tank)
			}
		}
	}
}

func areaOf(m2 float64) plane.Area { return plane.Area(m2 * float64(plane.SquareMetre)) }

// begun finds the fields that the machines worked on the last day and that have ground
// not worked yet, wide enough for whole passes: summary.json's remainder. The one worked
// last comes first.
func (s *Season) begun(c *Crew) {
	order := make([]int, len(s.pasts))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return int(max(-1, min(1, s.pasts[b].last-s.pasts[a].last))) })
	for _, i := range order {
		p := &s.pasts[i]
		left := plane.Area(p.Ground.Skip + p.Ground.Unlogged) // as pace.Forecast has it
		if p.last == 0 || s.Now.Sub(p.last) > goesOn || p.Ground.Remainder == 0 || p.Field.Worked {
			continue
		}
		for _, name := range c.Machines {
			if p.machines[name] > 0 {
				c.Begun = append(c.Begun, Begun{p.Field.Name, p.ground.Frame.Centre, GroundOf(&p.ground).part(left)})
				break
			}
		}
	}
}

// sameGround is how much of the larger of two fields the smaller must be, and no more
// than that apart, for them to be one. Judgement. No test of the package fails where
// the rest to one is halved or doubled.
const sameGround = 0.9

// Of returns the name of the field of the last days that a field is, by ground: a place
// inside the one lies inside the other, and they are of one size; false where there is
// none.
func (s *Season) Of(f *field.Field) (string, bool) {
	area := GroundOf(f).Area
	for i := range s.pasts {
		p := &s.pasts[i]
		if !s.recent(p.last) {
			continue
		}
		other := GroundOf(&p.ground).Area
		if float64(min(area, other)) < sameGround*float64(max(area, other)) {
			continue
		}
		if len(p.ground.Boundary) == 0 {
			continue
		}
		inside := p.ground.Frame.ToEarth(p.ground.Boundary[0].InteriorPoint())
		at, ok := f.Frame.ToPlane(inside)
		if ok && slices.ContainsFunc(f.Boundary, func(part plane.Polygon) bool { return part.Contains(at) }) {
			return p.Field.Name, true
		}
	}
	return "", false
}

// newDay is when one day's work is over and the next's has not begun: a pass before it is
// of the day before. Judgement. TestCrewOfTheLastDay fails where it is halved or doubled.
const newDay = 4 * time.Hour

// Days are the hours worked on the last days in a zone: from the earliest start to the
// latest end of a day. Of the last day of all the end is not known, and where there is
// no other the second result is false.
func (s *Season) Days(zone *time.Location) (Day, bool) {
	type date struct{ year, day int }
	of := func(i geo.Instant) (date, time.Duration) {
		t := i.Time().In(zone)
		clock := time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
		if clock < newDay {
			clock += 24 * time.Hour
			t = t.AddDate(0, 0, -1)
		}
		return date{t.Year(), t.YearDay()}, clock
	}
	today, now := of(s.Now)
	day := Day{From: newDay + 24*time.Hour, To: now}
	before := false
	for _, p := range s.days {
		start, from := of(p.from)
		end, to := of(p.to)
		day.From = min(day.From, from)
		if start != end { // through the night
			day.From, day.To = newDay, newDay+24*time.Hour
		}
		if end != today {
			before = true
			day.To = max(day.To, to)
		}
	}
	return day, before
}
