package job

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// widerThanBar is by how much, as a fraction, a logged width may differ from
// the implement's and still mean the whole bar: logs round to a tenth of a
// foot, and one row of a hundred is the least that can be shut.
const widerThanBar = 0.01

// A tracker turns one log into tracks of one machine's fixes. It judges each
// distinct value of a column once, not each fix.
type tracker struct {
	columns
	bar      machine.Implement
	answers  []answer
	open     []machine.State // by code of the sections column
	widths   []float64       // by code of the width column
	states   []machine.State
	ids      map[[2]uint32]machine.StateID // by codes of sections and width
	warnings []field.Warning
}

// newTracker judges the values of the columns for a bar.
func newTracker(c columns, bar machine.Implement) (*tracker, error) {
	t := &tracker{columns: c, bar: bar, states: []machine.State{nil}, ids: map[[2]uint32]machine.StateID{}}
	if c.joined != nil {
		t.warnings = append(t.warnings, c.joined.notes...)
	}
	if c.width != nil && c.widthBare {
		t.widthUnit = unitOf(usualWidth(c.width), bar.Width.Metres())
	}
	var err error
	if c.working != nil {
		answers, wrong := c.workingAnswers()
		if wrong != nil {
			return nil, wrong
		}
		t.answers = answers
	}
	if c.sections != nil {
		if err := t.judgeSections(); err != nil {
			return nil, err
		}
	}
	if c.width != nil && c.sections == nil {
		if t.widths, err = t.columns.widths(); err != nil {
			return nil, err
		}
	}
	t.doubt()
	return t, nil
}

// judgeSections turns each distinct string of 0 and 1 into a state.
func (t *tracker) judgeSections() error {
	t.divideBar()
	n := len(t.bar.Sections)
	t.open = make([]machine.State, len(t.sections.Distinct))
	for code, value := range t.sections.Distinct {
		value = strings.TrimSpace(value)
		if value == "" {
			continue // nothing said: the whole bar
		}
		if strings.Trim(value, "01") != "" || len(value) != n {
			return t.wrong(t.sections, code, fmt.Sprintf("%d of 0 and 1, one for each section of the implement", n))
		}
		t.open[code] = stateOf(value, t.bar.Sections)
	}
	return nil
}

// divideBar divides a bar that nobody divided into as many equal sections as
// the log has, if it is of one mind about how many.
func (t *tracker) divideBar() {
	if len(t.bar.Sections) != 1 {
		return
	}
	n := 0
	for _, value := range t.sections.Distinct {
		value = strings.TrimSpace(value)
		switch {
		case value == "":
		case strings.Trim(value, "01") != "", n > 0 && len(value) != n:
			return
		default:
			n = len(value)
		}
	}
	if n < 2 {
		return
	}
	if t.joined != nil {
		t.bar.Sections = machine.SectionsByWeight(t.bar.Width, t.joined.weights)
		if logged := t.joined.width; math.Abs(logged-t.bar.Width.Metres()) > widerThanBar*t.bar.Width.Metres() && logged > 0 {
			t.warnings = append(t.warnings, field.Warning{File: t.file, Text: fmt.Sprintf(
				"the sections of the log are %.2f m wide together, not the implement's %.2f m, which is used", logged, t.bar.Width.Metres())})
		}
		return
	}
	t.bar.Sections = machine.EqualSections(t.bar.Width, n)
	t.warnings = append(t.warnings, field.Warning{File: t.file, Text: fmt.Sprintf(
		"column %q: has %d sections and the implement names none; taken as equally wide", t.sections.Name, n)})
}

// stateOf joins open sections that touch.
func stateOf(bits string, sections []machine.Section) machine.State {
	if !strings.Contains(bits, "0") {
		return nil
	}
	state := machine.State{}
	for i, s := range sections {
		switch {
		case bits[i] == '0':
		case i > 0 && bits[i-1] == '1':
			state[len(state)-1].Right = s.Right
		default:
			state = append(state, s)
		}
	}
	return state
}

