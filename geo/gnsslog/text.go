package gnsslog

import (
	"bytes"
	"encoding/binary"
	"unicode/utf16"
)

// maxLine is the longest line taken for one. Lines of real logs stay under
// 10,000 bytes; past a million the file is not a text log.
const maxLine = 1 << 20

// Text returns the text of a log as UTF-8 without a byte-order mark, with lines
// that end in "\n" or "\r\n". It may change data in place.
func Text(data []byte) []byte { return asLines(asUTF8(data)) }

// asUTF8 takes a byte-order mark off and turns UTF-16, which needs one to be
// known, into UTF-8.
func asUTF8(data []byte) []byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		return data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
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

// asLines makes the lone carriage returns that end lines in some old logs
// into newlines. It changes data in place.
func asLines(data []byte) []byte {
	if bytes.IndexByte(data, '\n') >= 0 || bytes.IndexByte(data, '\r') < 0 {
		return data
	}
	for i, c := range data {
		if c == '\r' {
			data[i] = '\n'
		}
	}
	return data
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
