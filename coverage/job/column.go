package job

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo/gnsslog"
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
	meansWorking:  {"working", "work", "workstate", "workingstate", "implementstatus", "implementstate", "state", "status"},
	meansSections: {"sections", "sectionstates", "sectionstate", "sectionstatus"},
	meansWidth:    {"swathwidth", "swath"},
	meansMachine:  {"machine", "machinename"},
	meansPart:     {"sectionid", "sectionnumber", "sectionno", "sectionindex", "section"},
}

// widthUnits are the ends of the name of a width column and their units. A
// name without one is in metres.
var widthUnits = map[string]string{"in": "in", "inch": "in", "inches": "in", "ft": "ft", "feet": "ft", "foot": "ft",
	"m": "m", "metres": "m", "meters": "m", "cm": "cm", "mm": "mm"}

// plainName is a column's name as in ourNames, with the unit that stands
// behind it in brackets.
func plainName(name string) (plain, unit string) {
	name = strings.ToLower(strings.TrimSpace(name))
	if open := strings.LastIndexAny(name, "([{"); open > 0 && strings.ContainsAny(name[len(name)-1:], ")]}") {
		name, unit = name[:open], strings.TrimSpace(name[open+1:len(name)-1])
	}
	return strings.NewReplacer(" ", "", "-", "", "_", "", ".", "").Replace(name), unit
}

// isOurs reports whether a column of that plain name says something of a machine.
func isOurs(plain string) bool {
	m, _, _ := meaningOf(plain, "")
	return m != noMeaning
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

// columns are those of one log that say something of a machine; nil where
// there is none of a kind.
type columns struct {
	file                                    string
	log                                     *gnsslog.Log
	working, sections, width, machine, part *gnsslog.Column
	widthUnit                               string
	widthBare                               bool         // the unit is a guess
	joined                                  *joined      // the log is made of records by section
	by                                      *worker      // of a task set; nil for a file of its own
	rates                                   []rateColumn // of a task set
}

// columnsOf finds the columns of a log that say something of a machine.
func columnsOf(file string, log *gnsslog.Log) columns {
	c := columns{file: file, log: log}
	var ranks [meansPart + 1]int
	for i := range log.Columns {
		col := &log.Columns[i]
		m, rank, unit := meaningOf(plainName(col.Name))
		slot := map[meaning]**gnsslog.Column{meansWorking: &c.working, meansSections: &c.sections, meansWidth: &c.width, meansMachine: &c.machine, meansPart: &c.part}[m]
		if slot == nil || *slot != nil && ranks[m] <= rank {
			continue
		}
		*slot, ranks[m] = col, rank
		if m == meansWidth {
			c.widthUnit, c.widthBare = unit, unit == ""
		}
	}
	if c.widthBare {
		c.widthUnit = unitOf(usualWidth(c.width), 0)
	}
	return c.joinSections()
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

// Widths that bars have, where nobody says the bar's.
const narrowestBar, widestBar = 1.5, 50.0 // m

// likeBar is how near, as a fraction, a width in some unit comes to the bar's
// for that to be no accident. Inches and centimetres differ by more than twice.
const likeBar = 0.03

// unitOf guesses the unit of a width of a log that names none: the one in which
// it is the width of the bar, or else the first in which a bar may be so wide.
// bar is in metres; 0 where nobody said.
func unitOf(width, bar float64) string {
	units := []string{"m", "ft", "in", "cm", "mm"}
	sizes := []float64{1, quantity.Foot, quantity.Foot / 12, 0.01, 0.001}
	for i, size := range sizes {
		if bar > 0 && math.Abs(width*size-bar) <= likeBar*bar {
			return units[i]
		}
	}
	for i, size := range sizes {
		if w := width * size; bar > 0 && w <= bar*(1+likeBar) && w >= bar/100 || bar == 0 && w >= narrowestBar && w <= widestBar {
			return units[i]
		}
	}
	return "m"
}

// line returns the line of the first fix whose value in col has the code.
func (c columns) line(col *gnsslog.Column, code int) int {
	for i, at := range col.Codes {
		if int(at) == code && i < len(c.log.Lines) {
			return int(c.log.Lines[i])
		}
	}
	return 0
}

// wrong says that the value of that code cannot be.
func (c columns) wrong(col *gnsslog.Column, code int, want string) *InputError {
	return &InputError{File: c.file, Line: c.line(col, code), Where: "column " + strconv.Quote(col.Name),
		Found: "found " + strconv.Quote(col.Distinct[code]), Want: want}
}

// An answer is what one value of a yes-or-no column says.
type answer int8

const (
	silent answer = iota
	no
	yes
)

// answers are the words understood in a working column.
var answers = map[string]answer{"": silent, "1": yes, "0": no, "1.0": yes, "0.0": no, "true": yes, "false": no, "on": yes, "off": no, "yes": yes, "no": no}

// workingAnswers returns the answer of each distinct value.
func (c columns) workingAnswers() ([]answer, *InputError) {
	out := make([]answer, len(c.working.Distinct))
	for code, value := range c.working.Distinct {
		a, ok := answers[strings.ToLower(strings.TrimSpace(value))]
		if !ok {
			return nil, c.wrong(c.working, code, "1 or 0, true or false, on or off, yes or no")
		}
		out[code] = a
	}
	return out, nil
}

// widths returns the metres of each distinct value; -1 for an empty one.
func (c columns) widths() ([]float64, error) {
	out := make([]float64, len(c.width.Distinct))
	for code, value := range c.width.Distinct {
		value = strings.TrimSpace(value)
		if value == "" {
			out[code] = -1
			continue
		}
		// A decimal comma comes with files that are separated by semicolons.
		metres, err := quantity.Parse(strings.Replace(value, ",", ".", 1)+" "+c.widthUnit, quantity.Length)
		if err != nil || metres < 0 || metres > 1000 {
			return nil, c.wrong(c.width, code, "a width in "+c.widthUnit)
		}
		out[code] = metres
	}
	return out, nil
}
