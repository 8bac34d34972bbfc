package geojson

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"lapwing/geo"
)

// A Document is a text that is known to be JSON. It is not for several
// goroutines at once.
type Document struct {
	Root Value
	text []byte
	rest int // where what follows the value begins; len(text) where nothing does

	// The feature that was read last and its number in the collection: what is
	// wrong in it is told without a walk through all those before it.
	feature Value
	number  int

	// The line feeds before each block of the text, and the place whose line
	// was asked for last: lines are mostly asked for from the top down.
	before     []uint32
	last, line int
}

// A BrokenError says that a text is no JSON.
type BrokenError struct {
	Line int
	Err  error // [io.ErrUnexpectedEOF] where the text ends early
}

// Error is one line.
func (e *BrokenError) Error() string { return fmt.Sprintf("line %d: broken JSON: %v", e.Line, e.Err) }

// Unwrap returns what encoding/json says.
func (e *BrokenError) Unwrap() error { return e.Err }

// Parse checks that a text begins with a JSON value. What follows the value is
// not looked at: see [Document.Rest]. The error is a [*BrokenError].
func Parse(text []byte) (*Document, error) {
	d := &Document{text: text, rest: len(text), line: 1}
	if !json.Valid(text) {
		if err := d.broken(); err != nil {
			return nil, err
		}
	}
	at := d.space(0)
	d.Root = Value{d, at, d.skip(at)}
	return d, nil
}

// broken says why the text is no JSON, unless that is what follows a value.
func (d *Document) broken() error {
	var nothing json.RawMessage
	err := json.Unmarshal(d.text, &nothing)
	var syntax *json.SyntaxError
	if !errors.As(err, &syntax) {
		return &BrokenError{1, err} // never: what is not valid is broken
	}
	at := max(int(syntax.Offset)-1, 0) // the byte that does not fit
	switch {
	case json.Valid(d.text[:at]):
		d.rest = at
		return nil
	case d.endsEarly(syntax):
		return &BrokenError{d.lineOf(len(d.text)), io.ErrUnexpectedEOF}
	}
	return &BrokenError{d.lineOf(at), syntax}
}

// endsEarly reports whether what is wrong is that the text ends. Where that is
// within a number or a word, encoding/json says that a blank does not fit.
func (d *Document) endsEarly(err *json.SyntaxError) bool {
	return err.Offset >= int64(len(d.text)) && (strings.HasPrefix(err.Error(), "unexpected end") ||
		strings.HasPrefix(err.Error(), "invalid character ' '") && !bytes.HasSuffix(d.text, []byte(" ")))
}

// Rest reports whether text follows the value, and on which line it begins.
func (d *Document) Rest() (line int, some bool) {
	if d.rest == len(d.text) {
		return 0, false
	}
	return d.lineOf(d.rest), true
}

// block is how many bytes are counted together for lines: what is counted
// again for a place out of order.
const block = 4096

// lineOf returns the line of the byte at a place.
func (d *Document) lineOf(at int) int {
	if d.before == nil {
		d.before = make([]uint32, 1, 2+len(d.text)/block)
		for part := range slices.Chunk(d.text, block) {
			d.before = append(d.before, d.before[len(d.before)-1]+uint32(bytes.Count(part, []byte("\n"))))
		}
	}
	if k := at / block; at < d.last || k != d.last/block {
		d.last, d.line = k*block, 1+int(d.before[k])
	}
	d.line += bytes.Count(d.text[d.last:at], []byte("\n"))
	d.last = at
	return d.line
}

// space returns the first byte from a place on that is not white space.
func (d *Document) space(at int) int {
	for at < len(d.text) && (d.text[at] == ' ' || d.text[at] == '\n' || d.text[at] == '\r' || d.text[at] == '\t') {
		at++
	}
	return at
}

// skip returns the end of the value that begins at a place. The text is known
// to be JSON, so that brackets and quotes need only be counted.
func (d *Document) skip(at int) int {
	for depth := 0; ; {
		switch d.text[at] {
		case '{', '[':
			depth++
			at++
		case '}', ']':
			depth--
			at++
		case '"':
			at = d.skipText(at)
		case ',', ':', ' ', '\n', '\r', '\t':
			at++
			continue
		default:
			for at < len(d.text) && !endsWord(d.text[at]) {
				at++
			}
		}
		if depth == 0 {
			return at
		}
	}
}

// endsWord reports whether a byte ends a number, true, false or null.
func endsWord(c byte) bool {
	return c == ',' || c == ']' || c == '}' || c == ' ' || c == '\n' || c == '\r' || c == '\t'
}

// skipText returns the end of the string that begins at a place.
func (d *Document) skipText(at int) int {
	for at++; d.text[at] != '"'; at++ {
		if d.text[at] == '\\' {
			at++
		}
	}
	return at + 1
}

