package worklog

import (
	"math"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// A Rule is where a machine's working state comes from: its log, its motion, or
// conditions that must all hold.
type Rule struct {
	Kind       machine.WorkingRule
	conditions []condition
}

// Told reports whether the rule itself says where the machine works, whatever its
// log has.
func (r Rule) Told() bool { return len(r.conditions) > 0 }

// Inferred reports whether the working state is to be worked out, whatever the
// log has.
func (r Rule) Inferred() bool { return r.Kind == machine.Inferred }

// A condition compares something of a fix with a bound.
type condition struct {
	of     string // "speed", "heading" or "time"
	op     string
	bound  float64 // m/s or degrees; seconds of the day
	from   time.Time
	zone   *time.Location
	byDate bool // time is compared with from, not with the hour of the day
}

// RuleWant says what a rule may be.
const RuleWant = `logged, inferred, or conditions such as "speed > 1 m/s and heading < 180 deg"`

// operators, the longer ones first so that ">=" is not read as ">".
var operators = []string{">=", "<=", ">", "<"}

// ReadRule reads a rule; times without a zone are in the one given. What is
// wrong is a [*quantity.Error].
func ReadRule(text string, zone *time.Location) (Rule, error) {
	switch strings.ToLower(text) {
	case "logged":
		return Rule{Kind: machine.AsLogged}, nil
	case "inferred":
		return Rule{Kind: machine.Inferred}, nil
	}
	var r Rule
	var part []string
	for _, word := range append(strings.Fields(text), "and") {
		if !strings.EqualFold(word, "and") {
			part = append(part, word)
			continue
		}
		c, err := readCondition(strings.Join(part, " "), zone)
		if err != nil {
			return Rule{}, err
		}
		r.conditions = append(r.conditions, c)
		part = part[:0]
	}
	return r, nil
}

// readCondition reads one comparison.
func readCondition(text string, zone *time.Location) (condition, error) {
	for _, op := range operators {
		of, bound, ok := strings.Cut(text, op)
		if !ok {
			continue
		}
		c := condition{of: strings.ToLower(strings.TrimSpace(of)), op: op, zone: zone}
		bound = strings.TrimSpace(bound)
		var err error
		switch c.of {
		case "speed":
			c.bound, err = quantity.Parse(bound, quantity.Speed)
		case "heading":
			c.bound, err = quantity.Parse(bound, quantity.Angle)
		case "time":
			err = c.readTime(bound)
		default:
			err = &quantity.Error{Found: "found " + strconv.Quote(c.of) + " in " + strconv.Quote(text), Want: "speed, heading or time"}
		}
		return c, err
	}
	return condition{}, &quantity.Error{Found: "found " + strconv.Quote(text), Want: RuleWant}
}

// readTime reads an hour of the day, or a date with an hour.
func (c *condition) readTime(text string) error {
	for _, layout := range []string{"15:04", "15:04:05"} {
		if t, err := time.Parse(layout, text); err == nil {
			c.bound = float64(t.Hour()*3600 + t.Minute()*60 + t.Second())
			return nil
		}
	}
	var ok bool
	if c.from, ok = ReadTime(text, c.zone); !ok {
		return &quantity.Error{Found: "found " + strconv.Quote(text), Want: `a time such as "14:30" or "2026-05-04T18:00"`}
	}
	c.byDate = true
	return nil
}

// ReadTime reads a date with an hour, in the given zone where it has none.
func ReadTime(text string, zone *time.Location) (time.Time, bool) {
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t, true
		}
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// Apply works out the working state of all fixes of a track by the conditions;
// without any it leaves the track as it is. Speeds and headings that the log
// does not have are those of the move to the next fix.
func (r Rule) Apply(t *machine.Track) error {
	if len(r.conditions) == 0 {
		return nil
	}
	for _, c := range r.conditions {
		if t.NoClock && c.of == "time" {
			return &geo.SyntaxError{File: t.File, Found: "a log without times", Want: "times, since working asks for time"}
		}
	}
	var moves *motion
	for i := range t.Fixes {
		f := &t.Fixes[i]
		f.Working = true
		for _, c := range r.conditions {
			value := 0.0
			switch c.of {
			case "speed":
				value = f.Speed
			case "heading":
				value = float64(f.Heading)
			case "time":
				value = c.seconds(f.Time)
			}
			if math.IsNaN(value) {
				if moves == nil {
					moves = newMotion(t)
				}
				if t.NoClock && c.of == "speed" {
					return &geo.SyntaxError{File: t.File, Found: "a log without speeds and times", Want: "either, since working asks for speed"}
				}
				value = moves.of(c.of, i)
			}
			f.Working = f.Working && c.holds(value)
		}
	}
	t.WorkingLogged = true
	return nil
}

// seconds returns a time as the number that the condition compares with its bound.
func (c condition) seconds(at geo.Instant) float64 {
	if c.byDate {
		return at.Time().Sub(c.from).Seconds()
	}
	t := at.Time().In(c.zone)
	return float64(t.Hour()*3600+t.Minute()*60+t.Second()) + float64(t.Nanosecond())/1e9
}

// holds reports whether the value fulfils the condition; false for NaN.
func (c condition) holds(value float64) bool {
	switch c.op {
	case ">=":
		return value >= c.bound
	case "<=":
		return value <= c.bound
	case ">":
		return value > c.bound
	}
	return value < c.bound
}

// A motion works out speeds and headings from one fix to the next.
type motion struct {
	track *machine.Track
	frame geo.Frame
}

func newMotion(t *machine.Track) *motion {
	return &motion{track: t, frame: geo.NewFrame(t.Fixes[0].At)}
}

// of returns the speed in m/s or the heading in degrees from fix i to the
// next, for the last fix from the one before; NaN where there is no move.
func (m *motion) of(what string, i int) float64 {
	a, b := i, i+1
	if b == len(m.track.Fixes) {
		a, b = i-1, i
	}
	if a < 0 {
		return math.NaN()
	}
	from, to := m.track.Fixes[a], m.track.Fixes[b]
	eastA, northA := m.frame.Metres(from.At)
	eastB, northB := m.frame.Metres(to.At)
	east, north := eastB-eastA, northB-northA
	if what == "speed" {
		dt := to.Time.Sub(from.Time).Seconds()
		if dt <= 0 {
			return math.NaN()
		}
		return math.Hypot(east, north) / dt
	}
	if east == 0 && north == 0 {
		return math.NaN()
	}
	return math.Mod(math.Atan2(east, north)*180/math.Pi+360, 360)
}
