package geojson

import (
	"bytes"
	"encoding/json"
	"io"

	"lapwing/geo"
)

// A Written is a feature as a [Writer] wrote it. Its content is read when it is
// asked for.
type Written struct {
	Properties  []byte // as they stand in the text; whether they are JSON is not checked
	Type        string // of its geometry
	coordinates []byte
}

// What a [Writer] puts around the parts of a feature.
const (
	featureHead  = "{\"type\":\"Feature\",\"properties\":"
	geometryHead = ",\"geometry\":{\"type\":\""
	placesHead   = "\",\"coordinates\":"
	featureTail  = "}}"
)

// Reread calls do with the features of a text that a [Writer] wrote, each a line
// of its own and good until the next. It knows where to look and is some ten times as quick as
// [Parse], which takes any GeoJSON, and has no more of the text in memory than its longest
// line. It returns false, at once or after some features, where the text is laid out in another
// way, cannot be read or do returns false: nothing is known of it then, and [Parse] tells what
// it is.
func Reread(r io.Reader, do func(Written) bool) bool {
	text := lines{from: r}
	head, found := text.next()
	if !found || !bytes.HasPrefix(head, []byte(`{"type":"FeatureCollection"`)) || !bytes.HasSuffix(head, []byte(`,"features":[`)) ||
		!json.Valid(append(bytes.Clone(head), "]}"...)) {
		return false
	}
	for more, first := true, true; ; first = false {
		line, found := text.next()
		switch {
		case !found:
			return false // it ends early
		case len(line) > 0 && line[0] == ']':
			return (first || !more) && json.Valid(append([]byte(`{"features":[`), line...)) && text.atEnd()
		case !more:
			return false
		}
		line, more = bytes.CutSuffix(line, []byte(","))
		f, ok := rereadFeature(line)
		if !ok || !do(f) {
			return false
		}
	}
}

// lines reads a text line by line.
type lines struct {
	from io.Reader
	read []byte // and not yet given
	room []byte // that read lies in
	err  error  // the end, or what is wrong
}

// next returns the next line, which is good until the one after it; false where the text has no
// more that are ended.
func (l *lines) next() (line []byte, found bool) {
	for seen := 0; ; {
		if n := bytes.IndexByte(l.read[seen:], '\n'); n >= 0 {
			line, l.read = l.read[:seen+n], l.read[seen+n+1:]
			return line, true
		}
		if l.err != nil {
			return nil, false
		}
		seen = len(l.read)
		l.more()
	}
}

// more reads on.
func (l *lines) more() {
	const least = 1 << 16
	if 2*len(l.read) >= len(l.room) {
		l.room = make([]byte, max(least, 4*len(l.read)))
	}
	have := copy(l.room, l.read)
	n, err := l.from.Read(l.room[have:])
	l.read, l.err = l.room[:have+n], err
}

// atEnd reports whether nothing is left of the text.
func (l *lines) atEnd() bool {
	for len(l.read) == 0 && l.err == nil {
		l.more()
	}
	return len(l.read) == 0 && l.err == io.EOF
}

// rereadFeature takes the line of a feature apart. What parts its properties from
// its geometry stands in no string, for it has quotes.
func rereadFeature(line []byte) (f Written, ok bool) {
	line, ok = bytes.CutPrefix(line, []byte(featureHead))
	if !ok {
		return f, false
	}
	if f.Properties, line, ok = bytes.Cut(line, []byte(geometryHead)); !ok {
		return f, false
	}
	kind, line, ok := bytes.Cut(line, []byte(placesHead))
	if !ok {
		return f, false
	}
	f.Type = string(kind)
	f.coordinates, ok = bytes.CutSuffix(line, []byte(featureTail))
	return f, ok
}

// Polygons returns the polygons of a Polygon or a MultiPolygon; false where they
// are written in another way.
func (f Written) Polygons() (out []geo.Polygon, ok bool) {
	p := placeReader{text: f.coordinates}
	polygon := func() {
		var rings [][]geo.LonLat
		p.list(func() { rings = append(rings, p.places()) })
		if len(rings) == 0 {
			p.odd = true
			return
		}
		one := geo.Polygon{Shell: rings[0]}
		if len(rings) > 1 {
			one.Holes = rings[1:]
		}
		out = append(out, one)
	}
	switch f.Type {
	case "Polygon":
		polygon()
	case "MultiPolygon":
		p.list(polygon)
	default:
		return nil, false
	}
	return out, p.done()
}

// Lines returns the lines of a LineString or a MultiLineString; false where they
// are written in another way.
func (f Written) Lines() (out [][]geo.LonLat, ok bool) {
	p := placeReader{text: f.coordinates}
	line := func() { out = append(out, p.places()) }
	switch f.Type {
	case "LineString":
		line()
	case "MultiLineString":
		p.list(line)
	default:
		return nil, false
	}
	return out, p.done()
}

// A placeReader reads lists of places such as [-106.123456789,52.5], without
// white space and with nine decimals at most.
type placeReader struct {
	text []byte
	at   int
	odd  bool // something stands there that a Writer does not write
}

// done reports whether all was read and nothing was odd.
func (p *placeReader) done() bool { return !p.odd && p.at == len(p.text) }

// take steps over a byte, if it is there.
func (p *placeReader) take(c byte) bool {
	if p.at < len(p.text) && p.text[p.at] == c {
		p.at++
		return true
	}
	return false
}

// must steps over a byte that has to be there.
func (p *placeReader) must(c byte) {
	if !p.take(c) {
		p.odd = true
	}
}

// list reads a list of at least one element.
func (p *placeReader) list(element func()) {
	p.must('[')
	element()
	for !p.odd && p.take(',') {
		element()
	}
	p.must(']')
}

// places reads a list of places.
func (p *placeReader) places() []geo.LonLat {
	end := bytes.Index(p.text[p.at:], []byte("]]"))
	if end < 0 {
		p.odd = true
		return nil
	}
	out := make([]geo.LonLat, 0, 1+bytes.Count(p.text[p.at:p.at+end], []byte("[")))
	p.must('[')
	for more := true; more && !p.odd; more = p.take(',') {
		var at geo.LonLat
		p.must('[')
		at.Lon = p.degrees()
		p.must(',')
		at.Lat = p.degrees()
		p.must(']')
		out = append(out, at)
	}
	p.must(']')
	return out
}

// degrees reads a number. Its digits are a whole number of less than 2^53, and
// what that is to be divided by is a power of ten below 10^22: both are exact as
// a float64, so the quotient is the nearest to what is written, which is what
// strconv.ParseFloat gives.
func (p *placeReader) degrees() float64 {
	minus := p.take('-')
	whole, digits := p.digits(0)
	if digits == 0 || digits > 3 || digits > 1 && p.text[p.at-digits] == '0' {
		p.odd = true
		return 0
	}
	decimals := 0
	if p.take('.') {
		if whole, decimals = p.digits(whole); decimals == 0 || decimals > 9 {
			p.odd = true
			return 0
		}
	}
	x := float64(whole) / powers[decimals]
	if minus {
		return -x
	}
	return x
}

// digits reads on at a whole number, and says how many digits it had more.
func (p *placeReader) digits(whole uint64) (uint64, int) {
	from := p.at
	for p.at < len(p.text) && p.text[p.at]-'0' <= 9 && p.at-from < 10 {
		whole = 10*whole + uint64(p.text[p.at]-'0')
		p.at++
	}
	return whole, p.at - from
}

// powers are the powers of ten.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}
