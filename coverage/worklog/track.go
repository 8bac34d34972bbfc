package worklog

import (
	"fmt"
	"math"
	"sort"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/large"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// widerThanBar is by how much, as a fraction, a logged width may differ from
// the implement's and still mean the whole bar: logs round to a tenth of a
// foot, and one row of a hundred is the least that can be shut. No test holds it
// closely.
const widerThanBar = 0.01

// A tracker turns one log into tracks of one machine's fixes. It judges each
// distinct value of a column once, not each fix.
type tracker struct {
	Log
	bar      machine.Implement
	pick     func(fix int) bool // nil for all: what other machines log is none of its business
	works    []answer           // by code of the working column
	parts    []machine.State    // by code of the sections column
	wide     []float64          // by code of the width column
	states   []machine.State
	ids      map[[2]uint32]machine.StateID // by codes of sections and width
	warnings []field.Warning
}

// Track makes the track of the picked fixes, nil for all, as that of a bar. The
// warnings say which values were taken on trust.
func (l Log) Track(bar machine.Implement, pick func(fix int) bool) (machine.Track, []field.Warning, error) {
	t, err := newTracker(l, bar, pick)
	if err != nil {
		return machine.Track{}, nil, err
	}
	track, err := t.track()
	return track, t.warnings, err
}

// newTracker judges the values of the columns for a bar.
func newTracker(l Log, bar machine.Implement, pick func(int) bool) (*tracker, error) {
	if err := l.tooMuch(); err != nil {
		return nil, err
	}
	t := &tracker{Log: l, bar: bar, pick: pick, states: []machine.State{nil}, ids: map[[2]uint32]machine.StateID{}}
	if l.joined != nil {
		t.warnings = append(t.warnings, l.joined.notes...)
	}
	if l.cover != nil && l.sections == nil {
		return nil, &geo.SyntaxError{File: l.File, Found: "polygons of which nothing tells which way the work went", Want: "the ground of one moment each, with its time"}
	}
	if l.cover != nil {
		t.warnings = append(t.warnings, l.cover.notes...)
	}
	if l.width != nil && l.widthBare {
		t.widthUnit = unitOf(usualWidth(l.width), bar.Width.Metres())
	}
	var err error
	if l.working != nil {
		if t.works, err = l.answers(); err != nil {
			return nil, err
		}
	}
	if l.sections != nil {
		if err := t.judgeSections(); err != nil {
			return nil, err
		}
	}
	if l.width != nil && l.sections == nil {
		if t.wide, err = t.widths(); err != nil {
			return nil, err
		}
	}
	t.doubt()
	return t, nil
}

// judgeSections turns each distinct set of open sections into a state.
func (t *tracker) judgeSections() error {
	if t.cover != nil {
		t.parts = t.cover.on(t.bar.Width)
		t.doubtCover()
		return nil
	}
	t.divideBar()
	bits, err := t.bits(len(t.bar.Sections), t.sectionCodes(t.pick))
	if err != nil {
		return err
	}
	t.parts = make([]machine.State, len(bits))
	for code, on := range bits {
		if on != nil { // else the log says nothing: the whole bar
			t.parts[code] = machine.StateOf(t.bar.Sections, on)
		}
	}
	return nil
}

// doubtCover warns of an implement that does not go with a log of polygons, which
// says where the bar was and not where an antenna was.
func (t *tracker) doubtCover() {
	warn := func(text string) {
		t.warnings = append(t.warnings, field.Warning{File: t.File, Text: text})
	}
	bar := &t.bar
	if wide := t.cover.width; math.Abs(wide-bar.Width.Metres()) > widerThanBar*bar.Width.Metres() {
		warn(fmt.Sprintf("the polygons of the log are of a bar of %.2f m, not the implement's %.2f m; the ground is theirs", wide, bar.Width.Metres()))
	}
	if bar.Towed || bar.AntennaToHitch != 0 || bar.AntennaRight != 0 || bar.Offset != 0 {
		warn("the polygons of the log say where the bar was, but the implement's antenna, tow or offset moves it away from there; leave those out, and make it mounted")
	}
}

// divideBar divides a bar without sections of its own into as many equal sections
// as the log has, if all values of its column have the same number.
func (t *tracker) divideBar() {
	if len(t.bar.Sections) != 1 {
		return
	}
	n := 0
	for code, is := range t.sectionCodes(t.pick) {
		on, told := t.bitsAt(code)
		switch {
		case !told, !is:
		case on == nil, n > 0 && len(on) != n:
			return
		default:
			n = len(on)
		}
	}
	if n < 2 {
		return
	}
	if t.joined != nil {
		t.bar.Sections = machine.SectionsByWeight(t.bar.Width, t.joined.weights)
		if logged := t.joined.width; math.Abs(logged-t.bar.Width.Metres()) > widerThanBar*t.bar.Width.Metres() && logged > 0 {
			t.warnings = append(t.warnings, field.Warning{File: t.File, Text: fmt.Sprintf(
				"the sections of the log are %.2f m wide together, not the implement's %.2f m, which is used", logged, t.bar.Width.Metres())})
		}
		return
	}
	t.bar.Sections = machine.EqualSections(t.bar.Width, n)
	t.warnings = append(t.warnings, field.Warning{File: t.File, Text: fmt.Sprintf(
		"column %q: has %d sections and the implement names none; taken as equally wide", t.sections.Name, n)})
}

// doubt warns of values that were taken on trust.
func (t *tracker) doubt() {
	warn := func(col *gnsslog.Column, count int, line int, text string) {
		if count > 0 {
			t.warnings = append(t.warnings, field.Warning{File: t.File, Line: line, Count: count, Text: where(col.Name) + ": " + text})
		}
	}
	if t.works != nil {
		n, line := t.count(t.working, len(t.works), func(code int) bool { return t.works[code] == silent })
		warn(t.working, n, line, "empty; taken as not working")
	}
	if t.parts != nil && t.cover == nil {
		n, line := t.count(t.sections, len(t.parts), func(code int) bool { _, told := t.bitsAt(code); return !told })
		warn(t.sections, n, line, "empty; taken as the whole bar")
		if t.width != nil {
			warn(t.width, t.picked(), 0, "not used, since the sections say which part of the bar works")
		}
	}
	if t.wide == nil {
		return
	}
	bar := t.bar.Width.Metres()
	if t.widthBare {
		warn(t.width, t.picked(), 0, fmt.Sprintf("names no unit; %g is taken as %s, judged by the size of the bar", usualWidth(t.width), t.widthUnit))
	}
	n, line := t.count(t.width, len(t.wide), func(code int) bool { return t.wide[code] < 0 })
	warn(t.width, n, line, "empty; taken as the whole bar")
	n, line = t.count(t.width, len(t.wide), func(code int) bool { return t.narrow(t.wide[code]) })
	warn(t.width, n, line, "narrower than the implement; which side works is not known, so it is laid in the middle of the bar")
	n, line = t.count(t.width, len(t.wide), func(code int) bool { return t.wide[code] > bar*(1+widerThanBar) })
	warn(t.width, n, line, fmt.Sprintf("wider than the implement's %.2f m, which is used", bar))
}

// narrow reports whether a logged width is a part of the bar.
func (t *tracker) narrow(metres float64) bool {
	return metres > 0 && metres < t.bar.Width.Metres()*(1-widerThanBar)
}

// count returns how many fixes have a value for which is holds, and the line of
// the first.
func (t *tracker) count(col *gnsslog.Column, codes int, is func(code int) bool) (n, line int) {
	counted := make([]bool, codes)
	for code := range counted {
		counted[code] = is(code)
	}
	for i, code := range col.Codes {
		if counted[code] && (t.pick == nil || t.pick(i)) {
			if n == 0 && i < len(t.Lines) {
				line = int(t.Lines[i])
			}
			n++
		}
	}
	return n, line
}

// picked is how many fixes are picked.
func (t *tracker) picked() (n int) {
	for i := range t.Fixes {
		if t.pick == nil || t.pick(i) {
			n++
		}
	}
	return n
}

// track returns the track of the fixes picked.
func (t *tracker) track() (machine.Track, error) {
	log := t.Log
	out := machine.Track{File: t.File, NoClock: log.NoClock}
	out.WorkingLogged = t.works != nil || t.parts != nil && (t.joined == nil || t.joined.tells) || t.hasZeroWidth()
	rows := t.rows()
	out.Breaks = rows.breaks(log.Breaks)
	switches, err := t.switches(rows)
	if err != nil {
		return out, err
	}
	out.Fixes = large.Make[machine.Fix](rows.count)
	parallel.Runs(rows.count, parallel.AtOnce, func(from, to int) {
		s := sort.Search(len(switches), func(s int) bool { return switches[s].from > from }) - 1
		for k := from; k < to; k++ {
			for s+1 < len(switches) && switches[s+1].from <= k {
				s++
			}
			i, fix := rows.at(k), &out.Fixes[k]
			fix.Fix, fix.State = log.Fixes[i], switches[s].state
			fix.Working = !switches[s].shut && (t.works == nil || t.works[t.working.Codes[i]] == yes)
			if i < len(log.Lines) {
				fix.Line = log.Lines[i]
			}
		}
	})
	out.States = t.states
	return out, nil
}

// A selection is which fixes of a log are picked.
type selection struct {
	count int
	rows  []int32 // their indices; nil for all
}

// rows are the fixes picked.
func (t *tracker) rows() selection {
	if t.pick == nil {
		return selection{count: len(t.Fixes)}
	}
	var rows []int32
	for i := range t.Fixes {
		if t.pick(i) {
			rows = append(rows, int32(i))
		}
	}
	return selection{len(rows), rows}
}

// at is the index of the one numbered k.
func (s *selection) at(k int) int {
	if s.rows == nil {
		return k
	}
	return int(s.rows[k])
}

// breaks returns the numbers of those that do not continue from the one before, by the
// breaks of the log.
func (s *selection) breaks(of []int) (out []int) {
	for _, b := range of {
		k := sort.Search(s.count, func(k int) bool { return s.at(k) >= b })
		if k > 0 && k < s.count && (len(out) == 0 || out[len(out)-1] < k) {
			out = append(out, k)
		}
	}
	return out
}

// A switching is where the part of the bar that works becomes another.
type switching struct {
	from  int // the number of the first fix picked that has it
	state machine.StateID
	shut  bool // no part of the bar works
}

// switches are those of the fixes picked, in order, the first of them at fix 0.
func (t *tracker) switches(rows selection) (out []switching, err error) {
	if t.parts == nil && t.wide == nil {
		return []switching{{}}, nil
	}
	var last [2]uint32
	for k := range rows.count {
		key := t.key(rows.at(k))
		if k > 0 && key == last {
			continue
		}
		id, err := t.stateID(key)
		if err != nil {
			return nil, err
		}
		s := t.states[id]
		out, last = append(out, switching{k, id, s != nil && len(s) == 0}), key
	}
	return out, nil
}

func (t *tracker) hasZeroWidth() bool {
	for _, w := range t.wide {
		if w == 0 {
			return true
		}
	}
	return false
}

// key is what decides the state of fix i.
func (t *tracker) key(i int) (key [2]uint32) {
	if t.parts != nil {
		key[0] = t.sections.Codes[i]
	}
	if t.wide != nil {
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
	if t.parts != nil {
		state = t.parts[key[0]]
	}
	if t.wide != nil {
		switch w := t.wide[key[1]]; {
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
			return 0, &geo.SyntaxError{File: t.File, Found: fmt.Sprintf("over %d different states of the bar", math.MaxUint16), Want: "fewer"}
		}
		id = machine.StateID(len(t.states))
		t.states = append(t.states, state)
	}
	t.ids[key] = id
	return id, nil
}
