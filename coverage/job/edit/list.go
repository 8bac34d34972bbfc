package edit

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
)

// Add puts an item behind those of the list at a key, as one line of YAML: a value, or
// keys in brackets. A list that is not there begins with it. note, unless "", is a
// comment below.
func (f *File) Add(key, item, note string) error {
	count := f.Len(key)
	at := key + "." + strconv.Itoa(count)
	item, set, err := written(at, item)
	if err != nil {
		return err
	}
	wanted := func(values map[string]string) {
		if v, single := values[key]; single && count > 0 {
			values[key+".0"] = v
		}
		delete(values, key)
		values[key+"[]"] = strconv.Itoa(count + 1)
		set(values)
	}
	n := f.node(key)
	switch {
	case n == nil && strings.Contains(key, ".") || n != nil && isNull(n):
		return ErrShape
	case n == nil:
		nl := f.newline()
		text := bytes.TrimRight(f.text, " \t\r\n")
		return f.become(slices.Concat(text, []byte(nl+nl+key+":"+nl+"  - "+item+nl)), wanted)
	case n.Kind == yaml.ScalarNode:
		from, to, err := f.extent(n)
		if err != nil {
			return err
		}
		return f.become(slices.Concat(f.text[:from], []byte("["), f.text[from:to], []byte(", "+item+"]"), f.text[to:]), wanted)
	case n.Kind != yaml.SequenceNode:
		return ErrShape
	case inBrackets(n):
		_, end, err := f.extent(n)
		if err != nil {
			return err
		}
		comma := ", "
		if count == 0 {
			comma = ""
		}
		return f.become(slices.Concat(bytes.TrimRight(f.text[:end-1], " \t\r\n,"), []byte(comma+item), f.text[end-1:]), wanted)
	}
	indent := n.Column - 1
	text := strings.Repeat(" ", indent) + "- " + item
	if note != "" {
		text += f.newline() + strings.Repeat(" ", indent+2) + "# " + note
	}
	return f.insert(f.lastLine(n, indent), text, wanted)
}

// AddLines puts an item of several lines behind those of a list whose items have lines
// of their own. The first line begins with "- ", the rest stand two to the right of it.
func (f *File) AddLines(key string, lines []string) error {
	n := f.node(key)
	if n == nil || n.Kind != yaml.SequenceNode || inBrackets(n) {
		return ErrShape
	}
	indent := strings.Repeat(" ", n.Column-1)
	text := indent + strings.Join(lines, f.newline()+indent)
	alone, err := Parse([]byte("v:\n" + strings.Join(lines, "\n") + "\n"))
	if err != nil || alone.Len("v") != 1 {
		return ErrShape
	}
	count := strconv.Itoa(len(n.Content))
	return f.insert(f.lastLine(n, n.Column-1), text, func(values map[string]string) {
		values[key+"[]"] = strconv.Itoa(len(n.Content) + 1)
		for k, v := range alone.flat() {
			if rest, ok := strings.CutPrefix(k, "v.0"); ok {
				values[key+"."+count+rest] = v
			}
		}
	})
}

// Remove takes an item of a list out, or a key.
func (f *File) Remove(key string) error {
	n := f.node(key)
	begin, in := f.entry(key)
	if n == nil || begin == nil || in.Kind != yaml.SequenceNode && in.Kind != yaml.MappingNode {
		return ErrShape
	}
	wanted := func(values map[string]string) {
		remove(values, key)
		cut := strings.LastIndexByte(key, '.')
		if in.Kind == yaml.MappingNode || cut < 0 {
			return
		}
		list := key[:cut]
		gone, _ := strconv.Atoi(key[cut+1:])
		values[list+"[]"] = strconv.Itoa(len(in.Content) - 1)
		for i := gone + 1; i < len(in.Content); i++ {
			from, to := list+"."+strconv.Itoa(i), list+"."+strconv.Itoa(i-1)
			for k, v := range values {
				if rest, ok := below(k, from); ok {
					delete(values, k)
					values[to+rest] = v
				}
			}
		}
	}
	if inBrackets(in) {
		return f.cut(begin, n, in, wanted)
	}
	indent := in.Column - 1
	first, last := begin.Line, f.lastLine(n, indent+1)
	from, to := f.lineStart(first), f.lineEnd(last)
	if strings.TrimSpace(strings.TrimLeft(string(f.text[from:f.start(begin)]), " -")) != "" {
		return ErrShape
	}
	if in.Kind == yaml.MappingNode && strings.Contains(string(f.text[from:f.start(begin)]), "-") {
		return ErrShape // the first key of an item
	}
	if to < len(f.text) && f.text[to] == '\r' {
		to++
	}
	if to < len(f.text) {
		to++
	}
	return f.become(slices.Concat(f.text[:from], f.text[to:]), wanted)
}

// cut takes an entry out of brackets, with one comma.
func (f *File) cut(begin, n, in *yaml.Node, wanted func(map[string]string)) error {
	from := f.start(begin)
	_, to, err := f.extent(n)
	if err != nil {
		return err
	}
	rest := bytes.TrimLeft(f.text[to:], " \t\r\n")
	switch {
	case bytes.HasPrefix(rest, []byte(",")):
		to = len(f.text) - len(bytes.TrimLeft(rest[1:], " \t\r\n"))
	case len(in.Content) > 1:
		before := bytes.TrimRight(f.text[:from], " \t\r\n")
		if !bytes.HasSuffix(before, []byte(",")) {
			return ErrShape
		}
		from = len(before) - 1
	}
	return f.become(slices.Concat(f.text[:from], f.text[to:]), wanted)
}
