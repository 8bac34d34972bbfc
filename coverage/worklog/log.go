// Package worklog reads what logs say of work: at each fix, whether the bar
// works and which of its sections, which machine it is, what was put down. It
// makes tracks of logs.
//
//	log.go      columns by their names: what each says of a machine
//	bar.go      how wide the bar is, and its sections and rows, as far as columns tell
//	section.go  records by section, joined to one fix of the bar
//	mount.go    rigid or towed, by how those records lie in turns
//	task.go     logs of task sets, which say the same in numbers
//	rate.go     columns of what was put down
//	cover.go    logs of polygons of worked ground, by package cover
//	cut.go      names cut to ten characters
//	rule.go     working told by speed, heading or time instead
//	track.go    a log and a bar -> a track
//
// What is wrong in a log is a [*geo.SyntaxError]; what was taken on trust is a
// warning.
package worklog

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// A meaning is what a column of a log says of a machine.
type meaning int

const (
	noMeaning     meaning = iota
	meansWorking          // whether the machine works
	meansSections         // which sections are open, "1" and "0" from left to right
	meansWidth            // how much of the bar works
	meansMachine          // which machine it is
	meansPart             // which section of the bar the record is of
)

// ourNames are the names of columns in lower case, without spaces, dashes and
// underscores. Of several for one meaning the one named earliest here is used.
var ourNames = map[meaning][]string{
	meansWorking:  {"working", "work", "workstate", "workingstate", "workstatus", "workingstatus", "implementstatus", "implementstate", "state", "status"},
	meansSections: {"sections", "sectionstates", "sectionstate", "sectionstatus"},
	meansWidth:    {"swathwidth", "swath"},
	meansMachine:  {"machine", "machinename"},
	meansPart:     {"sectionid", "sectionnumber", "sectionno", "sectionindex", "section"},
}

// widthUnits are the ends of the name of a width column and their units. A
// name without one is in metres.
var widthUnits = map[string]string{"in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft", "foot": "ft",
	"m": "m", "metres": "m", "meters": "m", "cm": "cm", "mm": "mm"}

// PlainName is a column's name in lower case, without spaces, dashes and
// underscores, and the unit that stands behind it in brackets.
func PlainName(name string) (plain, unit string) {
	name = strings.ToLower(strings.TrimSpace(name))
	if open := strings.LastIndexAny(name, "([{"); open > 0 && strings.ContainsAny(name[len(name)-1:], ")]}") {
		name, unit = name[:open], strings.TrimSpace(name[open+1:len(name)-1])
	}
	return strings.NewReplacer(" ", "", "-", "", "_", "", ".", "").Replace(name), unit
}

// Understood reports whether a column of a name, as [PlainName] gives it, says
// something of a machine.
func Understood(plain string) bool {
	m, _, _ := meaningOf(plain, "")
	return m != noMeaning || meaningOfStem(strings.TrimRight(plain, "0123456789")) != noMeaning
}

// meaningOf returns what a column means, how far down the list its name
// stands, and, for a width, its unit ("" where none is named).
func meaningOf(plain, bracket string) (m meaning, rank int, unit string) {
	for m := meansWorking; m <= meansPart; m++ {
		if at := slices.Index(ourNames[m], plain); at >= 0 {
			if m == meansWidth && bracket != "" {
				known, ok := widthUnits[bracket]
				if !ok {
					return noMeaning, 0, ""
				}
				return m, at, known
			}
			return m, at, ""
		}
	}
	for at, name := range ourNames[meansWidth] {
		if end, ok := strings.CutPrefix(plain, name); ok {
			if unit, ok := widthUnits[end]; ok {
				return meansWidth, at, unit
			}
		}
	}
	return noMeaning, 0, ""
}

// A Log is a log with those of its columns that say something of a machine;
// they are nil where there is none of a kind.
type Log struct {
	File string // as it stands in messages
	*gnsslog.Log
	By *Device // what made it, of a task set; nil for a file of its own

	working, sections, width, machine, part *gnsslog.Column
	widthUnit                               string
	widthBare                               bool     // the unit is a guess
	joined                                  *joined  // the log is made of records by section
	cover                                   *covered // the log is made of polygons
	meant                                   *Span    // the part of it that is meant; nil for all
	// What is not written in the columns but known in numbers, by their codes:
	open   [][]bool  // which sections work, from left to right; nil for all
	metres []float64 // how much of the bar works; below zero where that is not known
	rates  []Rate    // of a task set
}

