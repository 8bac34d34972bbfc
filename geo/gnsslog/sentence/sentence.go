// Package sentence finds the sentences of NMEA 0183 in a text: a log may begin amid one,
// hold comments, noise of a serial line, or records in binary between them.
package sentence

import (
	"bytes"
	"iter"

	"github.com/adrianmo/go-nmea"
)

// Among reports whether one of the first lines of a text is a sentence. A log
// may begin in the middle of one, or with comments. Amid noise, or records in
// binary, a sentence must have the right checksum.
func Among(text []byte) bool {
	if IsNoise(text[:min(len(text), 4096)]) {
		for s := range In(bytes.ReplaceAll(text, []byte{0}, nil)) {
			if body, sum, found := bytes.Cut(s[1:], []byte("*")); found && Is(s) && string(bytes.ToUpper(sum)) == nmea.Checksum(string(body)) {
				return true
			}
		}
		return false
	}
	for range 50 {
		line, rest, more := bytes.Cut(text, []byte("\n"))
		if Is(line) {
			return true
		}
		if !more {
			return false
		}
		text = rest
	}
	return false
}

// IsNoise reports whether there are bytes in a text that no sentence has, but for
// those between lines.
func IsNoise(text []byte) bool {
	for _, c := range text {
		if c < ' ' && c != '\t' && c != '\r' && c != '\n' || c >= 0x7f {
			return true
		}
	}
	return false
}

// In are the pieces of a text that may be sentences: each from its start
// up to the next one's, the end of the line, or its checksum.
func In(text []byte) iter.Seq[[]byte] {
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

// Is reports whether line begins like $GPGGA, or !AIVDM, or with the
// backslash of a tag block before one.
func Is(line []byte) bool {
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

// TypeOf is the RMC of $GPRMC; for a proprietary sentence the whole
// address.
func TypeOf(text []byte) string {
	text = text[bytes.LastIndexAny(text[:bytes.IndexByte(text, ',')], "$!")+1:]
	address, _, _ := bytes.Cut(text, []byte(","))
	if len(address) == 5 && address[0] != 'P' {
		address = address[2:]
	}
	return string(address)
}
