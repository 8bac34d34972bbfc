package gnsslog

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"golang.org/x/text/encoding/charmap"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/written"
)

// maxDepth is how deep elements may nest; a track point's extensions stand at
// six or seven.
const maxDepth = 100

// ReadGPX reads the track points of GPX 1.0 and 1.1, element by element so
// that errors have a line. Each segment of each track begins anew. Times are
// in UTC, as the format has it; speed is in m/s and course in degrees, both
// children of the point in 1.0 and found in extensions since.
func ReadGPX(name string, text Text, opt Options) (*Log, error) {
	from, err := text.Open()
	if err != nil {
		return nil, err
	}
	r := &gpxReader{settle: text.settle, gatherer: gatherer{name: name, opt: opt}, clock: written.Clock{Zone: time.UTC}, from: faulty{Reader: from}}
	r.decoder = xml.NewDecoder(&r.from)
	r.decoder.CharsetReader = charset
	for {
		token, err := r.decoder.Token()
		if err == io.EOF {
			break
		}
		if err == nil {
			err = r.take(token)
		}
		switch {
		case err == nil:
			continue
		case r.from.err != nil:
			return nil, r.from.err
		}
		if err = r.refuse(err); err != nil {
			return nil, err
		}
		break
	}
	if r.version == "" {
		return nil, &SyntaxError{File: name, Found: "XML without an element", Reason: geo.ErrFormat}
	}
	return r.finish("GPX " + r.version)
}

// charset reads what a file says its encoding is. UTF-16 has been turned into
// UTF-8 before; the rest are read as ISO 8859-1, which is right for all that
// a track is made of.
func charset(label string, input io.Reader) (io.Reader, error) {
	switch strings.ToLower(label) {
	case "utf-8", "utf8", "utf-16", "utf-16le", "utf-16be", "us-ascii":
		return input, nil
	case "iso-8859-1", "latin1", "iso-8859-15", "windows-1252":
		return charmap.ISO8859_1.NewDecoder().Reader(input), nil
	}
	return nil, fmt.Errorf("encoding %q is not one of UTF-8, UTF-16, ISO-8859-1", label)
}

type gpxReader struct {
	gatherer
	settle  func() // once it is GPX
	from    faulty
	decoder *xml.Decoder
	clock   written.Clock
	version string
	path    []string // local names of the open elements
	point   gpxPoint
	inPoint int // depth of the open track point; 0 outside
	text    []byte
}

// A faulty reader remembers why it failed, which is no fault of the format.
type faulty struct {
	io.Reader
	err error
}

func (f *faulty) Read(p []byte) (int, error) {
	n, err := f.Reader.Read(p)
	if err != nil && err != io.EOF {
		f.err = err
	}
	return n, err
}

type gpxPoint struct {
	line int
	fix  geo.Fix
	bad  bool
}

func (r *gpxReader) line() int {
	line, _ := r.decoder.InputPos()
	return line
}

func (r *gpxReader) take(token xml.Token) error {
	switch token := token.(type) {
	case xml.StartElement:
		r.text = r.text[:0]
		if len(r.path) >= maxDepth {
			return &SyntaxError{File: r.name, Line: r.line(), Found: fmt.Sprintf("elements nested deeper than %d", maxDepth), Want: "a GPX file"}
		}
		r.path = append(r.path, token.Name.Local)
		return r.open(token)
	case xml.EndElement:
		if r.inPoint > 0 {
			r.close(token.Name.Local)
		}
		r.path = r.path[:len(r.path)-1]
		r.text = r.text[:0]
	case xml.CharData:
		const longest = 4096 // of a value; the rest is not looked at
		if r.inPoint > 0 && len(r.text) < longest {
			r.text = append(r.text, token[:min(len(token), longest)]...)
		}
	}
	return nil
}

// open begins an element.
func (r *gpxReader) open(element xml.StartElement) error {
	depth := len(r.path)
	switch name := element.Name.Local; {
	case depth == 1 && name != "gpx":
		return &SyntaxError{File: r.name, Line: r.line(), Found: fmt.Sprintf("XML whose outer element is %.40q", name), Reason: geo.ErrFormat}
	case depth == 1:
		r.settle()
		r.version = "1.1"
		for _, a := range element.Attr {
			if a.Name.Local == "version" && a.Value == "1.0" {
				r.version = "1.0"
			}
		}
	case depth == 3 && name == "trkseg" && r.path[1] == "trk":
		r.part()
	case depth == 4 && name == "trkpt" && r.path[2] == "trkseg":
		r.inPoint = depth
		r.begin(element)
	case depth == 2 && name == "wpt", depth == 3 && name == "rtept":
		if !r.seen(otherKind) {
			r.first(otherKind, r.line(), "", "a waypoint or route point, which is no track", "")
		}
	}
	return nil
}

