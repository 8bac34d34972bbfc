package taskdata

import (
	"fmt"
	"strconv"

	"lapwing/geo"
)

// The attributes of a position (PTN), in the order in which a record has them.
const (
	north      = iota // A, int32, 1e-7 degrees
	east              // B, int32, 1e-7 degrees
	up                // C, int32, mm
	status            // D, uint8, the numbers of GGA quality
	pdop              // E, uint16, 0.1 (scale from memory)
	hdop              // F, uint16, 0.1 (scale from memory)
	satellites        // G, uint8
	utcTime           // H, uint32, ms since midnight
	utcDate           // I, uint16, days since 1980-01-01
	positionParts
)

var positionSize = [positionParts]int{4, 4, 4, 1, 2, 2, 1, 4, 2}

// A header says what each record of a log holds: attributes that are there
// and empty. One with a value is the same for all records, one that is not
// there is nowhere.
type header struct {
	clock  bool               // records begin with the time of day and the date of the log's clock
	at     [positionParts]int // offset in a record; -1 for what it does not have
	size   int                // bytes up to the number of values
	status int                // the status of all records; -1 if there is none
	values []Values
	notes  []geo.Note
}

// clockSize is the size of a time by the log's clock: uint32 milliseconds
// since midnight and uint16 days since 1980-01-01.
const clockSize = 6

// mostValues is how many values a record can tell apart: their index is a byte.
const mostValues = 256

// timeEffective is the type of the time in the header of a log (4, from memory).
const timeEffective = "4"

func readHeader(file string, data []byte) (*header, error) {
	root, err := parse(file, data, "TIM")
	if err != nil {
		return nil, err
	}
	h := &header{status: -1}
	note := func(line int, text string) {
		h.notes = append(h.notes, geo.Note{File: file, Line: line, Count: 1, Text: text})
	}
	start, timed := root.attr("A")
	if h.clock = timed && start == ""; h.clock {
		h.size = clockSize
	} else {
		note(root.line, "records without a time by the log's clock (TIM A)")
	}
	for _, letter := range []string{"B", "C"} {
		if value, ok := root.attr(letter); ok && value == "" {
			return nil, &SyntaxError{File: file, Line: root.line, Where: "TIM", Found: letter + `=""`, Want: "records with a time (A) and no more"}
		}
	}
	if kind := root.text("D"); kind != timeEffective {
		note(root.line, fmt.Sprintf("time of type %.20q, want 4 (effective); taken as that", kind))
	}
	if err := h.readPosition(file, root); err != nil {
		return nil, err
	}
	root.each("DLV", func(v *element) {
		ddi, ok := parseDDI(v.text("A"))
		if !ok && err == nil {
			err = &SyntaxError{File: file, Line: v.line, Where: "DLV", Found: fmt.Sprintf("A=%.40q", v.text("A")), Want: "four hexadecimal digits"}
		}
		one := Values{DDI: ddi, Element: v.text("C")}
		if constant := v.text("B"); constant != "" {
			if n, wrong := strconv.ParseInt(constant, 10, 32); wrong == nil {
				one.Records, one.Raw = []int32{0}, []int32{int32(n)}
			} else {
				note(v.line, fmt.Sprintf("value %.40q is no whole number of 32 bits; left out", constant))
			}
		}
		h.values = append(h.values, one)
	})
	if len(h.values) > mostValues {
		note(root.line, fmt.Sprintf("%d values; a record can tell only %d apart", len(h.values), mostValues))
		h.values = h.values[:mostValues]
	}
	return h, err
}

func (h *header) readPosition(file string, root *element) error {
	var position *element
	root.each("PTN", func(p *element) {
		if position == nil {
			position = p
		}
	})
	if position == nil {
		return &SyntaxError{File: file, Line: root.line, Where: "TIM", Found: "no position (PTN)", Want: "positions"}
	}
	for part := range h.at {
		h.at[part] = -1
		letter := string(rune('A' + part))
		value, ok := position.attr(letter)
		switch {
		case ok && value == "":
			h.at[part] = h.size
			h.size += positionSize[part]
		case part == north || part == east:
			return &SyntaxError{File: file, Line: position.line, Where: "PTN", Found: "no " + letter + " in the records", Want: `A="" B="", north and east of each record`}
		case ok && part == status:
			n, err := strconv.ParseUint(value, 10, 8)
			if err != nil {
				return &SyntaxError{File: file, Line: position.line, Where: "PTN", Found: fmt.Sprintf("D=%.40q", value), Want: "a status from 0 to 15"}
			}
			h.status = int(n)
		}
	}
	return nil
}
