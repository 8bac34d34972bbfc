package shapefile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
)

// A Table is the .dbf beside a main file (dBASE level 5): a row for each of
// its records, in the same order.
type Table struct {
	Columns []Column
	rows    []byte
	size    int // bytes of a row
}

// A Column is one attribute.
type Column struct {
	Name     string
	kind     byte
	from, to int // in a row
}

// OpenTable looks at the header of a table; the zero Table without rows stands
// for no file. Columns that do not fit into a row are left out.
func OpenTable(data []byte) (*Table, error) {
	t := &Table{}
	if len(data) == 0 {
		return t, nil
	}
	if len(data) < 33 {
		return nil, &Fault{Where: ".dbf", Found: fmt.Sprintf("%d bytes", len(data)), Want: "a table"}
	}
	header := int(binary.LittleEndian.Uint16(data[8:]))
	t.size = int(binary.LittleEndian.Uint16(data[10:]))
	if header < 33 || header > len(data) || t.size == 0 {
		return nil, &Fault{Where: ".dbf", Found: fmt.Sprintf("a header of %d bytes, records of %d", header, t.size), Want: "a table"}
	}
	t.rows = data[header:]
	at := 1 // after the mark of deleted rows
	for list := data[32:header]; len(list) >= 32 && list[0] != '\r'; list = list[32:] {
		name, _, _ := bytes.Cut(list[:11], []byte{0})
		c := Column{Name: clean(name), kind: list[11], from: at, to: at + int(list[16])}
		if at = c.to; at <= t.size {
			t.Columns = append(t.Columns, c)
		}
	}
	return t, nil
}

// Rows returns how many whole rows there are.
func (t *Table) Rows() int {
	if t.size == 0 {
		return 0
	}
	return len(t.rows) / t.size
}

// Value returns what a row, from 0, says of a column, as text: a date as
// 2026-05-04, what is true or false as 1 or 0, and "" where it says nothing.
func (t *Table) Value(row int, c Column) string {
	if row >= t.Rows() {
		return ""
	}
	text := clean(t.rows[row*t.size+c.from : row*t.size+c.to])
	switch c.kind {
	case 'D':
		if len(text) == 8 && strings.Trim(text, "0123456789") == "" {
			return text[:4] + "-" + text[4:6] + "-" + text[6:]
		}
	case 'L':
		switch text {
		case "T", "t", "Y", "y":
			return "1"
		case "F", "f", "N", "n":
			return "0"
		}
		return ""
	case 'N', 'F':
		if strings.Trim(text, "*") == "" { // a number too long for its column
			return ""
		}
	}
	return text
}

// clean takes off what fills a value up.
func clean(b []byte) string {
	return strings.TrimSpace(strings.Trim(strings.ToValidUTF8(string(b), "?"), "\x00 "))
}
