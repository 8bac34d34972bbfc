package spec

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"

	"go.yaml.in/yaml/v4"

	"lapwing/coverage/machine"
	"lapwing/geo/source"
)

// A Guest is a machine of another job, as that one has it but for its logs. It stands
// for itself: it names no file.
type Guest struct {
	Name      string // which it bears here; in its own job it may be another
	Machine   string // its name there
	Implement machine.Implement
	entry     *yaml.Node // its keys
}

// mostGuest is how long the text of a guest may be: as long as a job of many.
// TestReadGuestTrustsNothing holds it from both sides.
const mostGuest = 64 << 10

// GuestKeys returns a machine of a job file as text that [ReadGuest] takes: its keys,
// with its implement in full, without its logs.
func GuestKeys(files source.Files, path, name string) ([]byte, error) {
	data, err := readFile(files, path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a job file", Reason: ErrNoJob}
	}
	top, err := parse(path, data)
	if err != nil {
		return nil, err
	}
	r := reader{files: files, dir: dirOf(files, path), spec: &Spec{}}
	for _, e := range top.get("machines").items("a list of machines") {
		if e.get("name").text("a name") != name {
			continue
		}
		out := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}
		for _, key := range machineKeys {
			v := e.get(key)
			if !v.given() || key == "tracks" || key == "logged_as" {
				continue // its journals call it by its name
			}
			value := v.node
			if key == "implement" && value.Kind == yaml.ScalarNode {
				file := r.path(v.text("a path"))
				data, err := readFile(files, file)
				if err != nil {
					return nil, v.place().Wrong("found "+strconv.Quote(v.text(""))+", "+err.Error(), "an implement file, or its keys")
				}
				im, err := parse(file, data)
				if err != nil {
					return nil, err
				}
				value = im.node
			}
			out.Content = append(out.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, itself(value, 0))
		}
		var b bytes.Buffer
		w := yaml.NewEncoder(&b)
		w.SetIndent(2)
		if err := errors.Join(w.Encode(out), w.Close()); err != nil {
			return nil, &InputError{File: path, Found: err.Error(), Want: "YAML that can be written again"}
		}
		return b.Bytes(), nil
	}
	if top.page.err != nil {
		return nil, top.page.err
	}
	return nil, &InputError{File: path, Where: "machines", Found: "no machine " + name, Want: "one that is in the job"}
}

// deepest is how deep the keys of a machine may be nested: its cart's are four deep.
// TestReadGuestTrustsNothing fails where it is doubled.
const deepest = 8

// itself copies a node with what its aliases stand for, without comments.
func itself(n *yaml.Node, depth int) *yaml.Node {
	n = meant(n)
	out := &yaml.Node{Kind: n.Kind, Tag: n.Tag, Value: n.Value, Style: n.Style}
	if depth < deepest {
		for _, c := range n.Content {
			out.Content = append(out.Content, itself(c, depth+1))
		}
	}
	return out
}

// ReadGuest reads a machine that another job told of. Its text is not trusted: it may name no
// file and no log, and must be short. From says in errors where it came from.
func ReadGuest(from string, text []byte) (Guest, error) {
	if len(text) > mostGuest {
		return Guest{}, &InputError{File: from, Found: fmt.Sprintf("found a machine of %d bytes", len(text)), Want: fmt.Sprintf("%d at most", mostGuest)}
	}
	top, err := parse(from, text)
	if err != nil {
		return Guest{}, err
	}
	if !plain(top.node, 0) {
		return Guest{}, &InputError{File: from, Found: "found an alias, or keys nested too deep", Want: "the keys of a machine"}
	}
	im := top.need("implement", "the keys of an implement")
	switch {
	case im.given() && im.node.Kind != yaml.MappingNode:
		im.fail("found a file", "the keys of an implement")
	case top.get("tracks").given():
		top.get("tracks").fail("found logs", "a machine without them")
	case top.get("logged_as").given():
		top.get("logged_as").fail("found another name", "a machine that its logs call by its own")
	}
	g := Guest{entry: itself(top.node, 0)}
	if top.page.err == nil { // then it is read as the job will read it
		top.node = g.node()
		top.node.Content = append(top.node.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: "tracks"}, &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"})
		r := reader{spec: &Spec{}}
		if m := r.machine(top); m.Implement != nil {
			g.Name, g.Machine, g.Implement = m.Name, m.Name, *m.Implement
		}
	}
	return g, top.page.err
}

// plain reports whether a node is no alias, has no anchor and no tag of its own, and is
// nested no deeper than the keys of a machine are.
func plain(n *yaml.Node, depth int) bool {
	if n.Kind == yaml.AliasNode || n.Anchor != "" || depth > deepest {
		return false
	}
	for _, c := range n.Content {
		if !plain(c, depth+1) {
			return false
		}
	}
	return true
}

// node is the guest as an entry of a job's machines. Its logs call it by its name there.
func (g *Guest) node() *yaml.Node {
	n := itself(g.entry, 0)
	if name := valueOf(n, "name"); name != nil && g.Name != "" {
		*name = yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: g.Name}
		if g.Name != g.Machine {
			n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: "logged_as"}, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: g.Machine})
		}
	}
	return n
}

// Text is the guest as [ReadGuest] takes it.
func (g *Guest) Text() ([]byte, error) { return yaml.Marshal(g.entry) }
