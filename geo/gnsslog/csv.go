package gnsslog

import (
	"bytes"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"time"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/records"
	"lapwing/geo/gnsslog/written"
	"lapwing/geo/large"
	"lapwing/geo/parallel"
)

// ReadCSV reads a table with a header, piece by piece on all processors: records
// are independent of each other.
func ReadCSV(name string, text Text, opt Options) (*Log, error) {
	t := table{name: name, text: text, opt: opt, pieces: records.PieceSize}
	return t.whole()
}

// A table is a CSV file being read.
type table struct {
	*plan
	troubles
	name    string
	text    Text
	opt     Options
	pieces  int // bytes of one, about
	cutter  *records.Cutter
	alone   bool // the first piece is all of the table; later pieces are cut while it is read
	log     Log
	records int
	kept    []interner // of the columns kept
}

// whole reads the header and all records.
func (t *table) whole() (*Log, error) {
	if err := t.begin(); err != nil {
		return nil, err
	}
	err := t.read()
	if err == nil && len(t.log.Fixes) == 0 && t.troubles[noTime].count > 0 { // the time column is there, but empty
		t.at[naming.Time], t.at[naming.Date] = -1, -1
		if err = t.begin(); err == nil {
			err = t.read()
		}
	}
	if err != nil {
		return nil, err
	}
	if err := t.verdict(t.name, len(t.log.Fixes), t.records); err != nil {
		return nil, err
	}
	log := &t.log
	log.Format = "CSV"
	log.Columns = columnsOf(t.plan, t.kept)
	log.NoClock = !t.has(naming.Time)
	log.Understood = t.understood
	log.Notes = append(t.plan.notes, t.troubles.notes()...)
	return log, nil
}

// begin opens the text, understands its header unless that was done before, and
// stands before the first record.
func (t *table) begin() error {
	from, err := t.text.Open()
	if err != nil {
		return err
	}
	t.cutter = records.NewCutter(from, t.pieces)
	data, err := t.cutter.PeekHeader()
	if err != nil {
		return err
	}
	names, separator, line, body, err := header(t.name, data)
	if err != nil {
		return err
	}
	if t.plan == nil {
		if t.plan, err = planColumns(t.name, line, separator, names, t.text.Beside, t.opt); err != nil {
			return err
		}
	}
	t.cutter.Begin(separator, 1+bytes.Count(data[:len(data)-len(body)], []byte("\n")), body)
	return nil
}

// A part is a piece of whole records and what was read from it.
type part struct {
	*plan
	data     []byte
	line     int // of the first byte of data
	clock    written.Clock
	quotes   bool
	fields   [][]byte
	joined   []byte // date and time, put together
	records  int
	zoneless int
	fixes    []geo.Fix
	lines    []int32
	columns  []interner
	renamed  [][]uint32 // by column: its codes in the whole table
	troubles troubles
}

// read reads all records. Each processor takes the next piece, makes fixes of
// it, and adds them when those of all pieces before are there.
func (t *table) read() error {
	t.log, t.troubles, t.records = Log{}, troubles{}, 0
	t.kept = make([]interner, len(t.keep))
	first, line, dayFirst, err := t.start()
	if err != nil {
		return err
	}
	zone := t.opt.zone()
	if t.timeIsUTC {
		zone = time.UTC
	}
	var (
		cutting sync.Mutex
		joining sync.Mutex
		turn    = sync.NewCond(&joining)
		cut     = 1 // pieces
		joined  = 0
		failed  error
	)
	next := func(room []byte) (data []byte, line, number int) {
		cutting.Lock()
		defer cutting.Unlock()
		if failed != nil {
			return nil, 0, 0
		}
		data, line, failed = t.cutter.Next(room)
		number = cut
		cut++
		return data, line, number
	}
	processors := runtime.GOMAXPROCS(0)
	if t.alone = t.cutter.Ended(); t.alone {
		processors = 1
	}
	parallel.Each(processors, func(i int) {
		part := &part{plan: t.plan, clock: written.Clock{Zone: zone, DayFirst: dayFirst},
			columns: make([]interner, len(t.keep)), renamed: make([][]uint32, len(t.keep))}
		var room []byte
		data, line, number := first, line, 0
		if i > 0 {
			data, line, number = next(room)
		}
		for len(data) > 0 {
			part.begin(data, line)
			part.read()
			joining.Lock()
			for joined != number {
				turn.Wait()
			}
			t.join(part)
			joined++
			turn.Broadcast()
			joining.Unlock()
			room = data
			data, line, number = next(room)
		}
	})
	return failed
}

// start cuts off the first piece, and tells the order of dates such as 4/5/2026
// in the file: from that piece, or, where no date there has only one reading, from
// as many as it takes; then the text is begun again.
func (t *table) start() (piece []byte, line int, dayFirst bool, err error) {
	if piece, line, err = t.cutter.Next(nil); err != nil {
		return nil, 0, false, err
	}
	t.settle(func(see func(column int, text []byte)) { t.sample(piece, see) })
	order := dateOrder{column: t.dateColumn()}
	order.seeAll(piece, line, t.separator)
	if order.column < 0 || order.decided || t.cutter.Ended() {
		return piece, line, order.dayFirst(t.plan, &t.troubles), nil
	}
	var data []byte
	for data, line = piece, 0; len(data) > 0 && !order.decided; {
		if data, line, err = t.cutter.Next(data); err != nil {
			return nil, 0, false, err
		}
		order.seeAll(data, line, t.separator)
	}
	if err = t.begin(); err == nil {
		piece, line, err = t.cutter.Next(nil)
	}
	return piece, line, order.dayFirst(t.plan, &t.troubles), err
}