// Of finds the columns of a log that say something of a machine. Messages call the
// log file.
func Of(file string, log *gnsslog.Log) Log {
	l := Log{File: file, Log: log}
	var ranks [meansPart + 1]int
	for i := range log.Columns {
		col := &log.Columns[i]
		m, rank, unit := meaningOfColumn(col)
		slot := map[meaning]**gnsslog.Column{meansWorking: &l.working, meansSections: &l.sections, meansWidth: &l.width, meansMachine: &l.machine, meansPart: &l.part}[m]
		if slot == nil || *slot != nil && ranks[m] <= rank {
			continue
		}
		if (m == meansWorking || m == meansSections) && blank(col) {
			continue // an empty column tells as little as none
		}
		*slot, ranks[m] = col, rank
		if m == meansWidth {
			l.widthUnit, l.widthBare = unit, unit == ""
		}
	}
	if l.widthBare {
		l.widthUnit = unitOf(usualWidth(l.width), 0)
	}
	return l.joinCover().joinSections()
}

// blank reports whether a column has no value anywhere.
func blank(col *gnsslog.Column) bool {
	for _, value := range col.Distinct {
		if strings.TrimSpace(value) != "" {
			return false
		}
	}
	return true
}

// Noted are the notes that the reader of a file made, as warnings; file stands
// in those that name no other.
func Noted(file string, notes []geo.Note) (warnings []field.Warning) {
	for _, n := range notes {
		w := field.Warning{File: file, Line: n.Line, Count: n.Count, Text: n.Text}
		if n.File != "" {
			w.File = n.File
		}
		warnings = append(warnings, w)
	}
	return warnings
}

// Warnings say what the reader of the log doubted; zoned tells whether the zone
// of times without one was given.
func (l Log) Warnings(zoned bool) (warnings []field.Warning) {
	warnings = Noted(l.File, l.Notes)
	if l.Zoneless > 0 && !zoned {
		warnings = append(warnings, field.Warning{File: l.File, Count: l.Zoneless, Text: "times without a zone are taken as UTC; time_zone in the job file says otherwise"})
	}
	return warnings
}

// TellsWork reports whether the log says at each fix if the machine works.
func (l Log) TellsWork() bool { return l.working != nil || l.cover != nil }

// TellsSections reports whether the log says which sections are open.
func (l Log) TellsSections() bool { return l.sections != nil }

// TellsMachine reports whether the log says at each fix which machine it is.
func (l Log) TellsMachine() bool { return l.machine != nil }

// Machines are the names of machines in the log as they are written, and how
// many fixes each has.
func (l Log) Machines() (names []string, fixes []int) {
	if l.machine == nil {
		return nil, nil
	}
	fixes = make([]int, len(l.machine.Distinct))
	for _, code := range l.machine.Codes {
		fixes[code]++
	}
	return l.machine.Distinct, fixes
}

// EachMachine calls do for each machine that the log names, once whatever the case its
// name is written in, with what picks its fixes. It is an error where the log has a
// column of names and fixes without one.
func (l Log) EachMachine(do func(name string, pick func(fix int) bool) error) error {
	if err := l.nameless(); err != nil {
		return err
	}
	seen := map[string]bool{}
	names, _ := l.Machines()
	for _, name := range names {
		name = strings.TrimSpace(name)
		key := strings.ToLower(name)
		if seen[key] {
			continue
		}
		seen[key] = true
		pick, err := l.Only(name)
		if err != nil {
			return err
		}
		if err := do(name, pick); err != nil {
			return err
		}
	}
	return nil
}

// Only picks the fixes of one machine of the log.
func (l Log) Only(machine string) (pick func(fix int) bool, err error) {
	is := make([]bool, len(l.machine.Distinct))
	found := false
	for code, value := range l.machine.Distinct {
		is[code] = strings.EqualFold(strings.TrimSpace(value), machine)
		found = found || is[code]
	}
	if !found {
		return nil, &geo.SyntaxError{File: l.File, Where: where(l.machine.Name),
			Found: fmt.Sprintf("no fix of machine %q", machine), Want: "one of " + geo.Quoted(l.machine.Distinct)}
	}
	return func(i int) bool { return is[l.machine.Codes[i]] }, nil
}

