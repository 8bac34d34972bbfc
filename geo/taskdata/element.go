package taskdata

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/charmap"

	"lapwing/geo"
)

const (
	maxDepth = 64      // how deep elements may nest; the standard needs eight
	maxTag   = 1 << 20 // bytes in one tag
	maxKept  = 1 << 20 // elements kept of one file, points aside
)

// An element is an element of the XML that says something here. Points (PNT)
// within a line string are not elements of their own but places of it.
type element struct {
	name  string
	line  int
	attrs []xml.Attr
	kids  []*element
	at    []geo.LonLat // the points of an LSG
	lines []int32
	fault *SyntaxError // what is wrong with them
}

// inside says which elements are kept, and within which; "" is the root.
var inside = map[string]string{
	"ISO11783_TaskData": "", "XFC": "",
	"XFR": "ISO11783_TaskData",
	"PFD": "ISO11783_TaskData XFC",
	"PLN": "PFD",
	"LSG": "PLN PFD",
	"PNT": "LSG",
	"DVC": "ISO11783_TaskData XFC",
	"DET": "DVC", "DPD": "DVC", "DPT": "DVC",
	"DOR": "DET",
	"TSK": "ISO11783_TaskData XFC",
	"DAN": "TSK", "CNN": "TSK", "TLG": "TSK", "GRD": "TSK", "OTP": "TSK",
	"TIM": "TSK", // and the root of a log's header
	"PTN": "TIM", "DLV": "TIM",
	"CPC": "ISO11783_TaskData XFC", "CTP": "ISO11783_TaskData XFC",
}

// attr returns an attribute by its letter, and whether it is there.
func (e *element) attr(letter string) (string, bool) {
	for _, a := range e.attrs {
		if a.Name.Local == letter {
			return a.Value, true
		}
	}
	return "", false
}

// text returns an attribute by its letter, "" where it is not there.
func (e *element) text(letter string) string {
	value, _ := e.attr(letter)
	return strings.TrimSpace(value)
}

// whole returns an attribute as a whole number; false where it is none.
func (e *element) whole(letter string) (int64, bool) {
	n, err := strconv.ParseInt(e.text(letter), 10, 64)
	return n, err == nil
}

// each calls do for the children of a name.
func (e *element) each(name string, do func(*element)) {
	for _, k := range e.kids {
		if k.name == name {
			do(k)
		}
	}
}

// A parser makes elements of one XML file.
type parser struct {
	file  string
	dec   *xml.Decoder
	path  []*element // open elements; nil for one that is not kept
	names []string   // their names
	root  *element
	kept  int
}

var byteOrderMark = []byte("\xef\xbb\xbf")

// parse reads an XML file whose root must bear one of the names in want.
func parse(file string, data []byte, want string) (*element, error) {
	data = bytes.TrimPrefix(data, byteOrderMark)
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return nil, &SyntaxError{File: file, Found: "an empty file", Want: "XML"}
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		return nil, &SyntaxError{File: file, Found: "UTF-16 text", Want: "UTF-8"}
	}
	if line := longTag(data); line > 0 {
		return nil, &SyntaxError{File: file, Line: line, Found: "an XML tag longer than 1 MiB"}
	}
	p := parser{file: file, dec: xml.NewDecoder(bytes.NewReader(data))}
	p.dec.CharsetReader = p.charset
	for {
		line, _ := p.dec.InputPos()
		token, err := p.dec.RawToken()
		switch {
		case err == io.EOF && len(p.path) > 0:
			name := p.names[len(p.names)-1]
			return nil, p.fail(line, "the text ends within <"+shorten(name)+">", "</"+shorten(name)+">")
		case err == io.EOF && p.root == nil:
			return nil, p.fail(0, "no element", "<"+strings.ReplaceAll(want, " ", "> or <")+">")
		case err == io.EOF:
			return p.root, nil
		case err != nil:
			return nil, p.broken(err)
		}
		if err := p.token(token, line, want); err != nil {
			return nil, err
		}
	}
}

// longTag returns the line of a tag too long to be taken apart in little
// memory, or 0.
func longTag(data []byte) int {
	for at := 0; ; {
		i := bytes.IndexByte(data[at:], '<')
		if i < 0 {
			return 0
		}
		at += i
		n := bytes.IndexByte(data[at:], '>')
		if n < 0 {
			n = len(data) - at
		}
		if n > maxTag && !bytes.HasPrefix(data[at:], []byte("<!")) {
			return 1 + bytes.Count(data[:at], []byte("\n"))
		}
		at += n
	}
}

