// Package records cuts the text of a table, as it is read, into pieces of whole records,
// and records into their fields (RFC 4180). It knows no column.
package records

import (
	"bytes"
	"errors"
	"io"
	"slices"
)

const (
	// PieceSize is how much of a text is read at a time: its fixes fit the
	// nearest caches of a processor, and handing it out costs nothing beside
	// reading it.
	PieceSize = 256 << 10
	// farthest is how far from its start the end of a record may be told: a
	// record is no longer than the longest line, and its last field may have
	// quotes that are not closed.
	farthest = MaxLine + MaxQuoted + 2
)

// A Cutter cuts a table into pieces of whole records as it is read.
type Cutter struct {
	from      io.Reader
	separator byte
	size      int    // of a piece, about
	line      int    // of the first byte not yet cut off
	rest      []byte // what was read and not yet cut off
	fields    [][]byte
	end       bool // all was read
}

// NewCutter returns a cutter of what is read from a text, into pieces of about size bytes.
func NewCutter(from io.Reader, size int) *Cutter { return &Cutter{from: from, size: size} }

// Begin says where the records begin: after the header, in a line of this number, with
// what was peeked and lies behind it.
func (c *Cutter) Begin(separator byte, line int, rest []byte) {
	c.separator, c.line, c.rest = separator, line, rest
}

// Ended reports whether all was cut off.
func (c *Cutter) Ended() bool { return c.end && len(c.rest) == 0 }

// peek returns the text not yet cut off, so much of it at least unless it ends.
func (c *Cutter) peek(least int) ([]byte, error) {
	var err error
	c.rest, err = c.fill(c.rest, least)
	return c.rest, err
}

// fill reads on until there are so many bytes in data, or the text ends.
func (c *Cutter) fill(data []byte, least int) ([]byte, error) {
	for len(data) < least && !c.end {
		if len(data) == cap(data) { // a short text takes little room
			data = slices.Grow(data, min(least-len(data), max(len(data), PieceSize/16)))
		}
		n, err := c.from.Read(data[len(data):min(least, cap(data))])
		data = data[:len(data)+n]
		switch {
		case errors.Is(err, io.EOF):
			c.end = true
		case err != nil:
			return data, err
		}
	}
	return data, nil
}

// PeekHeader returns so much of the text that its header is in it, unless the text ends.
func (c *Cutter) PeekHeader() ([]byte, error) {
	data, err := c.peek(UsualHeader)
	if err == nil && !plainHeader(data) {
		data, err = c.peek(farthest)
	}
	return data, err
}

// UsualHeader is how much text there is to find a header in, unless it is long
// or has quotes.
const UsualHeader = 16 << 10

// plainHeader reports whether a text begins with a whole line without quotes,
// and another one, should the first tell the separator.
func plainHeader(data []byte) bool {
	data = bytes.TrimLeft(data, "\r\n")
	for range 2 {
		line, rest, found := bytes.Cut(data, []byte("\n"))
		if !found || bytes.IndexByte(line, '"') >= 0 {
			return false
		}
		data = rest
	}
	return true
}

// Next cuts off the next piece and returns it with the line that it begins in.
// It is written into room, as far as it fits. There is no piece at the end.
func (c *Cutter) Next(room []byte) (piece []byte, line int, err error) {
	data := append(room[:0], c.rest...)
	c.rest = c.rest[:0]
	cut := 0
	for more := c.size; cut == 0; more = max(more, len(data)) {
		if data, err = c.fill(data, len(data)+more); err != nil {
			return nil, 0, err
		}
		if len(data) > MaxLine && bytes.IndexByte(data, '\n') < 0 {
			if data, err = c.pass(data[:MaxLine+1]); err != nil {
				return nil, 0, err
			}
		}
		if c.end {
			cut = len(data)
			break
		}
		cut = c.cut(data)
	}
	c.rest = append(c.rest, data[cut:]...)
	line = c.line
	c.line += bytes.Count(data[:cut], []byte("\n"))
	return data[:cut], line, nil
}

// pass reads on to the end of a line that is too long for one, of which only the
// beginning is kept.
func (c *Cutter) pass(line []byte) ([]byte, error) {
	more := make([]byte, 0, PieceSize)
	for !c.end {
		var err error
		if more, err = c.fill(more[:0], PieceSize); err != nil {
			return nil, err
		}
		if at := bytes.IndexByte(more, '\n'); at >= 0 {
			return append(line, more[at:]...), nil
		}
	}
	return line, nil
}

// cut returns how many bytes of a text that goes on are whole records.
func (c *Cutter) cut(data []byte) int {
	if bytes.IndexByte(data, '"') < 0 {
		return bytes.LastIndexByte(data, '\n') + 1
	}
	at := 0
	for {
		end := bytes.IndexByte(data[at:], '\n')
		if end < 0 {
			return at
		}
		if row := data[at : at+end]; len(row) > MaxLine || bytes.IndexByte(row, '"') < 0 {
			at += end + 1
			continue
		}
		fields, rest, ok := Split(c.fields[:0], data[at:], c.separator)
		c.fields = fields
		// What ends with the data may go on; and quotes that make no sense may
		// make some with what follows.
		if len(rest) == 0 || !ok && len(data)-at < farthest {
			return at
		}
		at = len(data) - len(rest)
	}
}
