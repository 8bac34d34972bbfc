package worklog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/worklog/cover"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
)

// A log may have a record for each section of the bar: as many with the same
// time as sections are at work, told apart by a column. They are joined here to
// one fix of the bar with the state of its sections, as a log with a column of
// sections has it.
//
//	time   section  place          time   sections  place
//	09:00  7        a        -->   09:00  111       the middle of a, b and c
//	09:00  8        b              09:01  011       where the middle is if b and c are there
//	09:00  9        c
//	09:01  8        b
//	09:01  9        c
type joined struct {
	records int
	weights []float64 // of the sections, from left to right; their widths where the log says them
	width   float64   // m, of all sections; 0 where the log does not say
	apart   bool      // the records say where on the bar the sections are, so that the weights are metres
	swings  swings    // how the bar turned
	tells   bool      // the records say whether their sections work
	notes   []field.Warning
}

// What tells sections apart by place, in figures: judgement. TestRecordsBySection
// and TestASectionThatIsNone hold sharedLeast; no test holds the others closely.
const (
	sharedLeast = 1.5  // records of a time, on average, for a log to be one by section
	apartLeast  = 0.3  // m between the outer sections' records: nearer, and all have the place of the machine
	lookMost    = 5000 // bars whose records place the sections: enough for a median
)

// A barRecord is the records of one bar at one time.
type barRecord struct{ of []int32 }

// A division is one way the bar was divided: the codes of sections that occur
// together, from left to right.
type division struct {
	codes []uint32
	at    []float64 // m right of the bar's middle; nil where all have the place of the machine
	wide  []float64 // m; nil where the log does not say
	bars  int
}

// joinSections joins the records of sections that share a time. A log that has
// none is left as it is.
func (l Log) joinSections() Log {
	if l.part == nil || l.sections != nil || l.NoClock || len(l.Fixes) == 0 || len(l.part.Distinct) > mostSections {
		return l
	}
	j := joiner{Log: l, frame: geo.NewFrame(l.Fixes[0].At)}
	repeated := j.gather()
	if float64(len(l.Fixes)) < sharedLeast*float64(len(j.bars)) || !j.judge() {
		return l
	}
	j.divide()
	out := j.join()
	if repeated > 0 {
		out.joined.notes = append(out.joined.notes, field.Warning{File: l.File, Count: repeated,
			Text: "same time, place and section as another record; left out"})
	}
	return out
}

// A joiner joins the records of one log.
type joiner struct {
	Log
	frame     geo.Frame
	works     []answer  // by code of the working column; nil where there is none
	wide      []float64 // by code of the width column; nil where there is none
	bars      []barRecord
	divisions []division
	of        []int // the division of each code of the section column
}

// gather puts together the records that share their time and machine, in the order
// of the file, and counts those that occur twice.
func (j *joiner) gather() (repeated int) {
	type key struct {
		time    geo.Instant
		machine uint32
	}
	latest := map[key]int{}
	for i := range j.Fixes {
		f := &j.Fixes[i]
		k := key{time: f.Time}
		if j.machine != nil {
			k.machine = j.machine.Codes[i]
		}
		at, known := latest[k]
		if known {
			again := slices.IndexFunc(j.bars[at].of, func(o int32) bool { return j.part.Codes[o] == j.part.Codes[i] })
			if again >= 0 {
				if j.Fixes[j.bars[at].of[again]].At == f.At {
					repeated++
					continue
				}
				known = false
			}
		}
		if !known {
			latest[k] = len(j.bars)
			j.bars = append(j.bars, barRecord{of: make([]int32, 0, 4)})
			at = len(j.bars) - 1
		}
		j.bars[at].of = append(j.bars[at].of, int32(i))
	}
	return repeated
}

// judge reads the values of the columns of work and width, and reports whether it
// understands all. The tracker gives the error for those it does not.
func (j *joiner) judge() bool {
	if j.working != nil {
		works, err := j.answers()
		if err != nil {
			return false
		}
		j.works = works
	}
	if j.width != nil {
		wide, err := j.Log.widths()
		if err != nil {
			return false
		}
		j.wide = wide
	}
	return true
}