// nameless returns the error for a fix of a machine without a name, or for more
// names than there are machines; nil where each is one.
func (l Log) nameless() error {
	if n := len(l.machine.Distinct); n > mostMachines {
		return &geo.SyntaxError{File: l.File, Where: where(l.machine.Name), Found: fmt.Sprintf("found %d names of machines", n), Want: fmt.Sprintf("%d at most", mostMachines)}
	}
	for code, value := range l.machine.Distinct {
		if strings.TrimSpace(value) == "" {
			return l.wrong(l.machine, code, "the name of a machine")
		}
	}
	return nil
}

// Bounds on what one log tells of. A bar has hundreds of openers at most, which
// are shut one by one at the most; a column of more names than machines work for
// one contractor is a column of something else. Judgement; no test holds them closely.
const (
	mostSections = 1000
	mostMachines = 500
)

// tooMuch returns the error for a log that tells of more sections than a bar can
// have; nil for others.
func (l Log) tooMuch() error {
	col, n := l.sections, l.Sections()
	if l.part != nil && l.joined == nil && l.sections == nil && len(l.part.Distinct) > mostSections {
		col, n = l.part, len(l.part.Distinct)
	}
	if n <= mostSections {
		return nil
	}
	return &geo.SyntaxError{File: l.File, Where: where(col.Name), Found: fmt.Sprintf("found %d sections", n), Want: fmt.Sprintf("%d at most", mostSections)}
}

// Sections is the most sections that the log tells of.
func (l Log) Sections() (most int) {
	if l.sections == nil {
		return 0
	}
	for code := range max(len(l.open), len(l.sections.Distinct)) {
		most = max(most, l.sectionsAt(code))
	}
	return most
}

// sectionsAt is how many sections the value of a code tells of.
func (l Log) sectionsAt(code int) int {
	if l.open != nil {
		return len(l.open[code])
	}
	return len(strings.TrimSpace(l.sections.Distinct[code]))
}

// CountWorking counts the fixes that say they work.
func (l Log) CountWorking() (n int, err error) {
	if l.working == nil {
		return len(l.Fixes), nil // each is of ground that was worked
	}
	answers, err := l.answers()
	if err != nil {
		return 0, err
	}
	for _, code := range l.working.Codes {
		if answers[code] == yes {
			n++
		}
	}
	return n, nil
}

// usualBar is the width of a bar where the log does not tell. It matters only where
// working has to be worked out. Judgement; no test fails where it is halved or doubled.
const usualBar = 12 * plane.Metre

// Bar is the width of the bar as far as the log tells; 12 m where it does not.
func (l Log) Bar() plane.Length {
	metres := 0.0
	switch {
	case l.joined != nil:
		metres = l.joined.width
	case l.cover != nil:
		metres = l.cover.width
	case l.width != nil:
		metres, _ = quantity.Parse(fmt.Sprint(usualWidth(l.width), " ", l.widthUnit), quantity.Length)
	}
	if metres < NarrowestBar || metres > WidestBar {
		return usualBar
	}
	return plane.Metres(metres)
}

// WithWorking is the log with another column for whether the machine works;
// false where it has no such column.
func (l Log) WithWorking(name string) (Log, bool) {
	l.working = l.named(name)
	return l, l.working != nil && len(l.working.Distinct) > 0
}

// named returns the column of a name, however it is written, or nil.
func (l Log) named(name string) *gnsslog.Column {
	want, _ := PlainName(name)
	for i := range l.Columns {
		if plain, _ := PlainName(l.Columns[i].Name); plain == want {
			return &l.Columns[i]
		}
	}
	return nil
}

// Meanings says how each column of the log is understood: those of the fix, and
// those that say something of a machine.
func (l Log) Meanings() []gnsslog.Meaning {
	out := slices.Clone(l.Understood)
	for i, m := range out {
		var col *gnsslog.Column
		as := ""
		switch meaning, _, _ := l.meaningNamed(m.Column); meaning {
		case meansWorking:
			col, as = l.working, "whether the machine works"
		case meansSections:
			col, as = l.sections, "which sections are open, from left to right"
		case meansWidth:
			if l.joined != nil {
				out[i].As = "how wide the section is, in " + l.widthUnit
			}
			col, as = l.width, "how much of the bar works, in "+l.widthUnit
			if l.widthBare {
				as += " (no unit is named: judged by its size)"
			}
		case meansMachine:
			col, as = l.machine, "which machine it is"
		case meansPart:
			if l.joined != nil {
				col, as = l.sections, "which section of the bar the record is of"
			}
		case noMeaning:
			if of, unit, ok := rateOf(m.Column); ok && m.As == "" {
				out[i].As = rateMeaning(of, unit)
			}
		}
		if col != nil && col.Name == m.Column {
			if meaning, _, _ := meaningOf(PlainName(col.Name)); meaning == noMeaning {
				as += " (its name is cut)"
			}
			out[i].As = as
		}
	}
	return out
}