// doubt warns of values that were taken on trust.
func (t *tracker) doubt() {
	warn := func(col *gnsslog.Column, count int, line int, text string) {
		if count > 0 {
			t.warnings = append(t.warnings, field.Warning{File: t.file, Line: line, Count: count, Text: "column " + strconv.Quote(col.Name) + ": " + text})
		}
	}
	if t.answers != nil {
		n, line := t.count(t.working, func(code int) bool { return t.answers[code] == silent })
		warn(t.working, n, line, "empty; taken as not working")
	}
	if t.open != nil {
		n, line := t.count(t.sections, func(code int) bool { return strings.TrimSpace(t.sections.Distinct[code]) == "" })
		warn(t.sections, n, line, "empty; taken as the whole bar")
		if t.width != nil {
			warn(t.width, len(t.width.Codes), 0, "not used, since the sections say which part of the bar works")
		}
	}
	if t.widths == nil {
		return
	}
	bar := t.bar.Width.Metres()
	if t.widthBare {
		warn(t.width, len(t.width.Codes), 0, fmt.Sprintf("names no unit; %g is taken as %s, judged by the size of the bar", usualWidth(t.width), t.widthUnit))
	}
	n, line := t.count(t.width, func(code int) bool { return t.widths[code] < 0 })
	warn(t.width, n, line, "empty; taken as the whole bar")
	n, line = t.count(t.width, func(code int) bool { return t.narrow(t.widths[code]) })
	warn(t.width, n, line, "narrower than the implement; which side works is not known, so it is laid in the middle of the bar")
	n, line = t.count(t.width, func(code int) bool { return t.widths[code] > bar*(1+widerThanBar) })
	warn(t.width, n, line, fmt.Sprintf("wider than the implement's %.2f m, which is used", bar))
}

// narrow reports whether a logged width is a part of the bar.
func (t *tracker) narrow(metres float64) bool {
	return metres > 0 && metres < t.bar.Width.Metres()*(1-widerThanBar)
}

// count returns how many fixes have a value that is so, and the line of the first.
func (t *tracker) count(col *gnsslog.Column, is func(code int) bool) (n, line int) {
	counted := make([]bool, len(col.Distinct))
	for code := range counted {
		counted[code] = is(code)
	}
	for i, code := range col.Codes {
		if counted[code] {
			if n == 0 && i < len(t.log.Lines) {
				line = int(t.log.Lines[i])
			}
			n++
		}
	}
	return n, line
}

// track returns the track of the fixes chosen by pick; nil picks all.
func (t *tracker) track(pick func(i int) bool) (machine.Track, error) {
	log := t.log
	out := machine.Track{File: t.file, NoClock: log.NoClock, Fixes: make([]machine.Fix, 0, len(log.Fixes))}
	out.WorkingLogged = t.answers != nil || t.open != nil && (t.joined == nil || t.joined.tells) || t.hasZeroWidth()
	breaks, broken := log.Breaks, false
	var lastKey [2]uint32
	var lastID machine.StateID
	haveLast := false
	for i, f := range log.Fixes {
		if len(breaks) > 0 && breaks[0] == i {
			breaks, broken = breaks[1:], true
		}
		if pick != nil && !pick(i) {
			continue
		}
		if broken && len(out.Fixes) > 0 {
			out.Breaks = append(out.Breaks, len(out.Fixes))
		}
		broken = false
		fix := machine.Fix{Fix: f, Working: true}
		if i < len(log.Lines) {
			fix.Line = log.Lines[i]
		}
		if t.answers != nil {
			fix.Working = t.answers[t.working.Codes[i]] == yes
		}
		if key := t.key(i); !haveLast || key != lastKey {
			id, err := t.stateID(key)
			if err != nil {
				return out, err
			}
			lastKey, lastID, haveLast = key, id, true
		}
		fix.State = lastID
		if s := t.states[lastID]; s != nil && len(s) == 0 {
			fix.Working = false
		}
		out.Fixes = append(out.Fixes, fix)
	}
	out.States = t.states
	return out, nil
}

func (t *tracker) hasZeroWidth() bool {
	for _, w := range t.widths {
		if w == 0 {
			return true
		}
	}
	return false
}

// key is what decides the state of fix i.
func (t *tracker) key(i int) (key [2]uint32) {
	if t.open != nil {
		key[0] = t.sections.Codes[i]
	}
	if t.widths != nil {
		key[1] = t.width.Codes[i]
	}
	return key
}

// stateID returns the number of a state in the table, adding it if need be.
func (t *tracker) stateID(key [2]uint32) (machine.StateID, error) {
	if id, ok := t.ids[key]; ok {
		return id, nil
	}
	var state machine.State
	if t.open != nil {
		state = t.open[key[0]]
	}
	if t.widths != nil {
		switch w := t.widths[key[1]]; {
		case w == 0:
			state = machine.State{}
		case t.narrow(w):
			half := plane.Metres(w / 2)
			state = machine.State{{Left: -half, Right: half}}
		}
	}
	id := machine.StateID(0)
	if state != nil {
		if len(t.states) > math.MaxUint16 {
			return 0, &InputError{File: t.file, Found: fmt.Sprintf("over %d different states of the bar", math.MaxUint16), Want: "fewer"}
		}
		id = machine.StateID(len(t.states))
		t.states = append(t.states, state)
	}
	t.ids[key] = id
	return id, nil
}
