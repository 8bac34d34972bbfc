package gnsslog

import (
	"bytes"
	"encoding/binary"
	"io"
	"unicode/utf16"

	"golang.org/x/text/encoding/unicode"
)

// maxLine is the longest line taken for one. Lines of real logs stay under
// 10,000 bytes; past a million the file is not a text log.
const maxLine = 1 << 20

// A Text is the text of a log: UTF-8 without a byte-order mark, with lines that
// end in "\n" or "\r\n". A reader takes it as it comes and keeps no more of it
// than a piece; what only the end of a text tells may need a second look.
type Text struct {
	// Open returns the text from its start. An error of it, or of what it
	// returns, is what the reader of the log fails with.
	Open func() (io.Reader, error)
	// Settle says that the text is a log as the reader takes it and that Open will
	// not be called again, so that what comes only once need not be kept. nil:
	// nobody wants to know.
	Settle func()
	// Size is about how many bytes there are; 0 where nobody knows.
	Size int64
}

// TextOf is a text in memory.
func TextOf(data []byte) Text {
	return Text{Open: func() (io.Reader, error) { return bytes.NewReader(data), nil }, Size: int64(len(data))}
}

func (t *Text) settle() {
	if t.Settle != nil {
		t.Settle()
	}
}

// AsText makes the text of a log of what a file holds. It may change data in
// place.
func AsText(data []byte) []byte { return asLines(asUTF8(data)) }

// TextFrom makes the text of a log of a file that is read from r and begins with
// start: what AsText does, as it comes. How lines end is told from the start.
func TextFrom(start []byte, r io.Reader) (io.Reader, error) {
	switch {
	case bytes.HasPrefix(start, []byte(mark)):
		if _, err := io.CopyN(io.Discard, r, int64(len(mark))); err != nil {
			return nil, err
		}
	case bytes.HasPrefix(start, []byte(markLittle)), bytes.HasPrefix(start, []byte(markBig)):
		r = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(r)
		start = asUTF8(start)
	}
	if oldLines(start) {
		r = returns{r}
	}
	return r, nil
}

// The byte-order mark as UTF-8 and as UTF-16 in both orders.
const (
	mark       = "\xef\xbb\xbf"
	markLittle = "\xff\xfe"
	markBig    = "\xfe\xff"
)

// asUTF8 takes a byte-order mark off and turns UTF-16, which needs one to be
// known, into UTF-8.
func asUTF8(data []byte) []byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(data, []byte(mark)):
		return data[len(mark):]
	case bytes.HasPrefix(data, []byte(markLittle)):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte(markBig)):
		order = binary.BigEndian
	default:
		return data
	}
	units := make([]uint16, 0, len(data)/2)
	for at := 2; at+1 < len(data); at += 2 {
		units = append(units, order.Uint16(data[at:]))
	}
	return []byte(string(utf16.Decode(units)))
}

// oldLines reports whether the lines of a text end in lone carriage returns.
func oldLines(text []byte) bool {
	return bytes.IndexByte(text, '\n') < 0 && bytes.IndexByte(text, '\r') >= 0
}

// asLines makes the lone carriage returns that end lines in some old logs
// into newlines. It changes data in place.
func asLines(data []byte) []byte {
	if oldLines(data) {
		endLines(data)
	}
	return data
}

func endLines(data []byte) {
	for i, c := range data {
		if c == '\r' {
			data[i] = '\n'
		}
	}
}

// returns reads a text whose lines end in carriage returns.
type returns struct{ from io.Reader }

func (r returns) Read(p []byte) (int, error) {
	n, err := r.from.Read(p)
	endLines(p[:n])
	return n, err
}

// IsNMEA reports whether one of the first lines of a text is a sentence. A log
// may begin in the middle of one, or with comments. What a receiver mixes with
// records in binary is no text.
func IsNMEA(text []byte) bool {
	if bytes.IndexByte(text[:min(len(text), 4096)], 0) >= 0 {
		return false
	}
	for range 50 {
		line, rest, more := bytes.Cut(text, []byte("\n"))
		if isSentence(line) {
			return true
		}
		if !more {
			return false
		}
		text = rest
	}
	return false
}

// isSentence reports whether line begins like $GPGGA, or !AIVDM, or with the
// backslash of a tag block before one.
func isSentence(line []byte) bool {
	line = bytes.TrimLeft(line, " \t")
	if len(line) > 0 && line[0] == '\\' {
		_, after, found := bytes.Cut(line[1:], []byte(`\`))
		if !found {
			return false
		}
		line = after
	}
	if len(line) < 6 || line[0] != '$' && line[0] != '!' {
		return false
	}
	address, _, found := bytes.Cut(line[1:min(len(line), 16)], []byte(","))
	if !found || len(address) < 4 {
		return false
	}
	for _, c := range address {
		if (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return false
		}
	}
	return true
}
