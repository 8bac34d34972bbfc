package boundary

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
)

// dbfNames are the columns that may hold a field's name, the best first.
var dbfNames = []string{"NAME", "FIELD", "FIELD_NAME", "ID"}

// readDBF returns the names in the table beside a shapefile (dBASE level 5),
// one a record; nothing if there is no table or no column that could be one.
func (d *draft) readDBF() ([]string, error) {
	data, err := d.sibling(".dbf")
	if err != nil || len(data) == 0 {
		return nil, err
	}
	if len(data) < 33 {
		return nil, d.fault(0, ".dbf", fmt.Sprintf("%d bytes", len(data)), "a table")
	}
	header := int(binary.LittleEndian.Uint16(data[8:]))
	size := int(binary.LittleEndian.Uint16(data[10:]))
	if header < 33 || header > len(data) || size == 0 {
		return nil, d.fault(0, ".dbf", fmt.Sprintf("a header of %d bytes, records of %d", header, size), "a table")
	}
	from, to := nameColumn(data[32:header], size)
	if to == 0 {
		return nil, nil
	}
	var names []string
	for rest := data[header:]; len(rest) >= size; rest = rest[size:] {
		names = append(names, strings.TrimSpace(strings.ToValidUTF8(string(rest[from:to]), "?")))
	}
	return names, nil
}

// nameColumn returns where in a record of the size given the best column
// lies; 0, 0 if there is none.
func nameColumn(columns []byte, size int) (from, to int) {
	best := len(dbfNames)
	at := 1 // after the mark of deleted records
	for ; len(columns) >= 32 && columns[0] != '\r'; columns = columns[32:] {
		name, _, _ := bytes.Cut(columns[:11], []byte{0})
		end := at + int(columns[16])
		for i, want := range dbfNames[:best] {
			if strings.EqualFold(string(name), want) && end <= size {
				best, from, to = i, at, end
				break
			}
		}
		at = end
	}
	return from, to
}
