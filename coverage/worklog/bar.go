package worklog

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo/gnsslog"
)

// A Bar is what the columns of a log tell of one machine's bar. What they do not
// tell is zero.
type Bar struct {
	Width Length // of all of it
	// From names the column that tells the width. Judged says that the column names
	// no unit, so that it was judged by its size, and Placed that the width is told
	// by how far apart the records of the sections lie. Shaped says that it is that of
	// polygons of worked ground.
	From                   string
	Judged, Placed, Shaped bool
	// Sections are the parts of the bar that can be shut, how many; Parts are their
	// widths from left to right, where the log tells these.
	Sections int
	Parts    []Length
	// Rows and Spacing are of a bar whose logged widths are all whole multiples of
	// one step that is as wide as rows are.
	Rows    int
	Spacing Length
	// OnBar says that the sections have places of their own, or polygons, so that the log's places
	// are those of the bar itself. Mount is how it hangs, as far as they tell, and
	// MountWhy how that shows.
	Mount    Mount
	MountWhy string
	OnBar    bool
}

// An Length is a length across the bar, as the log has it.
type Length struct {
	Metres float64
	Text   string // with its unit: "13.2 m"
}

// lengthOf is a length given in a unit.
func lengthOf(value float64, unit string) Length {
	const decimals = 1e6 // past the rounding of a double, short of what a log can mean
	text := strconv.FormatFloat(math.Round(value*decimals)/decimals, 'f', -1, 64) + " " + unit
	metres, err := quantity.Parse(text, quantity.Length)
	if err != nil {
		return Length{}
	}
	return Length{metres, text}
}

// narrowestSaid is the narrowest width, in metres, that a log may give for a
// whole bar: a garden drill. Judgement; no test fails where it is halved or doubled.
const narrowestSaid = 0.3

// BarOf returns what the log tells of the bar on the picked fixes, nil for all.
// A width that cannot be read is an error, as in [Log.Track].
func (l Log) BarOf(pick func(fix int) bool) (Bar, error) {
	var b Bar
	if l.cover != nil {
		const millimetre = 1e3 // what the corners of polygons tell at best
		b.Width = lengthOf(math.Round(l.cover.width*millimetre)/millimetre, "m")
		b.Shaped, b.OnBar = true, true
		b.Mount, b.MountWhy = l.cover.swings.mount, l.cover.swings.why
		return b, nil
	}
	if l.sections != nil {
		for code, is := range l.sectionCodes(pick) {
			if is {
				b.Sections = max(b.Sections, l.sectionsAt(code))
			}
		}
	}
	if l.joined != nil {
		l.joined.tell(&b, l.sections.Name, l.widthUnit, l.widthBare)
		return b, nil
	}
	if l.width == nil {
		return b, nil
	}
	metres, err := l.widths()
	if err != nil {
		return b, err
	}
	unit, size := l.widthUnit, 1.0
	if l.metres != nil {
		unit = "m" // a task set has millimetres, but people tell a bar in metres
	} else if size, err = quantity.Parse("1 "+unit, quantity.Length); err != nil {
		return b, nil
	}
	values := picked(l.width, metres, pick)
	if b.Width = fullWidth(values, size, unit); b.Width.Metres == 0 {
		return b, nil
	}
	b.From, b.Judged = l.width.Name, l.widthBare
	b.Rows, b.Spacing = rowsOf(values, b.Width, size, unit)
	return b, nil
}

// A loggedWidth is one width of a log and how many fixes have it.
type loggedWidth struct {
	metres float64
	fixes  int
}

// picked counts the widths above zero of the picked fixes, from the widest down.
func picked(col *gnsslog.Column, metres []float64, pick func(int) bool) (out []loggedWidth) {
	fixes := make([]int, len(metres))
	for i, code := range col.Codes {
		if pick == nil || pick(i) {
			fixes[code]++
		}
	}
	for code, n := range fixes {
		if n > 0 && metres[code] > 0 {
			out = append(out, loggedWidth{metres[code], n})
		}
	}
	slices.SortFunc(out, func(a, b loggedWidth) int { return cmp.Compare(b.metres, a.metres) })
	return out
}

// fullWidth is the widest width that is no slip: one fix in a hundred at least is
// as wide. Judgement; TestBarOfAMachine holds it from both sides.
func fullWidth(values []loggedWidth, size float64, unit string) Length {
	const slip = 0.01
	all, wider := 0, 0
	for _, v := range values {
		all += v.fixes
	}
	for _, v := range values {
		if wider += v.fixes; float64(wider) >= slip*float64(all) && v.metres >= narrowestSaid && v.metres <= 2*WidestBar {
			return lengthOf(v.metres/size, unit)
		}
	}
	return Length{}
}

// rowsOf finds the rows of a bar that is shut row by row: all widths are whole
// multiples of the narrowest step between them. The bounds are those of rows in
// the field, from drilled grain to wide maize (common practice, no source), and
// how many widths it takes to tell is judgement. TestBarOfAMachine fails where widest is
// halved or doubled, or fewest is doubled; no test holds closest and off closely.
func rowsOf(values []loggedWidth, full Length, size float64, unit string) (rows int, spacing Length) {
	const (
		closest, widest = 0.1, 1.1 // m
		fewest          = 5        // different widths
		off             = 0.02     // of a step, by rounding
	)
	var kept []float64
	step := full.Metres
	for _, v := range values {
		if v.metres > full.Metres*(1+off) {
			continue
		}
		if n := len(kept); n > 0 {
			step = min(step, kept[n-1]-v.metres)
		}
		kept = append(kept, v.metres)
	}
	if len(kept) < fewest || step < closest || step > widest {
		return 0, Length{}
	}
	for _, v := range kept {
		if n := v / step; math.Abs(n-math.Round(n)) > off {
			return 0, Length{}
		}
	}
	rows = int(math.Round(full.Metres / step))
	return rows, lengthOf(full.Metres/size/float64(rows), unit)
}

// tell sums the sections of joined records: their widths where the log says
// these, else how far apart they lie.
func (in *joined) tell(b *Bar, column, unit string, bare bool) {
	b.From, b.Judged, b.Placed = column, bare, in.width == 0
	b.Mount, b.MountWhy, b.OnBar = in.swings.mount, in.swings.why, in.apart
	size, err := quantity.Parse("1 "+unit, quantity.Length)
	if err != nil || in.width == 0 {
		unit, size = "m", 1
	}
	if in.width == 0 && !in.apart {
		b.From, b.Placed = "", false
		return
	}
	sum := 0.0
	for _, w := range in.weights {
		part := lengthOf(w/size, unit)
		value, _ := strconv.ParseFloat(strings.TrimSuffix(part.Text, " "+unit), 64)
		b.Parts, sum = append(b.Parts, part), sum+value
	}
	b.Width = lengthOf(sum, unit)
}
