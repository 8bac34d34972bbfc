package projection

import (
	"fmt"
	"strconv"
	"strings"

	"lapwing/geo"
)

// The longest text of a coordinate system that is read, and the deepest nesting
// in it. A compound system with all its usages and identifiers takes 10,000
// characters and nine levels.
const (
	maxText  = 64 << 10
	maxDepth = 16
)

// A node is one keyword of well-known text with what its brackets hold, sorted
// by kind; only among their own kind does the order tell anything.
type node struct {
	word    string // in upper case
	texts   []string
	numbers []float64
	nodes   []*node
}

// child returns the first node within n whose keyword is one of words.
func (n *node) child(words ...string) *node {
	for _, c := range n.nodes {
		for _, w := range words {
			if c.word == w {
				return c
			}
		}
	}
	return nil
}

// text returns the first quoted text of n, which is mostly its name; "" where n
// is nil.
func (n *node) text() string {
	if n == nil || len(n.texts) == 0 {
		return ""
	}
	return n.texts[0]
}

// A reader takes well-known text apart (ISO 19162, 6: BNF of the characters,
// and OGC 01-009, 7).
type reader struct {
	text string
	at   int
}

// readNodes reads the text of a coordinate system: one node, or, as ESRI writes
// a system with heights, several with commas between.
func readNodes(text string) (*node, error) {
	if len(text) > maxText {
		return nil, &geo.Fault{Found: fmt.Sprintf("%d characters of a coordinate system", len(text)), Want: fmt.Sprintf("at most %d", maxText)}
	}
	r := reader{text: strings.TrimPrefix(text, "\ufeff")}
	first, err := r.node(0)
	if err != nil {
		return nil, err
	}
	for r.skip(); r.peek() == ','; r.skip() {
		r.at++
		if _, err := r.node(0); err != nil {
			return nil, err
		}
	}
	if r.at < len(r.text) {
		return nil, r.fault("the end")
	}
	return first, nil
}

// skip passes white space, and the zero bytes and end-of-file marks that old
// programs leave at the end of a file.
func (r *reader) skip() {
	for r.at < len(r.text) && strings.IndexByte(" \t\r\n\v\f\x00\x1a", r.text[r.at]) >= 0 {
		r.at++
	}
}

// peek returns the next byte, 0 at the end.
func (r *reader) peek() byte {
	if r.at == len(r.text) {
		return 0
	}
	return r.text[r.at]
}

func (r *reader) fault(want string) error {
	found := "the end"
	if r.at < len(r.text) {
		found = fmt.Sprintf("%.20q", r.text[r.at:])
	}
	return &geo.Fault{Where: fmt.Sprintf("character %d", r.at+1), Found: found, Want: want}
}

func isLetter(b byte) bool { return b >= 'A' && b <= 'Z' || b >= 'a' && b <= 'z' || b == '_' }

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// node reads a keyword, and its brackets where it has some: [ ] or ( ).
func (r *reader) node(depth int) (*node, error) {
	r.skip()
	start := r.at
	for isLetter(r.peek()) || r.at > start && isDigit(r.peek()) {
		r.at++
	}
	if r.at == start {
		return nil, r.fault("a keyword such as PROJCS")
	}
	n := &node{word: strings.ToUpper(r.text[start:r.at])}
	r.skip()
	closing := map[byte]byte{'[': ']', '(': ')'}[r.peek()]
	switch {
	case closing == 0 && depth == 0:
		return nil, r.fault("a bracket")
	case closing == 0:
		return n, nil // a word by itself, such as the direction of an axis
	case depth == maxDepth:
		return nil, r.fault(fmt.Sprintf("brackets nested at most %d deep", maxDepth))
	}
	for {
		r.at++
		if err := r.value(n, depth); err != nil {
			return nil, err
		}
		r.skip()
		switch r.peek() {
		case ',':
		case closing:
			r.at++
			return n, nil
		default:
			return nil, r.fault(fmt.Sprintf("a comma or %c", closing))
		}
	}
}

// value reads what stands between two commas and adds it to n.
func (r *reader) value(n *node, depth int) error {
	r.skip()
	switch b := r.peek(); {
	case b == '"' || strings.HasPrefix(r.text[r.at:], "\u201c"):
		s, err := r.quoted()
		n.texts = append(n.texts, s)
		return err
	case isDigit(b) || b == '-' || b == '+' || b == '.':
		start := r.at
		for b := r.peek(); isDigit(b) || b == '-' || b == '+' || b == '.' || b == 'e' || b == 'E'; b = r.peek() {
			r.at++
		}
		v, err := strconv.ParseFloat(r.text[start:r.at], 64)
		if err != nil {
			r.at = start
			return r.fault("a number")
		}
		n.numbers = append(n.numbers, v)
		return nil
	}
	c, err := r.node(depth + 1)
	n.nodes = append(n.nodes, c)
	return err
}

// quoted reads a text in quotes, straight ones or, as ISO 19162 also has them,
// curly. Two straight ones within stand for one.
func (r *reader) quoted() (string, error) {
	start, closing := r.at, `"`
	if r.peek() != '"' {
		closing = "\u201d"
		r.at += len("\u201c")
	} else {
		r.at++
	}
	var s strings.Builder
	for {
		part, rest, ok := strings.Cut(r.text[r.at:], closing)
		if !ok {
			r.at = start
			return "", r.fault("the quotes closed")
		}
		s.WriteString(part)
		r.at = len(r.text) - len(rest)
		if closing != `"` || !strings.HasPrefix(rest, `"`) {
			return s.String(), nil
		}
		s.WriteByte('"')
		r.at++
	}
}
