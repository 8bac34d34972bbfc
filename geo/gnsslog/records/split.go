package records

import (
	"bytes"
	"encoding/binary"
	"math/bits"
)

// MaxLine is the longest line taken for one. Lines of real logs stay under
// 10,000 bytes; past a million the file is not a text log.
const MaxLine = 1 << 20

// MaxQuoted is the longest quoted field. A quote that is not closed by then
// is taken for a slip in its line, so that it does not swallow the file.
const MaxQuoted = 64 << 10

// CutLine returns the first line of data without its end, and what follows.
func CutLine(data []byte) (line, rest []byte) {
	line, rest, _ = bytes.Cut(data, []byte("\n"))
	return TrimReturn(line), rest
}

// TrimReturn takes the carriage return off the end of a line.
func TrimReturn(line []byte) []byte {
	if n := len(line); n > 0 && line[n-1] == '\r' {
		return line[:n-1]
	}
	return line
}

// SplitPlain appends to fields the first most fields of a line without
// quotes, and returns how many the line has in all.
//
// It looks at eight bytes at a time: in w the separators are zero, and of a
// byte b (b & 0x7f) + 0x7f | b has its top bit clear just if b is zero.
func SplitPlain(fields [][]byte, line []byte, separator byte, most int) ([][]byte, int) {
	const low7 = 0x7f7f7f7f7f7f7f7f
	pattern := uint64(separator) * 0x0101010101010101
	start, at := 0, 0
	for ; at+8 <= len(line); at += 8 {
		w := binary.LittleEndian.Uint64(line[at:]) ^ pattern
		for hits := ^((w&low7 + low7) | w | low7); hits != 0; hits &= hits - 1 {
			end := at + bits.TrailingZeros64(hits)/8
			fields = append(fields, line[start:end])
			start = end + 1
			if len(fields) == most {
				return fields, most + 1 + bytes.Count(line[start:], []byte{separator})
			}
		}
	}
	for ; at < len(line); at++ {
		if line[at] != separator {
			continue
		}
		fields = append(fields, line[start:at])
		start = at + 1
		if len(fields) == most {
			return fields, most + 1 + bytes.Count(line[start:], []byte{separator})
		}
	}
	fields = append(fields, line[start:])
	return fields, len(fields)
}

// Split appends to fields those of the first record of data (RFC 4180:
// a field in quotes may hold separators, line ends and doubled quotes) and
// returns what follows the record. If the quotes make no sense, or the record is
// longer than the longest line, ok is false and rest begins at the next line.
func Split(fields [][]byte, data []byte, separator byte) (_ [][]byte, rest []byte, ok bool) {
	at := data
	for {
		var field []byte
		if len(at) > 0 && at[0] == '"' {
			if field, at, ok = quotedField(at[1:]); !ok {
				break
			}
		} else {
			end := 0
			for end < len(at) && at[end] != separator && at[end] != '\n' {
				end++
			}
			field, at = at[:end], at[end:]
			if len(at) == 0 || at[0] == '\n' {
				field = TrimReturn(field)
			}
		}
		fields = append(fields, field)
		switch {
		case len(data)-len(at) > MaxLine:
			_, rest = CutLine(data)
			return fields, rest, false
		case len(at) > 1 && at[0] == '\r' && at[1] == '\n':
			return fields, at[2:], true
		case len(at) == 0 || len(at) == 1 && at[0] == '\r':
			return fields, nil, true
		case at[0] == '\n':
			return fields, at[1:], true
		case at[0] == separator:
			at = at[1:]
		default: // something between the closing quote and the separator
			_, rest = CutLine(data)
			return fields, rest, false
		}
	}
	_, rest = CutLine(data)
	return fields, rest, false
}

// quotedField reads a field up to its closing quote; text begins after the
// opening one. Within it \r\n is \n, as in encoding/csv.
func quotedField(text []byte) (field, rest []byte, ok bool) {
	var mended []byte // the field so far, if quotes in it were doubled
	for at := 0; ; {
		end := bytes.IndexByte(text[at:min(len(text), MaxQuoted)], '"')
		if end < 0 {
			return nil, nil, false
		}
		end += at
		if end+1 < len(text) && text[end+1] == '"' {
			mended = append(mended, text[at:end+1]...)
			at = end + 2
			if at >= MaxQuoted {
				return nil, nil, false
			}
			continue
		}
		field = text[at:end]
		if mended != nil {
			field = append(mended, field...)
		}
		return bytes.ReplaceAll(field, []byte("\r\n"), []byte("\n")), text[end+1:], true
	}
}
