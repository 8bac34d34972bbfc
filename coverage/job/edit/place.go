package edit

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// lines are the lines of the text, without their ends.
func (f *File) lines() []string {
	lines := strings.Split(string(f.text), "\n")
	for i := range lines {
		lines[i] = strings.TrimSuffix(lines[i], "\r")
	}
	return lines
}

// lineStart and lineEnd are where a line, counted from 1, begins, and where it ends
// before its end of line.
func (f *File) lineStart(line int) int {
	at := 0
	for ; line > 1; line-- {
		next := bytes.IndexByte(f.text[at:], '\n')
		if next < 0 {
			return len(f.text)
		}
		at += next + 1
	}
	return at
}

func (f *File) lineEnd(line int) int {
	at := f.lineStart(line)
	end := bytes.IndexByte(f.text[at:], '\n')
	if end < 0 {
		return len(f.text)
	}
	return at + len(bytes.TrimSuffix(f.text[at:at+end], []byte("\r")))
}

// start is where a node begins in the text. Columns are counted in characters; a
// byte-order mark is none.
func (f *File) start(n *yaml.Node) int {
	at := f.lineStart(n.Line)
	if n.Line == 1 {
		at += len(f.text[at:]) - len(bytes.TrimPrefix(f.text[at:], []byte("\xef\xbb\xbf")))
	}
	for range n.Column - 1 {
		_, size := utf8.DecodeRune(f.text[at:])
		at += size
	}
	return min(at, len(f.text))
}

// extent is where a node that stands on one line begins and ends, or a list or keys in
// brackets.
func (f *File) extent(n *yaml.Node) (from, to int, err error) {
	from = f.start(n)
	if n.Anchor != "" || n.Kind == yaml.AliasNode || n.Style&yaml.TaggedStyle != 0 || from >= len(f.text) && !isNull(n) {
		return 0, 0, ErrShape
	}
	switch {
	case n.Kind == yaml.ScalarNode && n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return 0, 0, ErrShape
	case isNull(n) && n.Value == "":
		return from, from, nil
	case n.Kind == yaml.ScalarNode && n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) == 0:
		to = from + len(n.Value) // a plain value is as it stands, unless it goes over lines
		if to > len(f.text) || string(f.text[from:to]) != n.Value {
			return 0, 0, ErrShape
		}
		return from, to, nil
	}
	to = closing(f.text, from)
	if to < 0 {
		return 0, 0, ErrShape
	}
	return from, to, nil
}

// closing is where what begins with a quote or a bracket at a place ends; -1 where it
// begins with none, or never ends.
func closing(text []byte, at int) int {
	depth := 0
	for at < len(text) {
		switch c := text[at]; c {
		case '"':
			for at++; at < len(text) && text[at] != '"'; at++ {
				if text[at] == '\\' {
					at++
				}
			}
		case '\'':
			for at++; at < len(text); at++ {
				if text[at] == '\'' && (at+1 >= len(text) || text[at+1] != '\'') {
					break
				} else if text[at] == '\'' {
					at++
				}
			}
		case '[', '{':
			depth++
		case ']', '}':
			depth--
		case '#':
			if end := bytes.IndexByte(text[at:], '\n'); end >= 0 && at > 0 && (text[at-1] == ' ' || text[at-1] == '\t') {
				at += end
			}
		default:
			if depth == 0 {
				return -1
			}
		}
		if at++; depth == 0 {
			return min(at, len(text))
		}
	}
	return -1
}

// entry is the node that begins the entry of a key, its name or the item itself, and
// what it is in.
func (f *File) entry(key string) (begin, in *yaml.Node) {
	in, last := f.top, key
	if at := strings.LastIndexByte(key, '.'); at >= 0 {
		in, last = f.node(key[:at]), key[at+1:]
	}
	if in == nil {
		return nil, nil
	}
	v := child(in, last)
	if v == nil {
		return nil, in
	}
	if in.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(in.Content); i += 2 {
			if in.Content[i+1] == v {
				return in.Content[i], in
			}
		}
	}
	return v, in
}

// inBrackets reports whether the entries of a node stand in brackets.
func inBrackets(n *yaml.Node) bool { return n.Style&yaml.FlowStyle != 0 }

// lastLine is the last line, from 1, of a node that stands in lines of its own: up to
// what comes after it, without the blank lines and the comments of that.
func (f *File) lastLine(n *yaml.Node, indent int) int {
	own := 0 // the last line on which a part of it begins
	var inside func(m *yaml.Node)
	inside = func(m *yaml.Node) {
		own = max(own, m.Line)
		for _, c := range m.Content {
			inside(c)
		}
	}
	inside(n)
	lines := f.lines()
	next := len(lines) + 1
	var all func(m *yaml.Node)
	all = func(m *yaml.Node) {
		if m.Line > own {
			next = min(next, m.Line)
		}
		for _, c := range m.Content {
			all(c)
		}
	}
	all(f.top)
	last := next - 1
	for last > own {
		line := lines[last-1]
		text := strings.TrimSpace(line)
		if text == "" || text[0] == '#' && len(line)-len(strings.TrimLeft(line, " ")) < indent {
			last--
			continue
		}
		break
	}
	// A blank line within ends what belongs to it, but for what is no comment.
	for i := own; i < last; i++ {
		if strings.TrimSpace(lines[i]) == "" {
			rest := lines[i:last]
			comments := true
			for _, l := range rest {
				comments = comments && (strings.TrimSpace(l) == "" || isComment(l))
			}
			if comments {
				return i
			}
		}
	}
	return last
}
