// Package letters makes UTF-8 with lines that end in newlines of the text of a log as a
// file has it: with a byte-order mark, in UTF-16, or with the line ends of old computers.
package letters

import (
	"bytes"
	"encoding/binary"
	"io"
	"unicode/utf16"

	"golang.org/x/text/encoding/unicode"
)

// Of makes the text of a log of what a file holds. It may change data in
// place.
func Of(data []byte) []byte { return asLines(asUTF8(data)) }

// From makes the text of a log of a file that is read from r and begins with
// start: what Of does, as it comes. How lines end is told from the start.
func From(start []byte, r io.Reader) (io.Reader, error) {
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