// divide finds which sections occur together, and where they are on the bar.
func (j *joiner) divide() {
	parent := make([]int, len(j.part.Distinct))
	for i := range parent {
		parent[i] = i
	}
	root := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	for _, b := range j.bars {
		for _, o := range b.of[1:] {
			parent[root(int(j.part.Codes[o]))] = root(int(j.part.Codes[b.of[0]]))
		}
	}
	j.of = make([]int, len(parent))
	known := map[int]int{}
	for code := range parent {
		r := root(code)
		d, ok := known[r]
		if !ok {
			d = len(j.divisions)
			known[r] = d
			j.divisions = append(j.divisions, division{})
		}
		j.of[code] = d
		j.divisions[d].codes = append(j.divisions[d].codes, uint32(code))
	}
	whole := make([][]*barRecord, len(j.divisions)) // bars at work with all their sections
	for i := range j.bars {
		b := &j.bars[i]
		d := j.of[j.part.Codes[b.of[0]]]
		j.divisions[d].bars++
		if len(b.of) == len(j.divisions[d].codes) && len(whole[d]) < lookMost {
			whole[d] = append(whole[d], b)
		}
	}
	for d := range j.divisions {
		j.lay(&j.divisions[d], whole[d])
	}
}

// lay puts the sections of a division in order from left to right: by where
// their records are, or, where all are at one place, by their names.
func (j *joiner) lay(d *division, whole []*barRecord) {
	slices.SortFunc(d.codes, func(a, b uint32) int { return byNumber(j.part.Distinct[a], j.part.Distinct[b]) })
	n := len(d.codes)
	slices.SortStableFunc(whole, func(a, b *barRecord) int { return cmp.Compare(j.Fixes[a.of[0]].Time, j.Fixes[b.of[0]].Time) })
	across := make([][]float64, n)
	for i, b := range whole {
		var next *barRecord
		if i+1 < len(whole) {
			next = whole[i+1]
		}
		right, ok := j.rightOf(b, next)
		if !ok {
			continue
		}
		x, y := j.middle(b)
		for _, o := range b.of {
			east, north := j.frame.Metres(j.Fixes[o].At)
			k := slices.Index(d.codes, j.part.Codes[o])
			across[k] = append(across[k], (east-x)*right[0]+(north-y)*right[1])
		}
	}
	if j.wide != nil {
		d.wide = j.widthsOf(d)
	}
	if n < 2 || len(across[0]) == 0 {
		return
	}
	at := make([]float64, n)
	for k := range at {
		slices.Sort(across[k])
		at[k] = across[k][len(across[k])/2]
	}
	if slices.Max(at)-slices.Min(at) < apartLeast {
		return
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(at[a], at[b]) })
	sorted := division{codes: make([]uint32, n), at: make([]float64, n), bars: d.bars}
	if d.wide != nil {
		sorted.wide = make([]float64, n)
	}
	for i, k := range order {
		sorted.codes[i], sorted.at[i] = d.codes[k], at[k]
		if d.wide != nil {
			sorted.wide[i] = d.wide[k]
		}
	}
	*d = sorted
	if j.widthBare { // the places tell better than a guess
		d.wide = nil
	}
	wide := d.weights()
	middle := (d.at[0] - wide[0]/2 + d.at[n-1] + wide[n-1]/2) / 2
	for i := range d.at {
		d.at[i] -= middle
	}
}

// whole returns bars of a division at work with all their sections, as many
// as there are: most of them drive straight on.
func (j *joiner) whole(d *division) (out []*barRecord) {
	for i := range j.bars {
		b := &j.bars[i]
		if len(b.of) == len(d.codes) && slices.Contains(d.codes, j.part.Codes[b.of[0]]) {
			out = append(out, b)
		}
	}
	return out
}

// weights returns how wide the sections are: as the log says, or as far as
// their records are apart, or alike.
func (d *division) weights() []float64 {
	n := len(d.codes)
	out := make([]float64, n)
	for i := range out {
		switch {
		case d.wide != nil:
			out[i] = d.wide[i]
		case d.at != nil:
			left, right := max(0, i-1), min(n-1, i+1)
			out[i] = (d.at[right] - d.at[left]) / float64(right-left)
		default:
			out[i] = 1
		}
	}
	return out
}

