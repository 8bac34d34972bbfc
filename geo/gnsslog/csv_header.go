package gnsslog

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

// A plan says where in each line the parts of a fix stand.
type plan struct {
	separator  byte
	names      []string // as in the file
	at         [roles]int
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

// A role is what a column can be to a fix.
type role int

const (
	roleLat role = iota
	roleLon
	roleTime
	roleDate
	roleSpeed
	roleHeading
	roleQuality
	roleNorthing
	roleEasting
	roles
)

func (p *plan) has(r role) bool { return p.at[r] >= 0 }

// known are the names of columns, normal form, by role; of several columns
// fit for a role the one named earliest here is taken.
var known = [roles][]string{
	roleLat:     {"lat", "latitude", "latdeg", "latitudedeg"},
	roleLon:     {"lon", "long", "lng", "longitude", "londeg", "longdeg", "lngdeg", "longitudedeg"},
	roleTime:    {"timeutc", "utctime", "datetimeutc", "utcdatetime", "timestamputc", "utc", "timestamp", "datetime", "time", "isotime", "epoch", "unixtime", "unix", "epochs", "epochms", "timestampms", "timestamps", "unixms", "timems", "times", "timelocal", "localtime", "datetimelocal", "localdatetime", "timestamplocal", "localtimestamp", "utctimestamp", "isodatetime", "isotimestamp", "timeiso", "datetimeiso", "timestampiso", "iso8601", "timeofday", "timeofdayutc", "tod"},
	roleDate:    {"date", "dateutc", "utcdate", "datelocal", "localdate", "datestamp"},
	roleSpeed:   {"speed", "groundspeed", "speedoverground", "sog", "velocity"},
	roleHeading: {"heading", "course", "bearing", "courseoverground", "cog", "headingdeg", "coursedeg", "bearingdeg", "headingdegrees", "coursedegrees", "bearingdegrees"},
	roleQuality: {"quality", "fixquality", "gpsquality", "gnssquality", "fix", "fixtype", "gpsfix"},
	// Taken only where there is no latitude and longitude. X and Y are what programs for
	// maps write, GDAL among them.
	roleNorthing: {"northing", "northings", "north", "y", "ycoord", "pointy"},
	roleEasting:  {"easting", "eastings", "east", "x", "xcoord", "pointx"},
}

// A speedUnit is a way to write a unit of speed.
type speedUnit struct {
	word string  // for people
	mps  float64 // metres per second
}

// The mile is 1609.344 m, the nautical mile 1852 m, the foot 0.3048 m, all by
// definition (the international yard of 1959; the First International
// Extraordinary Hydrographic Conference, 1929).
var speedUnits = func() map[string]speedUnit {
	units := map[string]speedUnit{}
	for _, u := range []struct {
		unit  speedUnit
		names string
	}{
		{speedUnit{"m/s", 1}, "mps m/s ms metrespersecond meterspersecond"},
		{speedUnit{"km/h", 1 / 3.6}, "kmh km/h kph kmph"},
		{speedUnit{"mph", 1609.344 / 3600}, "mph mi/h milesperhour"},
		{speedUnit{"knots", 1852.0 / 3600}, "kn kt kts knot knots"},
		{speedUnit{"ft/s", 0.3048}, "fps ft/s"},
	} {
		for _, name := range strings.Fields(u.names) {
			units[name] = u.unit
		}
	}
	return units
}()

// normal is a column's name in lower case without spaces, dashes, underscores
// and dots, and the unit that stands behind it in brackets.
func normal(name string) (short, unit string) {
	name = strings.ToLower(strings.TrimSpace(name))
	if open := strings.LastIndexAny(name, "([{"); open > 0 && strings.ContainsAny(name[len(name)-1:], ")]}") {
		name, unit = name[:open], strings.TrimSpace(name[open+1:len(name)-1])
	}
	return strings.NewReplacer(" ", "", "-", "", "_", "", ".", "").Replace(name), unit
}

// planColumns understands the header of a CSV file. line is where it stands, and
// beside finds the files that belong to it.
func planColumns(file string, line int, separator byte, names []string, beside func(ending string) ([]byte, error), opt Options) (*plan, error) {
	p := &plan{separator: separator, names: names, line: line, understood: make([]Meaning, len(names))}
	for r := range p.at {
		p.at[r] = -1
	}
	var rank [roles]int
	for i, name := range names {
		p.understood[i] = Meaning{Column: name}
		short, unit := normal(name)
		r, order := p.roleOf(line, name, short, unit)
		if stem, may := MayBeCut(name); r == roles && may {
			r, order, _ = roleOfStem(stem)
			order += len(known[roleTime]) // behind all whole names
		}
		if r < roles {
			if old := p.at[r]; old >= 0 && (r <= roleLon || order == rank[r]) && order >= 0 && r < roleNorthing {
				if r <= roleLon || sameName(names[old], name) {
					return nil, &SyntaxError{File: file, Line: line, Where: "header",
						Found: fmt.Sprintf("two columns for the %s, %q and %q", roleWords[r], names[old], name), Want: "one"}
				}
			}
			if p.at[r] < 0 || order < rank[r] {
				p.at[r], rank[r] = i, order
			}
			if (r == roleTime || r == roleDate) && len(p.clocks) < mostClocks {
				p.clocks = append(p.clocks, clockColumn{at: i, rank: order, role: r})
			}
		}
		if opt.keeps(short) {
			p.keep = append(p.keep, i)
		}
	}
	if p.has(roleLat) && p.has(roleLon) {
		p.at[roleNorthing], p.at[roleEasting] = -1, -1
		return p, nil
	}
	if !p.has(roleNorthing) || !p.has(roleEasting) || p.has(roleLat) || p.has(roleLon) {
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
			Found: fmt.Sprintf("found columns %q and %q, and no .prj file beside the table that says of which map", p.names[p.at[roleEasting]], p.names[p.at[roleNorthing]]),
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

var roleWords = [roles]string{"latitude", "longitude", "time", "date", "speed", "heading", "quality of the fix", "northing", "easting"}

func sameName(a, b string) bool {
	shortA, unitA := normal(a)
	shortB, unitB := normal(b)
	return shortA == shortB && unitA == unitB
}

// roleOf finds what a column is by its name, and how far up the list the name
// stands; roles if it is nothing to a fix.
func (p *plan) roleOf(line int, name, short, unit string) (role, int) {
	for _, short := range []string{short, strings.TrimPrefix(short, "gps"), strings.TrimPrefix(short, "gnss")} {
		for r := range roles {
			at := slices.Index(known[r], short)
			if r == roleSpeed {
				base, _, ok := speedOf(short, unit)
				if !ok && at >= 0 {
					p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q: unit %q is not a known unit of speed; not used", name, unit)})
					return roles, 0
				}
				at = slices.Index(known[r], base)
			}
			if r == roleHeading && strings.HasPrefix(unit, "rad") {
				at = -1
			}
			if at >= 0 {
				return r, at
			}
		}
	}
	return roles, 0
}

// speedOf splits a name such as "speedmph" in the word and the unit. A name
// without a unit is in metres per second.
func speedOf(short, bracket string) (base string, unit speedUnit, ok bool) {
	for _, base := range known[roleSpeed] {
		rest, is := strings.CutPrefix(short, base)
		if !is {
			continue
		}
		if rest == "" {
			rest = strings.NewReplacer(" ", "", "_", "", ".", "").Replace(bracket)
		}
		if rest == "" {
			rest = "mps"
		}
		unit, ok := speedUnits[rest]
		if !ok && rest == "kmh-1" {
			unit, ok = speedUnits["kmh"], true
		}
		if ok {
			return base, unit, true
		}
	}
	return "", speedUnit{}, false
}

// explain fills in what each column was taken for.
func (p *plan) explain(line int) {
	for r := range roles {
		if p.has(r) {
			p.understood[p.at[r]].As = roleWords[r]
		}
	}
	if at := p.at[roleHeading]; at >= 0 {
		p.understood[at].As = "heading in degrees"
	}
	if p.system != nil {
		for _, r := range []role{roleNorthing, roleEasting} {
			p.understood[p.at[r]].As = roleWords[r] + " in " + p.system.Name
		}
	}
	if at := p.at[roleSpeed]; at >= 0 && p.isCut(at) {
		p.explainCutSpeed(at, line)
	} else if at >= 0 {
		short, bracket := normal(p.names[at])
		short = strings.TrimPrefix(strings.TrimPrefix(short, "gps"), "gnss")
		base, unit, _ := speedOf(short, bracket)
		p.perUnit = unit.mps
		p.understood[at].As = "speed in " + unit.word
		if base == short && bracket == "" {
			p.notes = append(p.notes, geo.Note{Line: line, Count: 1, Text: fmt.Sprintf("column %q names no unit; taken as m/s", p.names[at])})
		}
	}
	if at := p.at[roleTime]; at >= 0 {
		if p.saysUTC(at) {
			p.timeIsUTC = true
			p.understood[at].As = "time in UTC"
		}
	} else if p.has(roleDate) { // the date column must hold the time of day too
		p.at[roleTime], p.at[roleDate] = p.at[roleDate], -1
		p.understood[p.at[roleTime]].As = "time"
	}
	for r := range roles {
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
	missing, want := roleLat, "a header with a column lat or latitude"
	if p.has(roleLat) {
		missing, want = roleLon, "a header with a column lon or longitude"
	} else if !p.has(roleLon) {
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
	if near := p.nearest(missing); near != "" {
		found += fmt.Sprintf("; the nearest to %s is %.40q", roleWords[missing], near)
	}
	return &SyntaxError{File: file, Line: line, Where: "header", Found: found, Want: want}
}

// nearest is the column whose name is closest to one of a role's names, if it
// is close enough to be a slip of the keyboard.
func (p *plan) nearest(r role) string {
	best, least := "", 100
	for _, name := range p.names[:min(len(p.names), 1000)] {
		short, _ := normal(name)
		if len(short) < 2 || len(short) > 40 {
			continue
		}
		for _, wanted := range known[r][:2] {
			steps := levenshtein.ComputeDistance(short, wanted)
			if steps <= 1+len(wanted)/4 && steps < least {
				best, least = name, steps
			}
		}
	}
	return best
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
	first, after := cutLine(data)
	var hint byte
	if len(first) == 5 && bytes.EqualFold(first[:4], []byte("sep=")) {
		hint = first[4]
		line++
		data = after
		first, _ = cutLine(data)
	}
	if len(first) > maxLine {
		return nil, 0, 0, nil, &SyntaxError{File: file, Line: line, Found: fmt.Sprintf("a line of more than %d bytes", maxLine), Reason: geo.ErrFormat}
	}
	best := -1
	for _, candidate := range []byte{',', ';', '\t'} {
		fields, left, ok := splitRecord(nil, data, candidate)
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