// usualWidth returns the number that stands most often in a width column,
// other than 0; 0 where none does.
func usualWidth(col *gnsslog.Column) float64 {
	counts := make([]int, len(col.Distinct))
	for _, code := range col.Codes {
		counts[code]++
	}
	usual, most := 0.0, 0
	for code, value := range col.Distinct {
		if w, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(value), ",", ".", 1), 64); err == nil && w > 0 && counts[code] > most {
			usual, most = w, counts[code]
		}
	}
	return usual
}

// NarrowestBar and WidestBar bound the widths of bars, in metres, where the bar's
// own is not given. Judgement.
const NarrowestBar, WidestBar = 1.5, 50.0

// likeBar is how much, as a fraction, a width in some unit may differ from the
// bar's to mean the bar. Units differ by a factor of two and more, so there is room
// to spare: judgement, no test holds it closely.
const likeBar = 0.03

const widestSaid = 1000.0 // m, in a width column: judgement, no test holds it closely

// unitOf guesses the unit of a width of a log that names none: the one in which
// it is the width of the bar, or else the first in which a bar may be so wide.
// bar is in metres; 0 if not given.
func unitOf(width, bar float64) string {
	units := []string{"m", "ft", "in", "cm", "mm"}
	sizes := []float64{1, quantity.Foot, quantity.Foot / 12, 0.01, 0.001}
	for i, size := range sizes {
		if bar > 0 && math.Abs(width*size-bar) <= likeBar*bar {
			return units[i]
		}
	}
	for i, size := range sizes {
		if w := width * size; bar > 0 && w <= bar*(1+likeBar) && w >= bar/100 || bar == 0 && w >= NarrowestBar && w <= WidestBar {
			return units[i]
		}
	}
	return "m"
}

// line returns the line of the first fix whose value in col has the code.
func (l Log) line(col *gnsslog.Column, code int) int {
	for i, at := range col.Codes {
		if int(at) == code && i < len(l.Lines) {
			return int(l.Lines[i])
		}
	}
	return 0
}

// wrong returns the error for the value of a code, which must be want.
func (l Log) wrong(col *gnsslog.Column, code int, want string) *geo.SyntaxError {
	found := ""
	if code < len(col.Distinct) {
		found = col.Distinct[code]
	} else if col == l.sections {
		found = bitsOf(l.open[code])
	}
	return &geo.SyntaxError{File: l.File, Line: l.line(col, code), Where: where(col.Name), Found: "found " + strconv.Quote(geo.Shorten(found, 160)), Want: want}
}

// where is a column as it stands in messages.
func where(name string) string { return "column " + strconv.Quote(name) }

// An answer is what one value of a yes-or-no column says.
type answer int8

const (
	silent answer = iota
	no
	yes
)

// answerWords are the words understood in a working column.
var answerWords = map[string]answer{"": silent, "1": yes, "0": no, "1.0": yes, "0.0": no, "true": yes, "false": no, "on": yes, "off": no, "yes": yes, "no": no}

// answers returns the answer of each distinct value of the working column.
func (l Log) answers() ([]answer, error) {
	out := make([]answer, len(l.working.Distinct))
	for code, value := range l.working.Distinct {
		a, ok := answerWords[strings.ToLower(strings.TrimSpace(value))]
		if !ok {
			return nil, l.wrong(l.working, code, "1 or 0, true or false, on or off, yes or no")
		}
		out[code] = a
	}
	return out, nil
}