// widthsOf returns the usual width of each section of a division, or nil where
// the log leaves one out.
func (j *joiner) widthsOf(d *division) []float64 {
	found := make([][]float64, len(d.codes))
	for i, code := range j.part.Codes {
		if k := slices.Index(d.codes, code); k >= 0 && len(found[k]) < lookMost {
			if w := j.wide[j.width.Codes[i]]; w > 0 {
				found[k] = append(found[k], w)
			}
		}
	}
	out := make([]float64, len(d.codes))
	for k, ws := range found {
		if len(ws) == 0 {
			return nil
		}
		slices.Sort(ws)
		out[k] = ws[len(ws)/2]
	}
	return out
}

// middle returns the mean of the places of a bar's records.
func (j *joiner) middle(b *barRecord) (x, y float64) {
	for _, o := range b.of {
		east, north := j.frame.Metres(j.Fixes[o].At)
		x, y = x+east/float64(len(b.of)), y+north/float64(len(b.of))
	}
	return x, y
}

// rightOf returns the direction to the right of a bar's travel, from the logged
// heading or else from its way to the next.
func (j *joiner) rightOf(b, next *barRecord) ([2]float64, bool) {
	f := &j.Fixes[b.of[0]]
	if f.Heading.Known() {
		sin, cos := f.Heading.Angle().Sincos()
		return [2]float64{cos, -sin}, true
	}
	if next == nil || j.Fixes[next.of[0]].Time.Sub(f.Time).Seconds() > cover.LongestWay {
		return [2]float64{}, false
	}
	x, y := j.middle(b)
	u, v := j.middle(next)
	d := math.Hypot(u-x, v-y)
	if d < apartLeast {
		return [2]float64{}, false
	}
	return [2]float64{(v - y) / d, -(u - x) / d}, true
}

// place returns where the middle of the bar was. Of sections that are some way
// apart two tell the direction of the bar; with one the logged heading does, or
// else the direction of the bar before.
func (j *joiner) place(b *barRecord, d *division, right *[2]float64) geo.LonLat {
	f := &j.Fixes[b.of[0]]
	if d.at == nil {
		return f.At
	}
	at := func(o int32) float64 { return d.at[slices.Index(d.codes, j.part.Codes[o])] }
	left, far := b.of[0], b.of[0]
	for _, o := range b.of {
		if at(o) < at(left) {
			left = o
		}
		if at(o) > at(far) {
			far = o
		}
	}
	lx, ly := j.frame.Metres(j.Fixes[left].At)
	rx, ry := j.frame.Metres(j.Fixes[far].At)
	if l := math.Hypot(rx-lx, ry-ly); l >= apartLeast {
		*right = [2]float64{(rx - lx) / l, (ry - ly) / l}
	} else if r, ok := j.rightOf(b, nil); ok {
		*right = r
	}
	x, y := j.middle(b)
	mean := 0.0
	for _, o := range b.of {
		mean += at(o) / float64(len(b.of))
	}
	return j.frame.FromMetres(x-mean*right[0], y-mean*right[1])
}

