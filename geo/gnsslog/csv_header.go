package gnsslog

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/records"
	"lapwing/geo/projection"
)

// A plan says where in each line the parts of a fix stand.
type plan struct {
	separator  byte
	names      []string // as in the file
	at         [naming.Roles]int
	system     *projection.System // of easting and northing; nil where a place is its latitude and longitude
	perUnit    float64            // metres per second in one unit of the speed column
	timeIsUTC  bool               // times without a zone are UTC, as the column's name says
	keep       []int
	last       int // the rightmost column that is needed
	line       int // of the header
	clocks     []clockColumn
	settled    bool // the columns of time are chosen
	understood []Meaning
	notes      []geo.Note
}

func (p *plan) has(r naming.Role) bool { return p.at[r] >= 0 }

// planColumns understands the header of a CSV file. line is where it stands, and
// beside finds the files that belong to it.
func planColumns(file string, line int, separator byte, names []string, beside func(ending string) ([]byte, error), opt Options) (*plan, error) {
	p := &plan{separator: separator, names: names, line: line, understood: make([]Meaning, len(names))}
	for r := range p.at {
		p.at[r] = -1
	}
	var rank [naming.Roles]int
	for i, name := range names {
		p.understood[i] = Meaning{Column: name}
		short, unit := naming.Normal(name)
		r, order := p.roleOf(line, name, short, unit)
		if stem, may := naming.MayBeCut(name); r == naming.Roles && may {
			r, order, _ = naming.OfStem(stem)
			order += naming.Ranks() // behind all whole names
		}
		if r < naming.Roles {
			if old := p.at[r]; old >= 0 && (r <= naming.Lon || order == rank[r]) && r < naming.Northing {
				if r <= naming.Lon || naming.Same(names[old], name) {
					return nil, &SyntaxError{File: file, Line: line, Where: "header",
						Found: fmt.Sprintf("two columns for the %s, %q and %q", r.String(), names[old], name), Want: "one"}
				}
			}
			if p.at[r] < 0 || order < rank[r] {
				p.at[r], rank[r] = i, order
			}
			if (r == naming.Time || r == naming.Date) && len(p.clocks) < mostClocks {
				p.clocks = append(p.clocks, clockColumn{at: i, rank: order, role: r})
			}
		}
		if opt.keeps(short) {
			p.keep = append(p.keep, i)
		}
	}
	if p.has(naming.Lat) && p.has(naming.Lon) {
		p.at[naming.Northing], p.at[naming.Easting] = -1, -1
		return p, nil
	}
	if !p.has(naming.Northing) || !p.has(naming.Easting) || p.has(naming.Lat) || p.has(naming.Lon) {
		return nil, p.noPlace(file, line)
	}
	return p, p.onMap(file, line, beside)
}

// onMap takes places by easting and northing, on the map that a .prj beside the
// file names.
func (p *plan) onMap(file string, line int, beside func(ending string) ([]byte, error)) error {
	system, err := feature.SystemBeside(beside)
	var fault *geo.Fault
	switch {
	case errors.As(err, &fault):
		return fault.In(file)
	case err != nil:
		return err
	case system == nil:
		return &SyntaxError{File: file, Line: line, Where: "header",
			Found: fmt.Sprintf("found columns %q and %q, and no .prj file beside the table that says of which map", p.names[p.at[naming.Easting]], p.names[p.at[naming.Northing]]),
			Want:  "that file, or columns lat and lon"}
	}
	p.system = system
	if note := system.Note(); note != "" {
		p.notes = append(p.notes, geo.Note{Count: 1, Text: note})
	}
	return nil
}

// mostClocks bounds how many columns of time and date are looked at.
const mostClocks = 20

// settle chooses the columns of time and date, and says what each column is taken
// for. sample calls see with values of columns.
func (p *plan) settle(sample func(see func(column int, text []byte))) {
	if p.settled {
		return
	}
	p.settled = true
	p.settleClock(p.line, sample)
	p.explain(p.line)
	p.last = max(slices.Max(p.at[:]), slices.Max(append(p.keep, 0)))
}

// roleOf is [naming.Of], which notes a unit of speed that is none.
func (p *plan) roleOf(line int, name, short, unit string) (naming.Role, int) {
	r, rank, ok := naming.Of(short, unit)
	if !ok {
		p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q: unit %q is not a known unit of speed; not used", name, unit)})
	}
	return r, rank
}

