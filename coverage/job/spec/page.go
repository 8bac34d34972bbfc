package spec

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A page is one YAML file being read. It keeps the first thing wrong with it:
// after that, all its entries answer with zero values.
type page struct {
	file string
	err  error
}

// An entry is one value on a page, with the path that leads to it, in the words of the
// page: "machine drill A, implement.width". Its node is nil where the page has no such
// key.
type entry struct {
	page *page
	path string
	of   string // the path of the list item, or of the page, that it is below
	node *yaml.Node
	line int // of the node, or of the place where it is missing
}

// parse reads a file of one YAML document.
func parse(file string, data []byte) (entry, error) {
	p := &page{file: file}
	loader, err := yaml.NewLoader(bytes.NewReader(yamlOf(data)))
	var doc, second yaml.Node
	if err == nil {
		err = loader.Load(&doc)
	}
	if err != nil {
		return entry{}, p.syntax(err)
	}
	if len(doc.Content) == 0 {
		return entry{}, &InputError{File: file, Found: "an empty file", Want: "YAML keys"}
	}
	switch err := loader.Load(&second); {
	case err == nil:
		return entry{}, &InputError{File: file, Line: second.Line, Found: "found a second document", Want: "one"}
	case !errors.Is(err, io.EOF):
		return entry{}, p.syntax(err)
	}
	top := p.entry("", doc.Content[0])
	if top.node.Kind == yaml.ScalarNode && top.node.Tag == "!!null" {
		return entry{}, &InputError{File: file, Found: "an empty file", Want: "YAML keys"}
	}
	return top, nil
}

// syntax turns an error of the YAML library into one of ours.
func (p *page) syntax(err error) error {
	if errors.Is(err, io.EOF) {
		return &InputError{File: p.file, Found: "an empty file", Want: "YAML keys"}
	}
	var one *yaml.LoadError
	if errors.As(err, &one) {
		return &InputError{File: p.file, Line: one.Mark.Line, Found: "not YAML: " + one.Message}
	}
	return &InputError{File: p.file, Found: "not YAML: " + err.Error()}
}

// entry returns the entry of a node; an alias stands for what it names.
func (p *page) entry(path string, n *yaml.Node) entry {
	n = meant(n)
	return entry{page: p, path: path, node: n, line: n.Line}
}

// meant is a node, or what an alias names.
func meant(n *yaml.Node) *yaml.Node {
	for n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	return n
}

// place is where the entry is written, or should be.
func (e entry) place() Place { return Place{File: e.page.file, Line: e.line, Key: e.path} }

// fail notes the first thing wrong.
func (e entry) fail(found, want string) {
	if e.page.err == nil {
		e.page.err = e.place().Wrong(found, want)
	}
}

// refuse notes an error of package quantity.
func (e entry) refuse(err error) {
	var q *quantity.Error
	if errors.As(err, &q) {
		e.fail(q.Found, q.Want)
	} else {
		e.fail(err.Error(), "")
	}
}

// given reports whether the entry is on the page, and not empty.
func (e entry) given() bool {
	return e.node != nil && !(e.node.Kind == yaml.ScalarNode && e.node.Tag == "!!null")
}

// mapping fails unless the entry has keys, all of them known and each of them
// once.
func (e entry) mapping(known ...string) {
	if !e.given() {
		e.fail("nothing", "the keys "+geo.Listed(known, "and"))
		return
	}
	if e.node.Kind != yaml.MappingNode {
		e.fail("found "+e.kind(), "keys such as "+geo.Listed(known, "and"))
		return
	}
	seen := map[string]bool{}
	for i := 0; i+1 < len(e.node.Content); i += 2 {
		key := e.node.Content[i]
		at := e.child(key.Value, key)
		switch {
		case key.Kind != yaml.ScalarNode:
			at.path = e.path
			at.fail("found "+at.kind()+" as a key", "a word")
		case seen[key.Value]:
			at.fail("found twice", "the key once")
		case !slices.Contains(known, key.Value):
			at.fail("unknown key "+strconv.Quote(key.Value), nearestKey(key.Value, known))
		}
		seen[key.Value] = true
	}
}

// nearestKey says what a wrong key should be.
func nearestKey(key string, known []string) string {
	if near := quantity.Nearest(key, known); near != "" {
		return strconv.Quote(near)
	}
	return "one of " + geo.Listed(known, "and")
}

// hasAny reports whether the entry has one of some keys.
func (e entry) hasAny(keys []string) bool {
	return slices.ContainsFunc(keys, func(key string) bool { return e.get(key).node != nil })
}

// get returns the value of a key.
func (e entry) get(key string) entry {
	if e.node != nil && e.node.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(e.node.Content); i += 2 {
			if e.node.Content[i].Value == key {
				return e.child(key, e.node.Content[i+1])
			}
		}
	}
	return entry{page: e.page, path: e.below(key), of: e.of, line: e.line}
}

// below is the path of a key of the entry.
func (e entry) below(key string) string {
	switch {
	case e.path == "":
		return key
	case e.path == e.of: // an item of a list
		return e.path + ", " + key
	}
	return e.path + "." + key
}

// need returns the value of a key that must be there.
func (e entry) need(key, want string) entry {
	v := e.get(key)
	if !v.given() {
		v.fail("missing", want)
	}
	return v
}

