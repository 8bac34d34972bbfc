package job

import (
	"math"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// A working is where a machine's working state comes from: its log, its
// motion, or conditions that must all hold.
type working struct {
	rule       machine.WorkingRule
	conditions []condition
}

// A condition compares something of a fix with a bound.
type condition struct {
	of     string // "speed", "heading" or "time"
	op     string
	bound  float64 // m/s or degrees; seconds of the day
	from   time.Time
	zone   *time.Location
	byDate bool // time is compared with from, not with the hour of the day
}

const workingWant = `logged, inferred, or conditions such as "speed > 1 m/s and heading < 180 deg"`

// operators, the longer ones first so that ">=" is not read as ">".
var operators = []string{">=", "<=", ">", "<"}

// workingOf reads the working rule of a machine.
func workingOf(e entry, zone *time.Location) working {
	if !e.given() {
		return working{}
	}
	text := e.text(workingWant)
	switch strings.ToLower(text) {
	case "logged":
		return working{rule: machine.AsLogged}
	case "inferred":
		return working{rule: machine.Inferred}
	}
	var w working
	var part []string
	for _, word := range append(strings.Fields(text), "and") {
		if !strings.EqualFold(word, "and") {
			part = append(part, word)
			continue
		}
		w.conditions = append(w.conditions, e.condition(strings.Join(part, " "), zone))
		part = part[:0]
	}
	return w
}

// condition reads one comparison.
func (e entry) condition(text string, zone *time.Location) condition {
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
			e.fail("found "+strconv.Quote(c.of)+" in "+strconv.Quote(text), "speed, heading or time")
		}
		if err != nil {
			e.refuse(err)
		}
		return c
	}
	e.fail("found "+strconv.Quote(text), workingWant)
	return condition{}
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
	if c.from, ok = parseTime(text, c.zone); !ok {
		return &quantity.Error{Found: "found " + strconv.Quote(text), Want: `a time such as "14:30" or "2026-05-04T18:00"`}
	}
	c.byDate = true
	return nil
}

// parseTime reads a date with an hour, in the given zone where it has none.
func parseTime(text string, zone *time.Location) (time.Time, bool) {
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

// set works out the working state of all fixes of a track. Speeds and
// headings that the log does not have are those of the move to the next fix.
func (w working) set(t *machine.Track) *InputError {
	if len(w.conditions) == 0 {
		return nil
	}
	for _, c := range w.conditions {
		if t.NoClock && c.of == "time" {
			return &InputError{File: t.File, Found: "a log without times", Want: "times, since working asks for time"}
		}
	}
	var moves *motion
	for i := range t.Fixes {
		f := &t.Fixes[i]
		f.Working = true
		for _, c := range w.conditions {
			value := 0.0
			switch c.of {
			case "speed":
				value = f.Speed
			case "heading":
				value = f.Heading
			case "time":
				value = c.seconds(f.Time)
			}
			if math.IsNaN(value) {
				if moves == nil {
					moves = newMotion(t)
				}
				if t.NoClock && c.of == "speed" {
					return &InputError{File: t.File, Found: "a log without speeds and times", Want: "either, since working asks for speed"}
				}
				value = moves.of(c.of, i)
			}
			f.Working = f.Working && c.holds(value)
		}
	}
	t.WorkingLogged = true
	return nil
}

// seconds returns a time as what the condition compares with its bound.
func (c condition) seconds(at geo.Instant) float64 {
	if c.byDate {
		return at.Time().Sub(c.from).Seconds()
	}
	t := at.Time().In(c.zone)
	return float64(t.Hour()*3600+t.Minute()*60+t.Second()) + float64(t.Nanosecond())/1e9
}

// holds is false where the value is not known.
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
