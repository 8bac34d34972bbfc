package spec

import (
	"bytes"
	"errors"
	"path/filepath"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"lapwing/geo/source"
)

// A Crew is what comes to a job while its machines work. Paths are as seen from the
// working directory.
type Crew struct {
	Guests  []Guest             // machines that the job does not have, in the order in which they came
	Logs    map[string][]string // paths of logs, by the machine's name
	Without []string            // paths of logs that are left out where the job has them
}

// Retrack returns the job file at from as one that stands at to, with a crew's machines
// and logs. Paths in the file are written anew where the two folders differ, and the job
// means the same files as before. A log that a machine has already is not added; a
// machine without a list of logs gets one, which may be empty. The error is an
// [*InputError].
func Retrack(files source.Files, from, to string, crew Crew) ([]byte, error) {
	data, err := readFile(files, from)
	if err != nil {
		return nil, &InputError{File: from, Found: err.Error(), Want: "a job file", Reason: ErrNoJob}
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(yamlOf(data), &doc); err != nil || len(doc.Content) == 0 {
		_, err := parse(from, data)
		return nil, err
	}
	m := mover{files: files, from: dirOf(files, from), to: filepath.Dir(to)}
	top := doc.Content[0]
	m.paths(valueOf(top, "boundary"), true)
	machines := valueOf(top, "machines")
	if machines == nil || machines.Kind != yaml.SequenceNode {
		return nil, &InputError{File: from, Line: top.Line, Where: "machines", Found: "missing", Want: "a list of machines"}
	}
	for i := range crew.Guests {
		machines.Content = append(machines.Content, crew.Guests[i].node())
	}
	for _, one := range machines.Content {
		if one = meant(one); one.Kind != yaml.MappingNode {
			continue
		}
		m.paths(valueOf(one, "implement"), false)
		tracks := m.tracks(one)
		m.drop(tracks, crew.Without)
		name := valueOf(one, "name")
		if name == nil {
			continue
		}
		for _, path := range crew.Logs[strings.TrimSpace(name.Value)] {
			m.add(tracks, path)
		}
	}
	if m.err != nil {
		return nil, &InputError{File: from, Found: m.err.Error(), Want: "paths that can be written as seen from " + filepath.Dir(to)}
	}
	var out bytes.Buffer
	w := yaml.NewEncoder(&out)
	w.SetIndent(2)
	if err := errors.Join(w.Encode(&doc), w.Close()); err != nil {
		return nil, &InputError{File: from, Found: err.Error(), Want: "YAML that can be written again"}
	}
	return out.Bytes(), nil
}

// A mover writes paths that start in one folder as ones that start in another.
type mover struct {
	files    source.Files
	from, to string
	err      error
}

// valueOf is the value of a key of a mapping; nil where it has none.
func valueOf(mapping *yaml.Node, key string) *yaml.Node {
	mapping = meant(mapping)
	for i := 0; mapping.Kind == yaml.MappingNode && i+1 < len(mapping.Content); i += 2 {
		if mapping.Content[i].Value == key {
			return meant(mapping.Content[i+1])
		}
	}
	return nil
}

// paths moves a path, or a list of them, or the log of a part.
func (m *mover) paths(n *yaml.Node, mayBeWorked bool) {
	switch {
	case n == nil:
	case n.Kind == yaml.SequenceNode:
		for _, one := range n.Content {
			m.paths(meant(one), mayBeWorked)
		}
	case n.Kind == yaml.MappingNode:
		m.paths(valueOf(n, "log"), false)
	case n.Kind == yaml.ScalarNode && n.Tag == "!!null", mayBeWorked && n.Value == Worked:
	case n.Kind == yaml.ScalarNode:
		if path := n.Value; path != source.Standard && !filepath.IsAbs(path) {
			n.Value = m.seen(filepath.Join(m.from, path))
		}
	}
}

// tracks moves the logs of a machine and returns the list of them, which it makes
// where there is none. It is written on one line, so that one more log moves no
// other line.
func (m *mover) tracks(machine *yaml.Node) *yaml.Node {
	list := valueOf(machine, "tracks")
	m.paths(list, false)
	switch {
	case list == nil:
		list = &yaml.Node{Kind: yaml.SequenceNode}
		machine.Content = append(machine.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: "tracks"}, list)
	case list.Kind == yaml.ScalarNode && list.Tag == "!!null":
		*list = yaml.Node{Kind: yaml.SequenceNode}
	case list.Kind != yaml.SequenceNode:
		one := *list
		*list = yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{&one}}
	}
	list.Style |= yaml.FlowStyle
	return list
}

// isAt reports whether an entry of a list of logs is the path of that one.
func (m *mover) isAt(n *yaml.Node, path string) bool {
	at := n.Value
	if !filepath.IsAbs(at) {
		at = filepath.Join(m.to, at)
	}
	return n.Kind == yaml.ScalarNode && m.files.Abs(at) == m.files.Abs(path)
}

// drop takes logs out of a list.
func (m *mover) drop(list *yaml.Node, paths []string) {
	list.Content = slices.DeleteFunc(list.Content, func(n *yaml.Node) bool {
		return slices.ContainsFunc(paths, func(path string) bool { return m.isAt(n, path) })
	})
}

// add adds a log to a list, unless it is there.
func (m *mover) add(list *yaml.Node, path string) {
	if slices.ContainsFunc(list.Content, func(n *yaml.Node) bool { return m.isAt(n, path) }) {
		return
	}
	list.Content = append(list.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: m.seen(path)})
}

// seen is a path of the working directory as seen from the folder that is moved to.
func (m *mover) seen(path string) string {
	if filepath.IsAbs(path) && !filepath.IsAbs(m.to) {
		return path
	}
	out, err := filepath.Rel(m.to, path)
	if err != nil { // one is absolute, or leads above the working directory
		out, err = filepath.Rel(filepath.FromSlash(m.files.Abs(m.to)), filepath.FromSlash(m.files.Abs(path)))
	}
	if err != nil && m.err == nil {
		m.err = err
	}
	return out
}
