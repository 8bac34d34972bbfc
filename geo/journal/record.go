package journal

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lapwing/geo"
)

// A Record is one fix of a machine, and how its implement was.
type Record struct {
	geo.Fix        // its Row is 0
	Machine string // its name, as in the job
	// Working is "1" where the implement works, "0" where it does not, "" where
	// that is not known.
	Working string
	// Sections are "1" or "0" for each section of the bar, from left to right;
	// "" for the whole bar.
	Sections string
}

// Header is the line that a journal begins with: the columns of a record.
const Header = "time,lat,lon,quality,heading,speed(m/s),machine,working,sections,check\n"

const (
	// checkLen is the length of ",0123abcd\n".
	checkLen = 10
	// maxSections and maxName bound a line: a bar of 256 sections is four times
	// the widest we know of. Judgement. TestRefused fails where either is halved or
	// doubled.
	maxSections = 256
	maxName     = 200
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// check says what makes a record none that reads back as it is.
func (r *Record) check() error {
	wrong := func(column, found, want string) error {
		return fmt.Errorf("record: %s: found %s, want %s", column, found, want)
	}
	switch year := r.Time.Time().Year(); {
	case year < 1678 || year > 2261:
		return wrong("time", fmt.Sprint("the year ", year), "one from 1678 to 2261")
	case !(math.Abs(r.At.Lat) <= 90):
		return wrong("lat", fmt.Sprint(r.At.Lat), "degrees from -90 to 90")
	case !(math.Abs(r.At.Lon) <= 180):
		return wrong("lon", fmt.Sprint(r.At.Lon), "degrees from -180 to 180")
	case r.Quality > geo.Simulated:
		return wrong("quality", r.Quality.String(), "the quality of a position")
	case r.Heading.Known() && !(r.Heading >= 0 && r.Heading < 360):
		return wrong("heading", fmt.Sprint(r.Heading), "degrees from 0 to 360, or none")
	case !math.IsNaN(r.Speed) && !(r.Speed >= 0 && r.Speed <= math.MaxFloat64):
		return wrong("speed", fmt.Sprint(r.Speed), "metres a second, or none")
	case r.Row != 0:
		return wrong("row", fmt.Sprint(r.Row), "0")
	case r.Working != "" && r.Working != "0" && r.Working != "1":
		return wrong("working", strconv.Quote(r.Working), "1, 0 or an empty string")
	case len(r.Sections) > maxSections || strings.Trim(r.Sections, "01") != "":
		return wrong("sections", fmt.Sprintf("%.40q", r.Sections), fmt.Sprintf("1 or 0 for each, %d at most", maxSections))
	}
	return nil
}

// checkMachine says what makes a name none that reads back as it is.
func checkMachine(name string) error {
	for _, c := range name {
		if unicode.IsControl(c) {
			return fmt.Errorf("machine: found %.40q, want a name without control characters", name)
		}
	}
	switch {
	case strings.TrimSpace(name) != name:
		return fmt.Errorf("machine: found %.40q, want a name without blanks around it", name)
	case !utf8.ValidString(name):
		return fmt.Errorf("machine: found %.40q, want a name in UTF-8", name)
	case len(name) > maxName:
		return fmt.Errorf("machine: found a name of %d bytes, want %d at most", len(name), maxName)
	}
	return nil
}

// encode appends the line of a record. Numbers have as many digits as their
// float64 needs to be read back to the last bit.
func encode(line []byte, r *Record, machine string) []byte {
	start := len(line)
	line = r.Time.Time().AppendFormat(line, "2006-01-02T15:04:05.999999999Z07:00")
	line = append(line, ',')
	line = number(line, r.At.Lat)
	line = append(line, ',')
	line = number(line, r.At.Lon)
	line = append(line, ',')
	if r.Quality != geo.QualityUnknown {
		line = append(line, '0'+byte(r.Quality))
	}
	line = append(line, ',')
	line = number(line, float64(r.Heading))
	line = append(line, ',')
	line = number(line, r.Speed)
	line = append(line, ',')
	line = append(line, machine...)
	line = append(line, ',')
	line = append(line, r.Working...)
	line = append(line, ',')
	line = append(line, r.Sections...)
	sum := crc32.Checksum(line[start:], castagnoli)
	line = append(line, ',')
	for shift := 28; shift >= 0; shift -= 4 {
		line = append(line, "0123456789abcdef"[sum>>shift&15])
	}
	return append(line, '\n')
}

// number appends a number; NaN is an empty field. Tiny and huge ones have an
// exponent: they would else have 300 digits.
func number(line []byte, v float64) []byte {
	switch {
	case math.IsNaN(v):
		return line
	case v != 0 && math.Abs(v) < 1e-6 || math.Abs(v) >= 1e15:
		return strconv.AppendFloat(line, v, 'e', -1, 64)
	}
	return strconv.AppendFloat(line, v, 'f', -1, 64)
}

// quoted is a name as one field of CSV.
func quoted(name string) string {
	if !strings.ContainsAny(name, "\",;\t") {
		return name
	}
	return `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
}

// A decoder reads lines. It keeps what most lines repeat.
type decoder struct {
	field             []byte // the machine's field in the line before
	machine           string
	working, sections string
}

// record reads a line with its end; ok tells that it is whole. A line whose
// check is right but that makes no sense was not written here, and is none.
func (d *decoder) record(line []byte) (r Record, ok bool) {
	body := len(line) - checkLen
	if body < 0 || line[body] != ',' {
		return r, false
	}
	var sum uint32
	for _, c := range line[body+1 : len(line)-1] {
		switch {
		case c-'0' <= 9:
			sum = sum<<4 | uint32(c-'0')
		case c-'a' <= 5:
			sum = sum<<4 | uint32(c-'a'+10)
		default:
			return r, false
		}
	}
	if crc32.Checksum(line[:body], castagnoli) != sum {
		return r, false
	}
	return d.fields(line[:body])
}

func (d *decoder) fields(line []byte) (r Record, ok bool) {
	next := func() []byte {
		var field []byte
		field, line, _ = bytes.Cut(line, []byte(","))
		return field
	}
	at, err := time.Parse(time.RFC3339Nano, string(next()))
	if err != nil || at.Year() < 1678 || at.Year() > 2261 {
		return r, false
	}
	r.Time = geo.InstantOf(at)
	var okLat, okLon, okSpeed bool
	r.At.Lat, okLat = parse(next())
	r.At.Lon, okLon = parse(next())
	quality := next()
	okQuality := len(quality) == 0
	if len(quality) == 1 && quality[0] >= '1' {
		r.Quality, okQuality = geo.Quality(quality[0]-'0'), true // more than 8 is refused below
	}
	heading, okHeading := parse(next())
	r.Heading = geo.Bearing(heading)
	r.Speed, okSpeed = parse(next())
	var okName bool
	if line, okName = d.name(line); !okName || !okQuality || !okLat || !okLon || !okHeading || !okSpeed {
		return r, false
	}
	r.Machine = d.machine
	d.working = word(d.working, next())
	d.sections = word(d.sections, line)
	r.Working, r.Sections = d.working, d.sections
	return r, r.check() == nil
}

// name reads the field of the machine, which may be in quotes, and returns
// what follows it.
func (d *decoder) name(line []byte) (rest []byte, ok bool) {
	end := bytes.IndexByte(line, ',')
	if len(line) > 0 && line[0] == '"' {
		end = bytes.LastIndexByte(line, '"') + 1
	}
	if end < 0 || end >= len(line) || line[end] != ',' {
		return nil, false
	}
	if field := line[:end]; !bytes.Equal(field, d.field) {
		name := string(field)
		if name != "" && name[0] == '"' {
			if len(name) < 2 {
				return nil, false
			}
			name = strings.ReplaceAll(name[1:len(name)-1], `""`, `"`)
		}
		if checkMachine(name) != nil || quoted(name) != string(field) {
			return nil, false
		}
		d.field, d.machine = append(d.field[:0], field...), name
	}
	return line[end+1:], true
}

// parse reads a number; NaN where there is none.
func parse(field []byte) (float64, bool) {
	if len(field) == 0 {
		return math.NaN(), true
	}
	v, err := strconv.ParseFloat(string(field), 64)
	return v, err == nil
}

// word is a field as a string: the one before, if it says the same.
func word(before string, field []byte) string {
	if before == string(field) {
		return before
	}
	return string(field)
}
