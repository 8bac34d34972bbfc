package gnsslog

import (
	"bytes"
	"encoding/binary"
	"io"
	"iter"
	"unicode/utf16"

	"github.com/adrianmo/go-nmea"
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
	// Beside finds the files that belong to the text's, by their ending (".prj"); it
	// gives nothing where there is none. nil finds none.
	Beside func(ending string) ([]byte, error)
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
	case wideOrder(start) == binary.LittleEndian:
		r = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(r)
		start = asUTF8(start)
	case wideOrder(start) == binary.BigEndian:
		r = unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(r)
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

// asUTF8 takes a byte-order mark off and turns UTF-16 into UTF-8.
func asUTF8(data []byte) []byte {
	if bytes.HasPrefix(data, []byte(mark)) {
		return data[len(mark):]
	}
	order := wideOrder(data)
	if order == nil {
		return data
	}
	if order.Uint16(data) == 0xfeff {
		data = data[2:]
	}
	units := make([]uint16, 0, len(data)/2)
	for at := 0; at+1 < len(data); at += 2 {
		units = append(units, order.Uint16(data[at:]))
	}
	return []byte(string(utf16.Decode(units)))
}

// wideOrder is the byte order of text in UTF-16; nil for other data. Without a
// byte-order mark, the letters that a log begins with must be such as one byte
// holds, with a zero before or behind each.
func wideOrder(data []byte) binary.ByteOrder {
	switch {
	case bytes.HasPrefix(data, []byte(markLittle)):
		return binary.LittleEndian
	case bytes.HasPrefix(data, []byte(markBig)):
		return binary.BigEndian
	}
	const least, looked = 8, 64
	if len(data) < least {
		return nil
	}
	zeros := [2]int{}
	n := min(len(data), looked) &^ 1
	for i, c := range data[:n] {
		if c == 0 {
			zeros[i%2]++
		}
	}
	switch {
	case zeros[0] == 0 && zeros[1] == n/2:
		return binary.LittleEndian
	case zeros[1] == 0 && zeros[0] == n/2:
		return binary.BigEndian
	}
	return nil
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
// may begin in the middle of one, or with comments. Amid noise, or records in
// binary, a sentence must have the right checksum.
func IsNMEA(text []byte) bool {
	if isNoise(text[:min(len(text), 4096)]) {
		for s := range sentencesIn(bytes.ReplaceAll(text, []byte{0}, nil)) {
			if body, sum, found := bytes.Cut(s[1:], []byte("*")); found && isSentence(s) && string(bytes.ToUpper(sum)) == nmea.Checksum(string(body)) {
				return true
			}
		}
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

// isNoise reports whether there are bytes in a text that no sentence has, but for
// those between lines.
func isNoise(text []byte) bool {
	for _, c := range text {
		if c < ' ' && c != '\t' && c != '\r' && c != '\n' || c >= 0x7f {
			return true
		}
	}
	return false
}

// sentencesIn are the pieces of a text that may be sentences: each from its start
// up to the next one's, the end of the line, or its checksum.
func sentencesIn(text []byte) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		for {
			at := bytes.IndexAny(text, "$!")
			if at < 0 {
				return
			}
			text = text[at:]
			end := len(text)
			if next := bytes.IndexAny(text[1:], "$!\r\n"); next >= 0 {
				end = 1 + next
			}
			if sum := bytes.IndexByte(text[:end], '*'); sum >= 0 && sum+3 <= end {
				end = sum + 3
			}
			if !yield(text[:end]) {
				return
			}
			text = text[end:]
		}
	}
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