// explain fills in what each column was taken for.
func (p *plan) explain(line int) {
	for r := range naming.Roles {
		if p.has(r) {
			p.understood[p.at[r]].As = r.String()
		}
	}
	if at := p.at[naming.Heading]; at >= 0 {
		p.understood[at].As = "heading in degrees"
	}
	if p.system != nil {
		for _, r := range []naming.Role{naming.Northing, naming.Easting} {
			p.understood[p.at[r]].As = r.String() + " in " + p.system.Name
		}
	}
	if at := p.at[naming.Speed]; at >= 0 && p.isCut(at) {
		p.explainCutSpeed(at, line)
	} else if at >= 0 {
		short, bracket := naming.Normal(p.names[at])
		short = strings.TrimPrefix(strings.TrimPrefix(short, "gps"), "gnss")
		base, unit, _ := naming.SpeedOf(short, bracket)
		p.perUnit = unit.MPS
		p.understood[at].As = "speed in " + unit.Word
		if base == short && bracket == "" {
			p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q names no unit; taken as m/s", p.names[at])})
		}
	}
	if at := p.at[naming.Time]; at >= 0 {
		if p.saysUTC(at) {
			p.timeIsUTC = true
			p.understood[at].As = "time in UTC"
		}
	} else if p.has(naming.Date) { // the date column must hold the time of day too
		p.at[naming.Time], p.at[naming.Date] = p.at[naming.Date], -1
		p.understood[p.at[naming.Time]].As = "time"
	}
	for r := range naming.Roles {
		if at := p.at[r]; at >= 0 && p.isCut(at) {
			p.understood[at].As += " (its name is cut)"
		}
	}
	for _, i := range p.keep {
		if p.understood[i].As == "" {
			p.understood[i].As = "kept as text"
		}
	}
}

// noPlace is the error for a header without both coordinates.
func (p *plan) noPlace(file string, line int) error {
	missing, want := naming.Lat, "a header with a column lat or latitude"
	if p.has(naming.Lat) {
		missing, want = naming.Lon, "a header with a column lon or longitude"
	} else if !p.has(naming.Lon) {
		want = "a header with columns lat and lon"
	}
	const most = 12
	shown := make([]string, 0, most)
	for _, name := range p.names[:min(len(p.names), most)] {
		shown = append(shown, fmt.Sprintf("%.40q", name))
	}
	found := "found columns " + strings.Join(shown, ", ")
	if more := len(p.names) - most; more > 0 {
		found += fmt.Sprintf(" and %d more", more)
	}
	if near := naming.Nearest(p.names, missing); near != "" {
		found += fmt.Sprintf("; the nearest to %s is %.40q", missing.String(), near)
	}
	return &SyntaxError{File: file, Line: line, Where: "header", Found: found, Want: want}
}

// header finds the header line of data: names, separator, line number, and
// the data below. A first line sep=; as spreadsheets write it is understood.
func header(file string, data []byte) (names []string, separator byte, line int, rest []byte, err error) {
	line = 1
	for len(data) > 0 && (data[0] == '\n' || data[0] == '\r') {
		if data[0] == '\n' {
			line++
		}
		data = data[1:]
	}
	first, after := records.CutLine(data)
	var hint byte
	if len(first) == 5 && bytes.EqualFold(first[:4], []byte("sep=")) {
		hint = first[4]
		line++
		data = after
		first, _ = records.CutLine(data)
	}
	if len(first) > records.MaxLine {
		return nil, 0, 0, nil, &SyntaxError{File: file, Line: line, Found: fmt.Sprintf("a line of more than %d bytes", records.MaxLine), Reason: geo.ErrFormat}
	}
	best := -1
	for _, candidate := range []byte{',', ';', '\t'} {
		fields, left, ok := records.Split(nil, data, candidate)
		score := len(fields)
		if !ok || hint != 0 && candidate != hint || score <= best {
			continue
		}
		best, separator, rest = score, candidate, left
		names = names[:0]
		for _, field := range fields {
			names = append(names, string(bytes.ToValidUTF8(bytes.TrimSpace(field), []byte("?"))))
		}
	}
	if best < 0 {
		return nil, 0, 0, nil, &SyntaxError{File: file, Line: line, Where: "header", Found: quoted(first), Want: "names of columns"}
	}
	return names, separator, line, rest, nil
}