// A Value is a piece of a document. The zero Value is one that is not there.
type Value struct {
	doc     *Document
	at, end int
}

// Exists reports whether the value is there; null is.
func (v Value) Exists() bool { return v.doc != nil }

// Text is the value as it stands in the file.
func (v Value) Text() []byte {
	if v.doc == nil {
		return nil
	}
	return v.doc.text[v.at:v.end]
}

// Line is the line on which the value begins; 0 for one that is not there.
func (v Value) Line() int {
	if v.doc == nil {
		return 0
	}
	return v.doc.lineOf(v.at)
}

// Where is the way to the value from the outside: "features[2].geometry".
func (v Value) Where() string {
	if v.doc == nil {
		return ""
	}
	var b strings.Builder
	at := v.doc.Root
	if f := v.doc.feature; f.at <= v.at && v.at < f.end {
		at = f
		fmt.Fprintf(&b, "features[%d]", v.doc.number)
	}
	for at.at != v.at {
		in, i := at, 0
		for name, m := range in.Members() {
			if m.at <= v.at && v.at < m.end {
				if b.Len() > 0 {
					b.WriteByte('.')
				}
				b.WriteString(name)
				at = m
			}
		}
		for e := range in.Elements() {
			if e.at <= v.at && v.at < e.end {
				fmt.Fprintf(&b, "[%d]", i)
				at = e
			}
			i++
		}
		if at == in {
			break // never: a value lies in the document
		}
	}
	return b.String()
}

// Fault says that something is wrong with the value.
func (v Value) Fault(found, want string) *geo.Fault {
	return &geo.Fault{Line: v.Line(), Where: v.Where(), Found: found, Want: want}
}

// is reports whether the value begins with a byte.
func (v Value) is(first byte) bool { return v.doc != nil && v.doc.text[v.at] == first }

// IsObject reports whether the value is an object.
func (v Value) IsObject() bool { return v.is('{') }

// IsArray reports whether the value is an array.
func (v Value) IsArray() bool { return v.is('[') }

// IsNull reports whether the value is null.
func (v Value) IsNull() bool { return v.is('n') }

// Members yields the members of an object in the order of the file.
func (v Value) Members() iter.Seq2[string, Value] {
	return func(yield func(string, Value) bool) {
		if !v.is('{') {
			return
		}
		for at := v.doc.space(v.at + 1); v.doc.text[at] != '}'; {
			name := Value{v.doc, at, v.doc.skipText(at)}
			at = v.doc.space(v.doc.space(name.end) + 1) // the colon
			member := Value{v.doc, at, v.doc.skip(at)}
			word, _ := name.Word()
			if !yield(word, member) {
				return
			}
			if at = v.doc.space(member.end); v.doc.text[at] == ',' {
				at = v.doc.space(at + 1)
			}
		}
	}
}

// Member returns the member of an object with a name, the last of several, as
// encoding/json does; one that does not exist where there is none.
func (v Value) Member(name string) Value {
	var out Value
	for is, m := range v.Members() {
		if is == name {
			out = m
		}
	}
	return out
}

// Once returns a fault where an object has two members with one name: readers
// differ on which one counts.
func (v Value) Once() error {
	seen := map[string]bool{}
	for name, m := range v.Members() {
		if seen[name] {
			return m.Fault(fmt.Sprintf("a second %q in one object", name), "one")
		}
		seen[name] = true
	}
	return nil
}

// Elements yields the elements of an array.
func (v Value) Elements() iter.Seq[Value] {
	return func(yield func(Value) bool) {
		if !v.is('[') {
			return
		}
		for at := v.doc.space(v.at + 1); v.doc.text[at] != ']'; {
			e := Value{v.doc, at, v.doc.skip(at)}
			if !yield(e) {
				return
			}
			if at = v.doc.space(e.end); v.doc.text[at] == ',' {
				at = v.doc.space(at + 1)
			}
		}
	}
}

// array returns the elements of an array; another value is a fault.
func (v Value) array(want string) (iter.Seq[Value], error) {
	if !v.is('[') {
		return nil, v.Fault(v.Short(), want)
	}
	return v.Elements(), nil
}

// Word returns the string that the value is.
func (v Value) Word() (string, bool) {
	if !v.is('"') {
		return "", false
	}
	inner := v.doc.text[v.at+1 : v.end-1]
	for _, c := range inner {
		if c == '\\' || c >= 0x80 {
			var s string
			err := json.Unmarshal(v.Text(), &s)
			return s, err == nil
		}
	}
	return string(inner), true
}

// Short is the value for a message.
func (v Value) Short() string {
	text := v.Text()
	switch {
	case v.is('{'):
		return "an object"
	case v.is('['):
		return "an array"
	case len(text) > 40:
		return string(bytes.ToValidUTF8(text[:40], nil)) + "…"
	}
	return string(text)
}