// widths returns the metres of each distinct value; below zero for an empty one.
func (l Log) widths() ([]float64, error) {
	if l.metres != nil {
		return l.metres, nil
	}
	out := make([]float64, len(l.width.Distinct))
	for code, value := range l.width.Distinct {
		value = strings.TrimSpace(value)
		if value == "" {
			out[code] = -1
			continue
		}
		// A decimal comma comes with files that are separated by semicolons.
		metres, err := quantity.Parse(strings.Replace(value, ",", ".", 1)+" "+l.widthUnit, quantity.Length)
		if err != nil || metres < 0 || metres > widestSaid {
			return nil, l.wrong(l.width, code, "a width in "+l.widthUnit)
		}
		out[code] = metres
	}
	return out, nil
}

// sectionCodes says of each code of the sections column whether one of the picked
// fixes, nil for all, has it.
func (l Log) sectionCodes(pick func(fix int) bool) []bool {
	has := make([]bool, max(len(l.open), len(l.sections.Distinct)))
	for i, code := range l.sections.Codes {
		has[code] = has[code] || pick == nil || pick(i)
	}
	return has
}

// bits returns which of n sections are open, for each code of the sections column that
// counts; nil for a code that does not say.
func (l Log) bits(n int, counts []bool) ([][]bool, error) {
	out := make([][]bool, len(counts))
	for code := range out {
		on, told := l.bitsAt(code)
		switch {
		case !told, !counts[code]:
		case len(on) != n || on == nil:
			return nil, l.wrong(l.sections, code, fmt.Sprintf("%d of 0 and 1, one for each section of the implement", n))
		default:
			out[code] = on
		}
	}
	return out, nil
}

// bitsAt returns what the value of a code says of sections, and whether it says
// anything; nil for what is no list of 0 and 1.
func (l Log) bitsAt(code int) (on []bool, told bool) {
	if l.open != nil {
		return l.open[code], l.open[code] != nil
	}
	value := strings.TrimSpace(l.sections.Distinct[code])
	if strings.Trim(value, "01") != "" {
		return nil, true
	}
	for _, c := range value {
		on = append(on, c == '1')
	}
	return on, value != ""
}

// bitsOf writes which sections are open as "1" and "0" from left to right.
func bitsOf(on []bool) string {
	bits := make([]byte, len(on))
	for i := range on {
		bits[i] = '0'
		if on[i] {
			bits[i] = '1'
		}
	}
	return string(bits)
}

// A Span is the time from the first fix of a log to the last.
type Span struct{ From, To geo.Instant }

// Span is the time that the log spans; it has no meaning where the log has no
// clock.
func (l Log) Span() Span {
	s := Span{l.Fixes[0].Time, l.Fixes[0].Time}
	for _, f := range l.Fixes {
		s.From, s.To = min(s.From, f.Time), max(s.To, f.Time)
	}
	return s
}

// During is the part of the log from one time up to, and without, another; a zero
// time is its beginning or its end. A log without times, or with none in that part,
// is a [*geo.SyntaxError].
func (l Log) During(from, to time.Time) (Log, error) {
	if from.IsZero() && to.IsZero() {
		return l, nil
	}
	if l.NoClock {
		return l, &geo.SyntaxError{File: l.File, Found: "a log without times", Want: "times, since the job asks for a part of it"}
	}
	l.meant = &Span{math.MinInt64, math.MaxInt64}
	if !from.IsZero() {
		l.meant.From = geo.InstantOf(from)
	}
	if !to.IsZero() {
		l.meant.To = geo.InstantOf(to)
	}
	if in := l.Meant(nil); !l.any(in) {
		all := l.Span()
		return l, &geo.SyntaxError{File: l.File, Found: "no fix in the part that the job asks for",
			Want: fmt.Sprintf("a part of %s to %s", all.From.Time().Format(time.RFC3339), all.To.Time().Format(time.RFC3339))}
	}
	return l, nil
}

// any reports whether a fix is picked.
func (l Log) any(pick func(fix int) bool) bool {
	for i := range l.Fixes {
		if pick(i) {
			return true
		}
	}
	return false
}

// Meant picks those of the picked fixes, nil for all, that are in the part of the log
// that is meant.
func (l Log) Meant(pick func(fix int) bool) func(fix int) bool {
	if l.meant == nil {
		return pick
	}
	return func(i int) bool {
		at := l.Fixes[i].Time
		return at >= l.meant.From && at < l.meant.To && (pick == nil || pick(i))
	}
}

// Overlaps reports whether two spans have more than a moment in common.
func (s Span) Overlaps(t Span) bool { return s.From < t.To && t.From < s.To }