func (p *parser) fail(line int, found, want string) *SyntaxError {
	return &SyntaxError{File: p.file, Line: line, Found: found, Want: want}
}

// broken puts an error of the decoder into a line of our own.
func (p *parser) broken(err error) error {
	var ours *SyntaxError
	if errors.As(err, &ours) {
		return ours
	}
	line, _ := p.dec.InputPos()
	found := err.Error()
	var theirs *xml.SyntaxError
	if errors.As(err, &theirs) {
		line, found = theirs.Line, theirs.Msg
	}
	return p.fail(line, "XML that cannot be read ("+shorten(found)+")", "well-formed XML")
}

// charset turns Latin-1, which older writers use, into UTF-8. Windows-1252
// differs from it in a few quotation marks only, which names can do without.
func (p *parser) charset(label string, in io.Reader) (io.Reader, error) {
	switch strings.ToLower(label) {
	case "iso-8859-1", "latin1", "windows-1252", "us-ascii":
	default:
		return nil, p.fail(1, "text encoded as "+strconv.Quote(shorten(label)), "UTF-8")
	}
	return charmap.ISO8859_1.NewDecoder().Reader(in), nil
}

func (p *parser) token(token xml.Token, line int, want string) error {
	switch t := token.(type) {
	case xml.StartElement:
		return p.start(t, line, want)
	case xml.EndElement:
		name := qualified(t.Name)
		if n := len(p.names); n == 0 || p.names[n-1] != name {
			open := "no open element"
			if n > 0 {
				open = "</" + shorten(p.names[n-1]) + ">"
			}
			return p.fail(line, "</"+shorten(name)+">", open)
		}
		p.names, p.path = p.names[:len(p.names)-1], p.path[:len(p.path)-1]
	case xml.CharData:
		if len(p.path) == 0 && len(bytes.TrimSpace(t)) > 0 {
			return p.fail(line, fmt.Sprintf("text outside of an element: %.40q", bytes.TrimSpace(t)), "XML of a task set")
		}
	}
	return nil
}

func qualified(n xml.Name) string {
	if n.Space != "" {
		return n.Space + ":" + n.Local
	}
	return n.Local
}

func (p *parser) start(t xml.StartElement, line int, want string) error {
	name := qualified(t.Name)
	if len(p.path) >= maxDepth {
		return p.fail(line, fmt.Sprintf("elements nested more than %d deep", maxDepth), "a task set")
	}
	if len(p.path) == 0 {
		if !contains(want, name) {
			return p.fail(line, "<"+shorten(name)+">", "<"+strings.ReplaceAll(want, " ", "> or <")+">")
		}
		if p.root != nil {
			return p.fail(line, "a second <"+name+">", "one root element")
		}
		p.root = &element{name: name, line: line, attrs: t.Attr}
		p.names, p.path = append(p.names, name), append(p.path, p.root)
		return nil
	}
	parent := p.path[len(p.path)-1]
	p.names = append(p.names, name)
	within, known := inside[name]
	switch {
	case parent == nil || !known || !contains(within, parent.name):
		p.path = append(p.path, nil)
	case name == "PNT":
		parent.point(p.file, t.Attr, line)
		p.path = append(p.path, nil)
	default:
		if p.kept++; p.kept > maxKept {
			return p.fail(line, fmt.Sprintf("more than %d elements", maxKept), "a task set")
		}
		e := &element{name: name, line: line, attrs: t.Attr}
		parent.kids = append(parent.kids, e)
		p.path = append(p.path, e)
	}
	return nil
}

func contains(list, name string) bool {
	for list != "" {
		var word string
		if word, list, _ = strings.Cut(list, " "); word == name {
			return true
		}
	}
	return false
}

// point adds the place of a PNT: C is north, D east, in degrees (the letters
// are known from memory and from files).
func (e *element) point(file string, attrs []xml.Attr, line int) {
	p := element{attrs: attrs}
	north, errNorth := strconv.ParseFloat(p.text("C"), 64)
	east, errEast := strconv.ParseFloat(p.text("D"), 64)
	if e.fault == nil && (errNorth != nil || errEast != nil) {
		e.fault = &SyntaxError{File: file, Line: line, Where: "PNT",
			Found: fmt.Sprintf("C=%.40q D=%.40q", p.text("C"), p.text("D")), Want: "degrees north in C, degrees east in D"}
	}
	e.at = append(e.at, geo.LonLat{Lon: east, Lat: north})
	e.lines = append(e.lines, int32(line))
}

// shorten makes a piece of a file fit for a message of one line.
func shorten(text string) string { return geo.Shorten(text, 120) }