// sample shows the first records of a piece, as far as they may say of time.
func (t *table) sample(piece []byte, see func(column int, text []byte)) {
	var fields [][]byte
	for n := 0; n < sampled && len(piece) > 0; n++ {
		fields, piece, _ = records.Split(fields[:0], piece, t.separator)
		for _, c := range t.clocks {
			if c.at < len(fields) {
				see(c.at, fields[c.at])
			}
		}
	}
}

// join adds what was read from the piece after those that were joined before.
func (t *table) join(part *part) {
	log := &t.log
	if log.Fixes == nil && len(part.fixes) > 0 {
		t.makeRoom(part)
		t.text.settle() // a table with a fix is not read again
	}
	log.Fixes = append(log.Fixes, part.fixes...)
	log.Lines = append(log.Lines, part.lines...)
	for i := range t.kept {
		part.renamed[i] = t.kept[i].join(&part.columns[i], part.renamed[i])
	}
	t.troubles.join(&part.troubles)
	t.records += part.records
	log.Zoneless += part.zoneless
}

// shortest is the fewest bytes of a line for which room is made ahead; a
// file of mere line ends would else claim fifty times its size.
const shortest = 8

// makeRoom makes room for the fixes of the whole table, if all of it is like its
// first piece: where they grew, there would be two of them for a while.
func (t *table) makeRoom(part *part) {
	perFix := len(part.data) / len(part.fixes)
	if perFix < shortest {
		return
	}
	const more = 1.02 // pieces differ a little
	n := int(more * float64(t.text.Size) / float64(perFix))
	if t.alone {
		n = len(part.fixes)
	}
	t.log.Fixes = large.Make[geo.Fix](n)[:0]
	t.log.Lines = large.Make[int32](n)[:0]
	for i := range t.kept {
		t.kept[i].codes = large.Make[uint32](n)[:0]
	}
}

// columnsOf names the columns that a plan keeps.
func columnsOf(p *plan, kept []interner) []Column {
	var columns []Column
	for i, at := range p.keep {
		columns = append(columns, Column{Name: p.names[at], Distinct: slices.Clip(kept[i].distinct), Codes: kept[i].codes})
	}
	return columns
}

// begin makes the part ready for another piece.
func (part *part) begin(data []byte, line int) {
	part.data, part.line, part.quotes = data, line, bytes.IndexByte(data, '"') >= 0
	part.fixes, part.lines = part.fixes[:0], part.lines[:0]
	part.records, part.zoneless, part.troubles = 0, 0, troubles{}
	for i := range part.columns {
		part.columns[i].codes = part.columns[i].codes[:0]
	}
}

// read reads all records of the part.
func (part *part) read() {
	data, line := part.data, part.line
	for len(data) > 0 {
		end := bytes.IndexByte(data, '\n')
		next := end + 1
		if end < 0 {
			end, next = len(data), len(data)
		}
		row := records.TrimReturn(data[:end])
		switch {
		case len(row) == 0:
		case len(row) > records.MaxLine:
			part.records++
			part.troubles.add(badLine, line, "", row, "a line of less than a million bytes")
		case part.quotes && bytes.IndexByte(row, '"') >= 0:
			next = part.readQuoted(data, line)
		default:
			part.records++
			var total int
			part.fields, total = records.SplitPlain(part.fields[:0], row, part.separator, part.last+1)
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
	fields, rest, ok := records.Split(part.fields[:0], data, part.separator)
	part.fields = fields
	row, _ := records.CutLine(data)
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
	if total > len(part.names) && !part.emptyTail(fields, total, row) {
		if !part.troubles.seen(badFields) {
			part.troubles.first(badFields, line, "", fmt.Sprintf("found %d fields", total),
				fmt.Sprintf("%d as in the header", len(part.names)))
		}
		return
	}
	field := func(r naming.Role) []byte {
		at := part.at[r]
		if at < 0 || at >= len(fields) {
			return nil
		}
		return trimBlanks(fields[at])
	}
	fix := geo.Fix{Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}
	placed := false
	if part.system == nil {
		placed = part.place(&fix, field(naming.Lat), field(naming.Lon), line)
	} else {
		placed = part.placeOnMap(&fix, field(naming.Easting), field(naming.Northing), line)
	}
	if !placed ||
		part.has(naming.Quality) && !part.quality(&fix, field(naming.Quality), line) ||
		part.has(naming.Time) && !part.time(&fix, field(naming.Time), field(naming.Date), line) {
		return
	}
	if part.has(naming.Speed) {
		part.speed(&fix, field(naming.Speed), line)
	}
	if part.has(naming.Heading) {
		part.heading(&fix, field(naming.Heading), line)
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

// emptyTail reports whether the fields of a line past those of the header are
// empty. Of a line without quotes fields may hold the first ones only.
func (part *part) emptyTail(fields [][]byte, total int, row []byte) bool {
	if len(fields) == total {
		return !slices.ContainsFunc(fields[len(part.names):], func(f []byte) bool { return len(f) > 0 })
	}
	for n := total - len(part.names); n > 0 && len(row) > 0; n-- {
		if row[len(row)-1] != part.separator {
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
