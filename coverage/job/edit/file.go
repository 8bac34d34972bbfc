package edit

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
)

// A File is a YAML file with one mapping in it.
type File struct {
	text []byte
	top  *yaml.Node
}

// ErrShape says that a file is written in a way that this package cannot change.
var ErrShape = errors.New("a file laid out so that only a person should change it")

// Parse reads a file. What is not YAML, or no mapping, is an error.
func Parse(text []byte) (*File, error) {
	if bytes.ContainsRune(text, '\r') && !bytes.Contains(text, []byte("\r\n")) {
		return nil, ErrShape // ends of lines of another age
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil {
		return nil, err
	}
	if len(doc.Content) != 1 || doc.Content[0].Kind != yaml.MappingNode {
		return nil, errors.New("no keys in it")
	}
	return &File{text, doc.Content[0]}, nil
}

// Text is the file as it stands now.
func (f *File) Text() []byte { return f.text }

// node is the node at a key; nil where there is none.
func (f *File) node(key string) *yaml.Node {
	n := f.top
	if key == "" {
		return n
	}
	for part := range strings.SplitSeq(key, ".") {
		if n = child(n, part); n == nil {
			return nil
		}
	}
	return n
}

// child is what stands under a name or a number; nil for nothing.
func child(n *yaml.Node, part string) *yaml.Node {
	for n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == part {
				return n.Content[i+1]
			}
		}
	case yaml.SequenceNode:
		if i, err := strconv.Atoi(part); err == nil && i >= 0 && i < len(n.Content) {
			return n.Content[i]
		}
	}
	return nil
}

// Has reports whether a key stands in the file with a value.
func (f *File) Has(key string) bool {
	n := f.node(key)
	return n != nil && !isNull(n)
}

// Value is the text of a single value; "" where there is none, or a list.
func (f *File) Value(key string) string {
	n := f.node(key)
	for n != nil && n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	if n == nil || n.Kind != yaml.ScalarNode || isNull(n) {
		return ""
	}
	return strings.TrimSpace(n.Value)
}

// Len is how many items the list at a key has; a single value is a list of one.
func (f *File) Len(key string) int {
	switch n := f.node(key); {
	case n == nil || isNull(n):
		return 0
	case n.Kind == yaml.SequenceNode:
		return len(n.Content)
	default:
		return 1
	}
}

// List are the single values of a list; a single value is a list of one. Items that
// are no single values are "".
func (f *File) List(key string) (values []string) {
	if n := f.node(key); n != nil && n.Kind != yaml.SequenceNode {
		if v := f.Value(key); v != "" {
			return []string{v}
		}
		return nil
	}
	for i := range f.Len(key) {
		values = append(values, f.Value(key+"."+strconv.Itoa(i)))
	}
	return values
}

// IsMapping reports whether keys stand below a key.
func (f *File) IsMapping(key string) bool {
	n := f.node(key)
	return n != nil && n.Kind == yaml.MappingNode
}

// Line is the line of a key's value, from 1; 0 for none.
func (f *File) Line(key string) int {
	if n := f.node(key); n != nil {
		return n.Line
	}
	return 0
}

// Notes are the comments that stand right below the line of a key, and the one at
// its end, each without its mark.
func (f *File) Notes(key string) (notes []string) {
	n, _ := f.entry(key)
	if n == nil {
		return nil
	}
	lines := f.lines()
	if n.Line > len(lines) {
		return nil
	}
	for _, above := range f.above(n.Line) {
		notes = append(notes, note(lines[above]))
	}
	if v := f.node(key); v.Kind == yaml.ScalarNode {
		_, end, err := f.extent(v)
		if err == nil && end <= f.lineEnd(v.Line) {
			if at := bytes.IndexByte(f.text[end:f.lineEnd(v.Line)], '#'); at >= 0 {
				notes = append(notes, note(string(f.text[end+at:f.lineEnd(v.Line)])))
			}
		}
	}
	for i := n.Line; i < len(lines) && isComment(lines[i]); i++ {
		notes = append(notes, note(lines[i]))
	}
	return notes
}

// above are the lines of comments, from 0, right above a line, counted from 1, that
// ask for the value to be filled in.
func (f *File) above(line int) (at []int) {
	lines := f.lines()
	for i := line - 2; i >= 0 && isComment(lines[i]); i-- {
		at = append([]int{i}, at...)
		if strings.HasPrefix(note(lines[i]), FillIn) {
			return at
		}
	}
	return nil
}

// Marks that a value which a person should look at has in its comments.
const (
	Guess  = "GUESS:"
	FillIn = "FILL IN:"
)

func isComment(line string) bool { return strings.HasPrefix(strings.TrimSpace(line), "#") }

func note(line string) string {
	return strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(line), "#"))
}

// isNull reports whether a node is a value that is not there.
func isNull(n *yaml.Node) bool { return n.Kind == yaml.ScalarNode && n.Tag == "!!null" }

// flat lists all single values of a file by their keys.
func (f *File) flat() map[string]string {
	out := map[string]string{}
	var walk func(key string, n *yaml.Node)
	walk = func(key string, n *yaml.Node) {
		join := func(part string) string {
			if key == "" {
				return part
			}
			return key + "." + part
		}
		switch n.Kind {
		case yaml.MappingNode:
			out[key+"{}"] = ""
			for i := 0; i+1 < len(n.Content); i += 2 {
				walk(join(n.Content[i].Value), n.Content[i+1])
			}
		case yaml.SequenceNode:
			out[key+"[]"] = strconv.Itoa(len(n.Content))
			for i, one := range n.Content {
				walk(join(strconv.Itoa(i)), one)
			}
		case yaml.AliasNode:
			out[key] = "*" + n.Value
		default:
			out[key] = n.Value
			if isNull(n) {
				out[key] = n.Tag + " " + n.Value
			}
		}
	}
	walk("", f.top)
	return out
}

// become takes a changed text in, if it says what was wanted and all else is as it was.
func (f *File) become(text []byte, wanted func(values map[string]string)) error {
	changed, err := Parse(text)
	if err != nil {
		return fmt.Errorf("%w (%v)", ErrShape, err)
	}
	want := f.flat()
	wanted(want)
	if !maps.Equal(changed.flat(), want) {
		return ErrShape
	}
	*f = *changed
	return nil
}