// begin starts a track point with its attributes.
func (r *gpxReader) begin(element xml.StartElement) {
	r.points++
	r.point = gpxPoint{line: r.line(), fix: geo.Fix{Time: untimed, Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}}
	var lat, lon string
	for _, a := range element.Attr {
		switch a.Name.Local {
		case "lat":
			lat = a.Value
		case "lon":
			lon = a.Value
		}
	}
	r.point.fix.At.Lat = r.degrees("lat", lat, 90, wantLat)
	r.point.fix.At.Lon = r.degrees("lon", lon, 180, wantLon)
	r.understand("trkpt", "position")
}

func (r *gpxReader) degrees(name, text string, most float64, want string) float64 {
	value, ok := written.Number([]byte(strings.TrimSpace(text)), false)
	if (!ok || math.Abs(value) > most) && !r.point.bad {
		r.add1(badPosition, "trkpt "+name, text, want)
		r.point.bad = true
	}
	return value
}

// add1 counts a trouble at the point.
func (r *gpxReader) add1(k troubleKind, where, found, want string) {
	r.troubles.add(k, r.point.line, where, []byte(found), want)
}

// close ends an element inside a track point, or the point itself.
func (r *gpxReader) close(name string) {
	text := bytes.TrimSpace(r.text)
	depth := len(r.path)
	fix := &r.point.fix
	if depth == r.inPoint {
		r.inPoint = 0
		if r.point.bad {
			r.forget()
			return
		}
		r.gatherer.add(*fix, r.point.line)
		return
	}
	if len(text) == 0 {
		return
	}
	child := depth == r.inPoint+1
	switch {
	case child && name == "time":
		r.time(text)
	case child && name == "fix":
		r.quality(text)
	case name == "speed":
		r.understand(name, "speed in m/s")
		value, ok := written.Number(text, false)
		if !ok || value < 0 {
			r.add1(badSpeed, name, string(text), wantSpeed)
			break
		}
		fix.Speed = value
	case name == "course":
		r.understand(name, "heading in degrees")
		value, ok := written.Number(text, false)
		heading := geo.BearingOf(value)
		if !ok || !heading.Known() {
			r.add1(badHeading, name, string(text), wantHeading)
			heading = geo.Bearing(math.NaN())
		}
		fix.Heading = heading
	default:
		r.beside(name, text)
	}
}

func (r *gpxReader) time(text []byte) {
	r.understand("time", "time in UTC")
	at, _, ok := r.clock.Parse(text)
	if !ok {
		if !r.point.bad {
			r.add1(badTime, "time", string(text), wantTime)
			r.point.bad = true
		}
		return
	}
	r.point.fix.Time = at
}

// quality reads the fix element: none, 2d, 3d, dgps or pps in the schema.
func (r *gpxReader) quality(text []byte) {
	r.understand("fix", "quality of the fix")
	q, ok := naming.QualityOf(text)
	switch {
	case !ok:
		r.add1(badQuality, "fix", string(text), "none, 2d, 3d, dgps or pps")
	case q == geo.NoFix && !r.point.bad:
		r.point.bad = true
		if !r.seen(noFix) {
			r.first(noFix, r.point.line, "", "a point that says it has no fix", "")
		}
	}
	r.point.fix.Quality = q
}

// refuse makes an error of the decoder one of the file. A file that breaks
// off is no error if it holds fixes: the logger lost power.
func (r *gpxReader) refuse(err error) error {
	var mine *SyntaxError
	if errors.As(err, &mine) {
		return mine
	}
	line, found := r.line(), err.Error()
	var theirs *xml.SyntaxError
	if errors.As(err, &theirs) {
		line, found = theirs.Line, theirs.Msg
		if found == "unexpected EOF" && len(r.log.Fixes) > 0 {
			r.log.Notes = append(r.log.Notes, geo.Note{Line: line, Count: 1, Text: "the file breaks off; what stands before is used"})
			return nil
		}
	}
	return &SyntaxError{File: r.name, Line: line, Found: "XML that cannot be read (" + geo.Printable(found) + ")", Want: "a whole GPX file"}
}
