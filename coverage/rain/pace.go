package rain

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// A Ground is what of a field the time on it is told by.
type Ground struct {
	Area    plane.Area
	Breadth plane.Distance // across the passes, driven the way that needs fewest
}

// GroundOf measures a field: its area, holes out, and the least breadth of its parts
// together. A hole takes none of the breadth away: a pass that it cuts is lifted there,
// and turns all the same.
func GroundOf(f *field.Field) Ground {
	var g Ground
	for _, p := range f.Boundary {
		across, _ := p.Shell.Breadth()
		g.Area += p.Area()
		g.Breadth += across
	}
	return g
}

// part is a part of g that has an area, with its share of the breadth.
func (g Ground) part(area plane.Area) Ground {
	if g.Area <= 0 {
		return Ground{Area: area}
	}
	return Ground{Area: area, Breadth: g.Breadth * plane.Distance(float64(area)/float64(g.Area))}
}

// A Worked is a field of the last days, with the time of each machine on it.
type Worked struct {
	Name string
	Ground
	By []Spent
}

// A Spent is one machine's time in one field.
type Spent struct {
	Machine    string
	Width      plane.Length
	New        plane.Area // ground that no earlier visit had covered
	Swept      plane.Area // all of its swaths
	Passes     int
	Working    time.Duration // the bar at work and the machine moving
	Turning    time.Duration
	Standing   time.Duration // for less than three minutes
	Stopped    time.Duration // for longer: fills, repairs, meals
	Travelling time.Duration // within the field, neither at work nor turning
}

// Total is all of the time.
func (s *Spent) Total() time.Duration {
	return s.Working + s.Turning + s.Standing + s.Stopped + s.Travelling
}

// A Pace is how fast a machine was over some fields together.
type Pace struct {
	Spent
	Fields int
	// lines are the passes that the breadths of the fields come to, for this machine's
	// part of their ground. Those of the log are more, by headland rounds and by passes
	// that a stop or a slough cuts, and of a field to come only lines are known.
	lines float64
}

// Paces adds up the time of each machine, in the order in which they first occur.
func Paces(fields []Worked) []Pace {
	var out []Pace
	for i := range fields {
		f := &fields[i]
		for _, s := range f.By {
			at := slices.IndexFunc(out, func(p Pace) bool { return p.Machine == s.Machine })
			if at < 0 {
				at = len(out)
				out = append(out, Pace{Spent: Spent{Machine: s.Machine}})
			}
			out[at].add(f.Ground, s)
		}
	}
	return out
}

func (p *Pace) add(g Ground, s Spent) {
	p.Fields++
	p.Width = max(p.Width, s.Width)
	p.New += s.New
	p.Swept += s.Swept
	p.Passes += s.Passes
	p.Working += s.Working
	p.Turning += s.Turning
	p.Standing += s.Standing
	p.Stopped += s.Stopped
	p.Travelling += s.Travelling
	p.lines += linesOf(g.part(s.New), s.Width)
}

// linesOf is how many passes of a width a breadth takes. It is not rounded: a last
// pass that is half over worked ground belongs to the next part of the field as well.
func linesOf(g Ground, width plane.Length) float64 {
	if width <= 0 {
		return 0
	}
	return float64(g.Breadth) / float64(width)
}

// perArea is seconds by m² of new ground.
func (p *Pace) perArea(d time.Duration) float64 { return d.Seconds() / p.New.SquareMetres() }

// Turn is how long the machine turns for each pass that a field's breadth takes.
func (p *Pace) Turn() time.Duration {
	if p.lines == 0 {
		return 0
	}
	return time.Duration(float64(p.Turning) / p.lines)
}

// Capacity is new ground by time, in m²/s.
func (p *Pace) Capacity() float64 {
	if p.Total() <= 0 {
		return 0
	}
	return p.New.SquareMetres() / p.Total().Seconds()
}

// tells reports whether the pace is one: there is ground and time.
func (p *Pace) tells() bool { return p.New > 0 && p.Total() > 0 }

// Lap is the ground swept by the new ground it covers, 1 at least.
func (p *Pace) Lap() float64 { return max(1, float64(p.Swept)/float64(p.New)) }

// Alone is how long the machine takes on ground by itself: its time at work and in
// stops by the area, in turns by the passes.
func (p *Pace) Alone(g Ground) time.Duration {
	by := p.Working + p.Standing + p.Stopped + p.Travelling
	turns := p.Turn().Seconds() * linesOf(g, p.Width)
	if p.lines == 0 { // no breadth was known
		by += p.Turning
	}
	return duration(p.perArea(by)*g.Area.SquareMetres() + turns)
}

// duration turns seconds into a duration, a year at most.
func duration(seconds float64) time.Duration {
	return time.Duration(min(seconds, 365*24*3600) * float64(time.Second))
}

// Together is how long machines take on ground that work on it at the same time:
// their rates add. The shares are the part of the ground that each works.
func Together(paces []Pace, g Ground) (took time.Duration, shares []float64) {
	rate := 0.0
	shares = make([]float64, len(paces))
	for i := range paces {
		if alone := paces[i].Alone(g).Seconds(); alone > 0 {
			shares[i] = 1 / alone
			rate += shares[i]
		}
	}
	if rate == 0 {
		return duration(math.Inf(1)), shares
	}
	for i := range shares {
		shares[i] /= rate
	}
	return duration(1 / rate), shares
}
