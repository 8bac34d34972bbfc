package season

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/report/words"
)

// An Entry is one field's part of a season: what the summary.json of its assessment
// says, and a small map. It is small enough to keep some hundreds of them at once:
// what no season tells is left out, and the shapes stay in their files.
type Entry struct {
	Job    string // the job file
	Dir    string // where the files of its assessment are, from the season's page, with slashes
	Number int    // in the order of what needs attention, from 1; set by [Book.Order]
	Kept   bool   // it is made of the same files as it was before

	*assess.Summary
	first, last time.Time // of the work; zero where no log has a clock
	sketch      *Sketch
}

// ReadEntry reads an entry from the summary.json of an assessment and the sketch of
// its coverage.geojson. job and dir say where it comes from and where it is.
func ReadEntry(job, dir string, summary io.Reader, sketch *Sketch) (*Entry, error) {
	s := &Entry{Job: job, Dir: dir, sketch: sketch}
	var err error
	if s.Summary, err = assess.ReadBrief(summary); err != nil {
		return nil, fmt.Errorf("%s/summary.json: %w", dir, err)
	}
	s.leaveOut()
	for _, p := range s.Passes {
		if start, err := time.Parse(time.RFC3339Nano, p.Start); err == nil && (s.first.IsZero() || start.Before(s.first)) {
			s.first = start
		}
		if end, err := time.Parse(time.RFC3339Nano, p.End); err == nil && end.After(s.last) {
			s.last = end
		}
	}
	return s, nil
}

// leaveOut drops what takes room and no season tells.
func (s *Entry) leaveOut() {
	s.Headland.Edge.Openings = nil
	for i := range s.Products {
		p := &s.Products[i]
		p.Tanks, p.Logged, p.Waste.ByCause, p.Waste.ByPass = nil, nil, nil, nil
	}
}

// fieldTime is all time spent in the field that the log tells of, in seconds.
func fieldTime(t *assess.TimeSummary) float64 {
	return float64(t.Working + t.Turning + t.Standing + t.Stopped + t.Travelling)
}

// Name is the field's.
func (s *Entry) Name() string {
	if s.Field.Name == "" {
		return "Field without a name"
	}
	return s.Field.Name
}

// Year is the year of its first work; 0 where no log has a clock.
func (s *Entry) Year() int {
	if s.first.IsZero() {
		return 0
	}
	return s.first.Year()
}

// SameName reports whether two entries go by one field's name.
func (s *Entry) SameName(o *Entry) bool {
	plain := func(name string) string { return strings.Join(strings.Fields(name), " ") }
	return plain(s.Field.Name) != "" && strings.EqualFold(plain(s.Field.Name), plain(o.Field.Name))
}

// skipped is the ground to go back for, in m²: skips without what is simply
// not worked yet.
func (s *Entry) skipped() float64 {
	return max(0, s.Ground.Skip.Float()-s.Ground.Remainder.Float()-s.Ground.Outlined.Float())
}

// unworked is the ground not worked yet, without yards, in m².
func (s *Entry) unworked() float64 {
	return max(0, s.Ground.Remainder.Float()-s.Ground.Yards.Float())
}

// skips counts the listed skips that are not just ground still to be worked, or the
// outline's.
func (s *Entry) skips() int {
	n := 0
	for i := range s.Skips {
		if s.Skips[i].Cause != cause.Unworked && !s.Skips[i].Outlined {
			n++
		}
	}
	return n
}

// open is the length of boundary the work does not reach, in m.
func (s *Entry) open() float64 {
	if s.Field.Worked {
		return 0
	}
	return float64(s.Headland.Edge.Open - s.Headland.Edge.Outlined)
}

// nitrogen is the N wasted in kg; false where no product says.
func (s *Entry) nitrogen() (kg float64, known bool) {
	for i := range s.Products {
		if n := s.Products[i].Nitrogen.Wasted; n != nil {
			kg, known = kg+float64(*n), true
		}
	}
	return kg, known
}

// cost is what was wasted, by currency.
func (s *Entry) cost() purse {
	p := purse{}
	for i := range s.Products {
		if c := s.Products[i].WastedCost; c != nil {
			p[s.Products[i].Currency] += float64(*c)
		}
	}
	return p
}

// operator returns who drove a machine.
func (s *Entry) operator(machine string) string {
	for _, m := range s.Machines {
		if m.Name == machine {
			return m.Operator
		}
	}
	return ""
}

// names lists machines and operators, each once, in the order of the job.
func (s *Entry) names() (machines, operators []string) {
	for _, m := range s.Machines {
		machines = append(machines, m.Name)
		if m.Operator != "" && !slices.Contains(operators, m.Operator) {
			operators = append(operators, m.Operator)
		}
	}
	return machines, operators
}

// efficiency is the field efficiency of all machines together: the ground
// they covered anew, by what they could have covered at their working speed
// and full width in the same time; false where no log tells.
func (s *Entry) efficiency() (share float64, known bool) {
	var e effort
	for i := range s.Times {
		e.add(&s.Times[i])
	}
	return e.efficiency()
}

// An effort adds up where time went.
type effort struct{ seconds, fresh, could float64 } // s, m², m²

func (e *effort) add(t *assess.TimeSummary) {
	if !(t.Theoretical > 0) { // no clock, or it never moved at work
		return
	}
	e.seconds += fieldTime(t)
	e.fresh += t.New.Float()
	e.could += float64(t.Theoretical) * fieldTime(t)
}

func (e effort) efficiency() (share float64, known bool) {
	if e.could <= 0 {
		return 0, false
	}
	return e.fresh / e.could, true
}

// A purse is money by currency.
type purse map[string]float64

func (p purse) add(o purse) {
	for currency, v := range o {
		p[currency] += v
	}
}

// currencies are those in it, in the order of the alphabet.
func (p purse) currencies() []string {
	var out []string
	for c := range p {
		out = append(out, c)
	}
	slices.Sort(out)
	return out
}

// text writes what is in it: "120.50 USD + 3.00 EUR".
func (p purse) text() string {
	var parts []string
	for _, c := range p.currencies() {
		parts = append(parts, words.Money(p[c], c))
	}
	return strings.Join(parts, " + ")
}
