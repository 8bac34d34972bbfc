package edit

import (
	"bytes"
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Set gives a key a value, as it would stand in the file: a text, or a list or keys in
// brackets. What was guessed of it is not asked any more: comments that call it a
// guess go, and why stands in their place; "" leaves them as they are.
func (f *File) Set(key, value, why string) error {
	value, set, err := written(key, value)
	if err != nil {
		return err
	}
	n := f.node(key)
	if n == nil {
		return f.give(key, value, why, set)
	}
	begin, in := f.entry(key)
	if begin == nil {
		return ErrShape
	}
	if in.Kind != yaml.MappingNode || inBrackets(in) {
		return f.replace(n, value, set)
	}
	old := f.Value(key)
	was, to, err := f.extent(n)
	if err != nil {
		return err
	}
	if isNull(n) && n.Value == "" { // it may be taken to stand anywhere up to the next key
		_, was, err = f.extent(begin)
		if err != nil || was >= len(f.text) || f.text[was] != ':' {
			return ErrShape
		}
		was++
		to = was
	}
	var b bytes.Buffer
	lines := f.lines()
	from := f.lineStart(begin.Line)
	if above := f.above(begin.Line); len(above) > 0 && why != "" {
		from = f.lineStart(above[0] + 1)
	}
	b.Write(f.text[:from])
	head := f.text[f.lineStart(begin.Line):was]
	b.Write(bytes.TrimRight(head, " \t"))
	b.WriteString(" " + value)
	after := 1 + bytes.Count(f.text[:to], []byte("\n")) // the line that the value ends on
	rest := string(f.text[to:f.lineEnd(after)])
	if guessed := why != "" && (strings.Contains(rest, Guess) || strings.Contains(rest, "<- FILL IN")); !guessed {
		b.WriteString(rest)
	} else if len(strings.TrimSpace(rest)) > 0 && !isComment(rest) {
		return ErrShape
	}
	skip := 0
	if why != "" {
		for i := after; i < len(lines) && isComment(lines[i]); i++ {
			if strings.HasPrefix(note(lines[i]), Guess) {
				skip = i + 1 - after
			}
		}
		b.WriteString(f.newline() + strings.Repeat(" ", begin.Column-1) + "# " + why)
		if old != "" && old != value {
			b.WriteString(" It was " + old + ".")
		}
	}
	b.Write(f.text[f.lineEnd(after+skip):])
	return f.become(b.Bytes(), set)
}

// newline is the end of line that the file has.
func (f *File) newline() string {
	if bytes.Contains(f.text, []byte("\r\n")) {
		return "\r\n"
	}
	return "\n"
}

// replace puts a value in the place of a node.
func (f *File) replace(n *yaml.Node, value string, set func(map[string]string)) error {
	from, to, err := f.extent(n)
	if err != nil {
		return err
	}
	if isNull(n) && n.Value == "" {
		value = " " + value
	}
	return f.become(slices.Concat(f.text[:from], []byte(value), f.text[to:]), set)
}

// give adds a key that is not there.
func (f *File) give(key, value, why string, set func(map[string]string)) error {
	parent, name := "", key
	if at := strings.LastIndexByte(key, '.'); at >= 0 {
		parent, name = key[:at], key[at+1:]
	}
	in := f.node(parent)
	switch {
	case in == nil || isNull(in):
		return f.Set(parent, "{"+name+": "+value+"}", "")
	case in.Kind != yaml.MappingNode:
		return ErrShape
	case inBrackets(in):
		end := closing(f.text, f.start(in))
		if end < 0 {
			return ErrShape
		}
		comma := ", "
		if len(in.Content) == 0 {
			comma = ""
		}
		inner := bytes.TrimRight(f.text[:end-1], " \t\r\n")
		return f.become(slices.Concat(inner, []byte(comma+name+": "+value), f.text[end-1:]), set)
	}
	indent := in.Column - 1
	line := strings.Repeat(" ", indent) + name + ": " + value
	if why != "" {
		line += f.newline() + strings.Repeat(" ", indent) + "# " + why
	}
	return f.insert(f.lastLine(in, indent), line, set)
}

// insert puts lines behind a line, counted from 1.
func (f *File) insert(behind int, text string, set func(map[string]string)) error {
	at := f.lineEnd(behind)
	return f.become(slices.Concat(f.text[:at], []byte(f.newline()+text), f.text[at:]), set)
}

// written is a value as it is written into the file, and what the file then says.
func written(key, value string) (text string, set func(map[string]string), err error) {
	value = strings.TrimSpace(value)
	if !utf8.ValidString(value) || strings.ContainsFunc(value, unicode.IsControl) || strings.ContainsAny(value, "\u2028\u2029") {
		return "", nil, ErrShape
	}
	if value != "" && (value[0] == '[' || value[0] == '{') {
		if f, err := Parse([]byte("v: " + value)); err == nil && f.top.Content[1].Kind != yaml.ScalarNode && len(f.top.Content) == 2 {
			if _, end, err := f.extent(f.top.Content[1]); err == nil && end == len(f.text) {
				return value, func(values map[string]string) {
					remove(values, key)
					parents(values, key)
					for k, v := range f.flat() {
						if rest, ok := strings.CutPrefix(k, "v"); ok {
							values[key+rest] = v
						}
					}
				}, nil
			}
		}
	}
	return Quoted(value), func(values map[string]string) {
		remove(values, key)
		parents(values, key)
		values[key] = value
	}, nil
}

// parents notes the keys that a key is below.
func parents(values map[string]string, key string) {
	for {
		at := strings.LastIndexByte(key, '.')
		if at < 0 {
			return
		}
		key = key[:at]
		if _, list := values[key+"[]"]; !list {
			delete(values, key)
			values[key+"{}"] = ""
		}
	}
}

// remove takes a key and all below it out.
func remove(values map[string]string, key string) {
	for k := range values {
		if _, ok := below(k, key); ok {
			delete(values, k)
		}
	}
}

// below is the rest of a key of a flat list behind another key: "" where they are the same.
// ok is false where the first stands neither at the second nor below it.
func below(k, key string) (rest string, ok bool) {
	rest, ok = strings.CutPrefix(k, key)
	return rest, ok && (rest == "" || rest[0] == '.' || rest == "[]" || rest == "{}")
}

// Quoted writes a text as a YAML value on one line, in quotes where it needs them.
func Quoted(value string) string {
	if !strings.ContainsAny(value, "[]{},#\"'") && !strings.Contains(value, "---") {
		var doc yaml.Node
		if err := yaml.Unmarshal([]byte("v: "+value), &doc); err == nil && len(doc.Content) == 1 {
			if top := doc.Content[0]; len(top.Content) == 2 && top.Content[1].Kind == yaml.ScalarNode && !isNull(top.Content[1]) &&
				top.Content[1].Value == value && top.Content[1].Style == 0 {
				return value
			}
		}
	}
	return inQuotes(value)
}

// plainText is text that means itself in YAML without quotes, and nothing else does.
var plainText = regexp.MustCompile(`^(\.\.?/)*[A-Za-z][A-Za-z0-9_./()-]*( [A-Za-z0-9_./()-]+)*$`)

// Text writes a text as YAML, in quotes where anything else could be meant: "12" and "no"
// are the names of fields too.
func Text(s string) string {
	switch strings.ToLower(s) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n":
	default:
		if plainText.MatchString(s) {
			return s
		}
	}
	return inQuotes(s)
}

// inQuotes writes a text as a YAML string on one line.
func inQuotes(s string) string {
	quoted, err := json.Marshal(s) // YAML takes JSON's strings
	if err != nil {
		return `""`
	}
	return string(quoted)
}