// join makes the log of bars.
func (j *joiner) join() Log {
	main := j.usualDivision()
	in := &joined{records: len(j.Fixes), weights: main.weights(), apart: main.at != nil}
	for _, w := range main.wide {
		in.width += w
	}
	log := *j.Log.Log
	log.Fixes, log.Lines, log.Columns = make([]geo.Fix, 0, len(j.bars)), make([]int32, 0, len(j.bars)), nil
	states := gnsslog.Column{Name: j.part.Name, Codes: make([]uint32, 0, len(j.bars))}
	var open [][]bool // by code of states
	known := map[string]uint32{}
	lead := make([]int32, 0, len(j.bars)) // the record that stands for each bar
	right := [2]float64{1, 0}
	other := 0
	for i := range j.bars {
		b := &j.bars[i]
		d := &j.divisions[j.of[j.part.Codes[b.of[0]]]]
		at, on := b.of[0], []bool(nil)
		if len(d.codes) == len(main.codes) {
			at, on = j.opened(b, d)
			in.tells = in.tells || j.works != nil || strings.Count(bitsOf(on), "1") < len(b.of)
		} else {
			other++
		}
		bits := bitsOf(on)
		code, ok := known[bits]
		if !ok {
			code = uint32(len(open))
			known[bits] = code
			open = append(open, on)
		}
		states.Codes = append(states.Codes, code)
		f := j.Fixes[at]
		f.At = j.place(b, d, &right)
		log.Fixes = append(log.Fixes, f)
		if int(at) < len(j.Lines) {
			log.Lines = append(log.Lines, j.Lines[at])
		}
		lead = append(lead, at)
	}
	log.Breaks = breaksAt(j.Breaks, j.bars)
	for _, col := range j.Columns {
		codes := make([]uint32, len(lead))
		for i, o := range lead {
			codes[i] = col.Codes[o]
		}
		log.Columns = append(log.Columns, gnsslog.Column{Name: col.Name, Distinct: col.Distinct, Codes: codes})
	}
	out := j.Log
	out.Log, out.joined = &log, in
	out.working, out.machine = out.same(j.working), out.same(j.machine)
	out.sections, out.open, out.width, out.part = &states, open, nil, nil
	in.swings = swingsOf(j.swung(main, j.whole(main)))
	in.note(&out, main, other)
	return out
}

// usualDivision returns the one that most bars have.
func (j *joiner) usualDivision() *division {
	most := &j.divisions[0]
	for i := range j.divisions {
		if d := &j.divisions[i]; d.bars > most.bars {
			most = d
		}
	}
	return most
}

// opened returns which sections of a bar work, from left to right, and the
// first record of one that does, or else the first.
func (j *joiner) opened(b *barRecord, d *division) (first int32, on []bool) {
	on = make([]bool, len(d.codes))
	first = b.of[0]
	for _, o := range slices.Backward(b.of) {
		if !j.shut(o) {
			on[slices.Index(d.codes, j.part.Codes[o])] = true
			first = o
		}
	}
	return first, on
}

// same returns the column of the joined log that a column of the file became.
func (l *Log) same(old *gnsslog.Column) *gnsslog.Column {
	for i := range l.Columns {
		if old != nil && l.Columns[i].Name == old.Name {
			return &l.Columns[i]
		}
	}
	return nil
}

// shut reports whether a record says of its section that it does not work.
func (j *joiner) shut(record int32) bool {
	return j.works != nil && j.works[j.working.Codes[record]] != yes ||
		j.wide != nil && j.wide[j.width.Codes[record]] == 0
}

// breaksAt returns the bars that begin a segment: those with a record that does.
func breaksAt(breaks []int, bars []barRecord) (out []int) {
	if len(breaks) == 0 {
		return nil
	}
	for i, b := range bars {
		for _, o := range b.of {
			if _, is := slices.BinarySearch(breaks, int(o)); is {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

// note adds the warnings that say what was joined.
func (in *joined) note(l *Log, d *division, other int) {
	how := "all have one place; taken in the order of their names, equally wide"
	switch {
	case d.at != nil:
		how = "laid where their records are"
	case d.wide != nil:
		how = "all have one place; taken in the order of their names"
	}
	in.notes = append(in.notes, field.Warning{File: l.File, Count: in.records, Text: fmt.Sprintf(
		"column %q: records of %d sections that share their times are joined to %d fixes of one bar; the sections %s",
		l.sections.Name, len(d.codes), len(l.Fixes), how)})
	if other > 0 {
		in.notes = append(in.notes, field.Warning{File: l.File, Count: other, Text: fmt.Sprintf(
			"column %q: another number of sections than elsewhere; taken as the whole bar", l.sections.Name)})
	}
}

// byNumber compares names by the number they are, or else as words.
func byNumber(a, b string) int {
	x, errA := strconv.ParseFloat(strings.TrimSpace(a), 64)
	y, errB := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if errA == nil && errB == nil {
		return cmp.Compare(x, y)
	}
	return cmp.Compare(a, b)
}