func (e entry) child(key string, n *yaml.Node) entry {
	c := e.page.entry(e.below(key), n)
	c.of = e.of
	return c
}

// item is the path of an item of the list that the entry is: by its name where it has
// one, else by its number, counted from 1 as people do: "machine drill A", "track 1".
func (e entry) item(i int, n *yaml.Node) string {
	list := e.path[strings.LastIndexAny(e.path, "., ")+1:]
	what := strings.TrimSuffix(list, "s") + " " + strconv.Itoa(i+1)
	item := e.page.entry("", n)
	if name := item.get("name"); name.node != nil && name.node.Kind == yaml.ScalarNode && name.node.Value != "" {
		what = strings.TrimSuffix(list, "s") + " " + short(name.node.Value)
	}
	return strings.TrimSuffix(e.path, list) + what
}

// list returns the items of a list; a single value is a list of one.
func (e entry) list(want string) []entry {
	if !e.given() {
		return nil
	}
	if e.node.Kind == yaml.ScalarNode {
		return []entry{e}
	}
	return e.items(want)
}

// items returns the items of what must be a list with something in it.
func (e entry) items(want string) []entry {
	if !e.given() {
		return nil
	}
	if e.node.Kind != yaml.SequenceNode || len(e.node.Content) == 0 {
		e.fail("found "+e.kind(), want)
		return nil
	}
	var out []entry
	for i, n := range e.node.Content {
		item := e.page.entry(e.item(i, n), n)
		item.of = item.path
		out = append(out, item)
	}
	return out
}

// text returns the value as written; "" where there is none.
func (e entry) text(want string) string {
	if !e.given() {
		return ""
	}
	if e.node.Kind != yaml.ScalarNode {
		e.fail("found "+e.kind(), want)
		return ""
	}
	return strings.TrimSpace(e.node.Value)
}

// asText returns the value as written, with its place.
func (e entry) asText(want string) Text {
	return Text{Place: e.place(), Text: e.text(want), Given: e.given()}
}

// name returns a text that is not empty.
func (e entry) name(want string) string {
	s := e.text(want)
	if s == "" {
		e.fail("found an empty text", want)
	}
	return s
}

// whole returns a whole number from low to high.
func (e entry) whole(low, high int) int {
	want := fmt.Sprintf("a whole number from %d to %d", low, high)
	s := e.text(want)
	n, err := strconv.Atoi(s)
	if e.given() && (err != nil || n < low || n > high) {
		e.fail("found "+strconv.Quote(s), want)
		return low
	}
	return n
}

// quantity returns a number with a unit; zero where there is none.
func (e entry) quantity(wish quantity.Wish) quantity.Value {
	if !e.given() {
		return quantity.Value{}
	}
	v, err := quantity.Read(e.text(wish.String()), wish)
	if err != nil {
		e.refuse(err)
	}
	return v
}

// length returns a length on the grid of at least low.
func (e entry) length(low plane.Length) plane.Length {
	if !e.given() {
		return 0
	}
	v := e.quantity(quantity.Just(quantity.Length))
	l, err := onGrid(v.SI, low)
	if err != nil {
		e.fail("found "+strconv.Quote(e.node.Value)+", "+err.Error(), quantity.Just(quantity.Length).String())
	}
	return l
}

// onGrid returns metres on the grid, if they are at least low and within its reach.
func onGrid(metres float64, low plane.Length) (plane.Length, error) {
	switch {
	case metres > plane.Reach.Metres():
		return 0, fmt.Errorf("over %d km", plane.Reach/plane.Kilometre)
	case metres < -plane.Reach.Metres():
		return 0, fmt.Errorf("under -%d km", plane.Reach/plane.Kilometre)
	}
	l := plane.Metres(metres)
	switch {
	case l >= low:
		return l, nil
	case low == 0:
		return 0, errors.New("below zero")
	default:
		return 0, errors.New("too short")
	}
}

// kind says what sort of thing stands in an entry.
func (e entry) kind() string {
	switch e.node.Kind {
	case yaml.MappingNode:
		return "keys"
	case yaml.SequenceNode:
		if len(e.node.Content) == 0 {
			return "an empty list"
		}
		return "a list"
	}
	return quoted(e.node.Value)
}

// quoted puts what a file says in quotes, the first few dozen letters of it.
func quoted(text string) string { return strconv.Quote(short(text)) }

// short is the first few dozen letters of a text.
func short(text string) string {
	const most = 60
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return text
}

// FlagLength reads a length on the grid of at least low, given by a flag.
func FlagLength(flag, text string, low plane.Length) (plane.Length, error) {
	metres, err := quantity.Parse(text, quantity.Length)
	if err != nil {
		return 0, FlagError(flag, err)
	}
	l, err := onGrid(metres, low)
	if err != nil {
		return 0, Place{Key: flag}.Wrong("found "+strconv.Quote(text)+", "+err.Error(), quantity.Just(quantity.Length).String())
	}
	return l, nil
}

// FlagError says that a quantity given by a flag is wrong.
func FlagError(flag string, err error) error {
	e := entry{page: &page{}, path: flag}
	e.refuse(err)
	return e.page.err
}
