package gnsslog

import (
	"bytes"
	"fmt"
	"math"
	"runtime"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/parallel"
)

// ReadCSV reads a table with a header. Lines are independent of each other,
// so a large file without quotes is cut at line ends into as many parts as
// there are processors.
func ReadCSV(name string, data []byte, opt Options) (*Log, error) {
	names, separator, line, body, err := header(name, data)
	if err != nil {
		return nil, err
	}
	p, err := planColumns(name, line, separator, names, opt)
	if err != nil {
		return nil, err
	}
	line = 1 + bytes.Count(data[:len(data)-len(body)], []byte("\n"))
	log, t, records := readTable(p, body, line, opt)
	if len(log.Fixes) == 0 && t[noTime].count > 0 { // the time column is there, but empty
		p.at[roleTime], p.at[roleDate] = -1, -1
		log, t, records = readTable(p, body, line, opt)
	}
	if err := t.verdict(name, len(log.Fixes), records); err != nil {
		return nil, err
	}
	log.Format = "CSV"
	log.NoClock = !p.has(roleTime)
	log.Understood = p.understood
	log.Notes = append(p.notes, t.notes()...)
	return log, nil
}

// readTable reads the lines below the header, the first of which is line.
func readTable(p *plan, body []byte, line int, opt Options) (*Log, *troubles, int) {
	var t troubles
	dayFirst := p.dayFirst(body, line, &t)
	parts := p.cut(body, line, opt)
	parallel.Each(len(parts), func(i int) {
		parts[i].clock.dayFirst = dayFirst
		parts[i].read()
	})

	log := &Log{}
	log.Fixes, log.Lines = parts[0].fixes, parts[0].lines
	for _, part := range parts[1:] {
		log.Fixes = append(log.Fixes, part.fixes...)
		log.Lines = append(log.Lines, part.lines...)
	}
	log.Columns = joinColumns(p, parts)
	records := 0
	for _, part := range parts {
		t.join(&part.troubles)
		records += part.records
		log.Zoneless += part.zoneless
	}
	return log, &t, records
}

// A part is a stretch of whole lines and what was read from it.
type part struct {
	*plan
	data     []byte
	line     int // of the first byte of data
	clock    clock
	quotes   bool
	fields   [][]byte
	joined   []byte // date and time, put together
	records  int
	zoneless int
	fixes    []geo.Fix
	lines    []int32
	columns  []interner
	troubles troubles
}

const (
	// shortest is the fewest bytes of a line for which room is made ahead; a
	// file of mere line ends would else claim fifty times its size.
	shortest = 8
	// smallest is the least part worth a goroutine.
	smallest = 256 << 10
)

// cut divides body into parts. Room for the fixes of all parts is made in one
// piece, each part having as much as it has lines: so joining them only moves
// fixes down over the room that skipped lines left.
func (p *plan) cut(body []byte, line int, opt Options) []*part {
	quotes := bytes.IndexByte(body, '"') >= 0
	total := bytes.Count(body, []byte("\n")) + 1
	roomy := total <= len(body)/shortest+1
	count := 1
	if roomy && !quotes {
		count = max(1, min(runtime.GOMAXPROCS(0), len(body)/smallest))
	}
	if !roomy {
		total = 0
	}
	fixes := make([]geo.Fix, total)
	lines := make([]int32, total)
	codes := make([][]uint32, len(p.keep))
	for i := range codes {
		codes[i] = make([]uint32, total)
	}
	zone := opt.zone()
	if p.timeIsUTC {
		zone = time.UTC
	}
	var parts []*part
	for first := 0; len(parts) < count; {
		data := body
		if left := count - len(parts); left > 1 {
			at := len(body) / left
			if end := bytes.IndexByte(body[at:], '\n'); end >= 0 {
				data = body[:at+end+1]
			}
		}
		body = body[len(data):]
		part := &part{plan: p, data: data, line: line, quotes: quotes, clock: clock{zone: zone}}
		part.fixes, part.lines = fixes[first:first], lines[first:first]
		for i := range p.keep {
			part.columns = append(part.columns, interner{codes: codes[i][first:first]})
		}
		parts = append(parts, part)
		step := bytes.Count(data, []byte("\n"))
		line += step
		if roomy {
			first += step
		}
	}
	return parts
}

