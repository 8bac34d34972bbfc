package season

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"path"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"lapwing/coverage/assess"
	"lapwing/coverage/lapsum"
	"lapwing/report"
)

// operatorsDir is where the pages of operators are, from the season's page.
const operatorsDir = "operators"

// An operator is who drove, by all seasons of the book. Whom no job names goes by the
// machine.
type operator struct {
	*Book
	name    string
	machine bool   // it is the machine's: no job names who drove it
	key     string // see operatorKey
	passes  []drivenPass
	hangs   map[machineOn]float64 // m, see [lapsum.Hang]
}

// A machineOn is a machine on one field.
type machineOn struct {
	entry   *Entry
	machine string
}

// A drivenPass is a pass that an operator drove.
type drivenPass struct {
	entry *Entry
	*assess.PassSummary
}

// operators are all of the book, in the order of the alphabet, those without a name
// last; the passes of each in the order driven, those without a clock last.
func (s *Book) operators() []*operator {
	by := map[string]*operator{}
	var out []*operator
	for _, entry := range s.Entries {
		for i := range entry.Passes {
			p := &entry.Passes[i]
			name := entry.operator(p.Machine)
			key := operatorKey(name, p.Machine)
			o := by[key]
			if o == nil {
				o = &operator{Book: s, machine: strings.TrimSpace(name) == "", key: key}
				by[key] = o
				out = append(out, o)
			}
			o.passes = append(o.passes, drivenPass{entry, p})
		}
	}
	for _, o := range out {
		o.findHangs()
		o.sortPasses()
	}
	slices.SortFunc(out, func(a, b *operator) int {
		if a.machine != b.machine {
			return map[bool]int{true: 1, false: -1}[a.machine]
		}
		return cmp.Or(cmp.Compare(strings.ToLower(a.name), strings.ToLower(b.name)), cmp.Compare(a.slug(), b.slug()))
	})
	return out
}

// sortPasses puts the passes in the order driven; the operator's name is as the first job
// writes it.
func (o *operator) sortPasses() {
	slices.SortStableFunc(o.passes, func(a, b drivenPass) int {
		if (a.Day == "") != (b.Day == "") {
			return map[bool]int{true: 1, false: -1}[a.Day == ""]
		}
		return cmp.Or(cmp.Compare(a.Start, b.Start), byNumber(a.entry, b.entry), cmp.Compare(a.ID, b.ID))
	})
	first := o.passes[0]
	o.name = strings.Join(strings.Fields(first.entry.operator(first.Machine)), " ")
	if o.machine {
		o.name = first.Machine
	}
}

// findHangs finds what the bars of an operator's machines hang to one side.
func (o *operator) findHangs() {
	by := map[machineOn][]lapsum.Driven{}
	for _, p := range o.passes {
		on := machineOn{p.entry, p.Machine}
		by[on] = append(by[on], lapsum.Driven{LapKeptSummary: &p.Lap})
	}
	o.hangs = map[machineOn]float64{}
	for on, laps := range by {
		o.hangs[on] = lapsum.Hang(laps)
	}
}

// sum sums up the laps of passes of the operator.
func (o *operator) sum(passes ...drivenPass) lapsum.Sum {
	laps := make([]lapsum.Driven, len(passes))
	for i, p := range passes {
		laps[i] = lapsum.Driven{LapKeptSummary: &p.Lap, Hang: o.hangs[machineOn{p.entry, p.Machine}]}
	}
	return lapsum.Of(laps)
}

// operatorKey is the same for names that differ in case and blanks alone.
func operatorKey(name, machine string) string {
	if plain := strings.ToLower(strings.Join(strings.Fields(name), " ")); plain != "" {
		return plain
	}
	return "machine: " + machine
}

// easyName is a name that can be a file's on every system, and that no other name is
// turned into.
var easyName = regexp.MustCompile(`^[a-z]+( [a-z]+)*$`)

// slugOf names the files of an operator: by the name, with a few digits that keep names
// apart where it is not of plain letters.
func slugOf(key string) string {
	const easyLeast, most = 4, 48
	var b strings.Builder
	for _, c := range key {
		if c < unicode.MaxASCII && (unicode.IsLetter(c) || unicode.IsDigit(c)) {
			b.WriteRune(unicode.ToLower(c))
		} else if s := b.String(); s != "" && !strings.HasSuffix(s, "-") {
			b.WriteByte('-')
		}
	}
	slug := strings.Trim(b.String(), "-")
	if easyName.MatchString(key) && easyLeast <= len(key) && len(key) <= most {
		return slug
	}
	sum := sha256.Sum256([]byte(key))
	return strings.Trim(slug[:min(len(slug), most)]+"-"+hex.EncodeToString(sum[:3]), "-")
}

// OperatorFiles are the pages of all operators, and their laps as tables.
func (s *Book) OperatorFiles() []report.File {
	var out []report.File
	for _, o := range s.operators() {
		out = append(out, report.File{Name: o.page(), Write: o.Page}, report.File{Name: o.table(), Write: o.CSV})
	}
	return out
}

// slug names its files.
func (o *operator) slug() string { return slugOf(o.key) }

// page and table are its files, from the season's page.
func (o *operator) page() string  { return path.Join(operatorsDir, o.slug()+".html") }
func (o *operator) table() string { return path.Join(operatorsDir, o.slug()+".csv") }

// pagesOf are the pages of operators and of machines without one, by their keys; none
// where operators are left out of what is for all.
func (s *Book) pagesOf() map[string]string {
	out := map[string]string{}
	if s.NoOperators {
		return out
	}
	for _, o := range s.operators() {
		out[o.key] = o.page()
	}
	return out
}

// operator returns who drove a machine, in what is for all.
func (s *Book) operator(entry *Entry, machine string) string {
	if s.NoOperators {
		return ""
	}
	return strings.Join(strings.Fields(entry.operator(machine)), " ")
}

// A workDay is what an operator drove on one day.
type workDay struct {
	day    string // "2026-05-04"; "" of logs without a clock
	passes []drivenPass
	laps   lapsum.Sum
}

// days are those of an operator, in order, the one without a date last.
func (o *operator) days() []workDay {
	var out []workDay
	for _, p := range o.passes {
		if n := len(out); n == 0 || out[n-1].day != p.Day {
			out = append(out, workDay{day: p.Day})
		}
		d := &out[len(out)-1]
		d.passes = append(d.passes, p)
	}
	for i := range out {
		out[i].laps = o.sum(out[i].passes...)
	}
	return out
}

// told are the passes whose lap can be told, in the order driven.
func told(passes []drivenPass) []drivenPass {
	return slices.DeleteFunc(slices.Clone(passes), func(p drivenPass) bool { return p.Lap.Along == 0 })
}