// dayFirst tells the order of dates such as 4/5/2026 in the file.
func (p *plan) dayFirst(body []byte, line int, t *troubles) bool {
	order := dateOrder{column: p.dateColumn()}
	var fields [][]byte
	for len(body) > 0 && order.column >= 0 && !order.decided {
		var rest []byte
		fields, rest, _ = splitRecord(fields[:0], body, p.separator)
		if order.column < len(fields) {
			order.see(fields[order.column], line)
		}
		line += bytes.Count(body[:len(body)-len(rest)], []byte("\n"))
		body = rest
	}
	return order.dayFirst(p, t)
}

// read reads all lines of the part.
func (part *part) read() {
	data, line := part.data, part.line
	for len(data) > 0 {
		end := bytes.IndexByte(data, '\n')
		next := end + 1
		if end < 0 {
			end, next = len(data), len(data)
		}
		row := trimReturn(data[:end])
		switch {
		case len(row) == 0:
		case len(row) > maxLine:
			part.records++
			part.troubles.add(badLine, line, "", row, "a line of less than a million bytes")
		case part.quotes && bytes.IndexByte(row, '"') >= 0:
			next = part.readQuoted(data, line)
		default:
			part.records++
			var total int
			part.fields, total = splitPlain(part.fields[:0], row, part.separator, part.last+1)
			part.row(part.fields, total, row, line)
		}
		line++
		if part.quotes && next > end+1 {
			line += bytes.Count(data[end+1:next], []byte("\n"))
		}
		data = data[next:]
	}
}

// readQuoted reads a record with quotes in it, which may go on over line
// ends, and returns its length.
func (part *part) readQuoted(data []byte, line int) int {
	part.records++
	fields, rest, ok := splitRecord(part.fields[:0], data, part.separator)
	part.fields = fields
	row, _ := cutLine(data)
	if !ok {
		part.troubles.add(badLine, line, "", row, "quotes in pairs")
	} else {
		part.row(fields, len(fields), row, line)
	}
	return len(data) - len(rest)
}

// row makes a fix of one line. total counts all its fields, of which fields
// may hold the first ones only.
func (part *part) row(fields [][]byte, total int, row []byte, line int) {
	if total > len(part.names) && !emptyTail(row, part.separator, total-len(part.names)) {
		if !part.troubles.seen(badFields) {
			part.troubles.first(badFields, line, "", fmt.Sprintf("found %d fields", total),
				fmt.Sprintf("%d as in the header", len(part.names)))
		}
		return
	}
	field := func(r role) []byte {
		at := part.at[r]
		if at < 0 || at >= len(fields) {
			return nil
		}
		return trimBlanks(fields[at])
	}
	fix := geo.Fix{Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}
	if !part.place(&fix, field(roleLat), field(roleLon), line) ||
		part.has(roleQuality) && !part.quality(&fix, field(roleQuality), line) ||
		part.has(roleTime) && !part.time(&fix, field(roleTime), field(roleDate), line) {
		return
	}
	if part.has(roleSpeed) {
		part.speed(&fix, field(roleSpeed), line)
	}
	if part.has(roleHeading) {
		part.heading(&fix, field(roleHeading), line)
	}
	part.fixes = append(part.fixes, fix)
	part.lines = append(part.lines, int32(line))
	for i, at := range part.keep {
		var value []byte
		if at < len(fields) {
			value = trimBlanks(fields[at])
		}
		part.columns[i].add(value)
	}
}

// emptyTail reports whether the last n fields of a line are empty.
func emptyTail(row []byte, separator byte, n int) bool {
	for ; n > 0 && len(row) > 0; n-- {
		if row[len(row)-1] != separator {
			return false
		}
		row = row[:len(row)-1]
	}
	return true
}

func trimBlanks(text []byte) []byte {
	if len(text) > 0 && (text[0] == ' ' || text[len(text)-1] == ' ') {
		return bytes.Trim(text, " ")
	}
	return text
}

// joinColumns puts the kept columns of all parts together.
func joinColumns(p *plan, parts []*part) []Column {
	var columns []Column
	for i, at := range p.keep {
		whole := &parts[0].columns[i]
		for _, part := range parts[1:] {
			whole.join(&part.columns[i])
		}
		columns = append(columns, Column{Name: p.names[at], Distinct: slices.Clip(whole.distinct), Codes: whole.codes})
	}
	return columns
}
