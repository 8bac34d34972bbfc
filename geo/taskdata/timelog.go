package taskdata

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"lapwing/geo"
)

// A Log is a time log: records in the order of the file, fix i and clock i
// being of record i.
type Log struct {
	Name string // "TLG00001"
	File string // the binary file, as it stands in messages

	// Fixes have the time that suits best: UTC from the receiver, where the
	// records have it, and else the log's clock as if that were UTC; then
	// Zoneless is true. Records without a position are kept, as
	// [geo.NoFix]. Headings and speeds are NaN: records have none.
	Fixes    []geo.Fix
	NoClock  bool
	Zoneless bool

	// Clock is the time by the log's clock, as if it were in UTC. It is the
	// local time in some logs and UTC in others; the log does not say which.
	// nil where records have none.
	Clock []geo.Instant
	// UTC is the receiver's time; 0 in a record that does not know it, nil
	// where no record does.
	UTC []geo.Instant

	// Values are the other values, in the order of the header.
	Values []Values
}

// Values are what one entry of a log's header went through. They hold from a
// record on until they change: from Records[i] on the value was Raw[i]. Before
// the first it is not known.
type Values struct {
	DDI     DDI
	Element string  // the id of the device element
	Records []int32 // rising
	Raw     []int32 // no two neighbours alike
}

// At returns the raw value at a record, and whether it is known.
func (v *Values) At(record int) (raw int32, ok bool) {
	i := sort.Search(len(v.Records), func(i int) bool { return int(v.Records[i]) > record })
	if i == 0 {
		return 0, false
	}
	return v.Raw[i-1], true
}

// until returns the record up to which value k holds, in a log of so many.
func (v *Values) until(k, records int) int {
	if k+1 < len(v.Records) {
		return int(v.Records[k+1])
	}
	return records
}

const (
	dayMS = 86_400_000 // milliseconds
	// positions are whole numbers of this part of a degree; dividing by it
	// gives the nearest float64, which multiplying by 1e-7 does not.
	perDegree = 1e7
)

// epoch is day 0 of dates in logs.
var epoch = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano()

// instant turns milliseconds since midnight and days since 1980 into a time;
// false for what is none: a receiver writes all ones where it does not know.
func instant(ms uint32, days uint16) (geo.Instant, bool) {
	const leapSecond = 1000
	return geo.Instant(epoch + (int64(days)*dayMS+int64(ms))*int64(time.Millisecond)), ms < dayMS+leapSecond && days != math.MaxUint16
}

// oddities counts what is wrong with the records of one log.
type oddities struct {
	cut, noPosition, noTime, badStatus, badIndex int // how many
	firstStatus, firstIndex                      int // the first of them
}

// decode reads the records of a log. Sizes come from data alone: a number of
// values that the file is too short for ends it.
func decode(file string, data []byte, h *header) (*Log, []geo.Note, error) {
	n, whole := count(data, h.size)
	if n == 0 {
		return nil, nil, &SyntaxError{File: file, Found: fmt.Sprintf("%d bytes, not one whole record", len(data)), Want: "a log"}
	}
	log := &Log{File: file, Fixes: make([]geo.Fix, n), NoClock: !h.clock, Values: h.values}
	if h.clock {
		log.Clock = make([]geo.Instant, n)
	}
	if h.at[utcTime] >= 0 && h.at[utcDate] >= 0 {
		log.UTC = make([]geo.Instant, n)
	}
	var odd oddities
	rest := data
	for i := range n {
		log.record(i, rest, h, &odd)
		rest = rest[log.takeValues(i, rest[h.size:], &odd)+h.size:]
	}
	odd.cut = len(data) - whole
	if odd.noPosition == n {
		return nil, nil, &SyntaxError{File: file, Found: "no record with a position on the Earth", Want: "a log with fixes"}
	}
	return log, append(odd.notes(file, n), log.setTimes()...), nil
}

// count returns the number of whole records and the bytes they take.
func count(data []byte, size int) (n, whole int) {
	for {
		at := whole + size
		if at >= len(data) {
			return n, whole
		}
		end := at + 1 + valueSize*int(data[at])
		if end > len(data) {
			return n, whole
		}
		n, whole = n+1, end
	}
}

// valueSize is the size of a value with its index: uint8 and int32.
const valueSize = 5

// record reads the time and the position of one record.
func (l *Log) record(i int, b []byte, h *header, odd *oddities) {
	fix := &l.Fixes[i]
	fix.Heading, fix.Speed = geo.Bearing(math.NaN()), math.NaN()
	if l.Clock != nil {
		at, ok := instant(binary.LittleEndian.Uint32(b), binary.LittleEndian.Uint16(b[4:]))
		if !ok {
			odd.noTime++
			at = l.Clock[max(0, i-1)] // of the first record: 1970
		}
		l.Clock[i] = at
	}
	if l.UTC != nil {
		ms, days := binary.LittleEndian.Uint32(b[h.at[utcTime]:]), binary.LittleEndian.Uint16(b[h.at[utcDate]:])
		if at, ok := instant(ms, days); ok && days != 0 { // day 0 is before there was a receiver
			l.UTC[i] = at
		}
	}
	s := h.status
	if h.at[status] >= 0 {
		s = int(b[h.at[status]])
	}
	fix.Quality = qualityOf(s)
	if s > 8 && s != statusError && s != statusUnknown {
		if odd.badStatus++; odd.badStatus == 1 {
			odd.firstStatus = s
		}
	}
	lat, lon := int32(binary.LittleEndian.Uint32(b[h.at[north]:])), int32(binary.LittleEndian.Uint32(b[h.at[east]:]))
	fix.At = geo.LonLat{Lon: float64(lon) / perDegree, Lat: float64(lat) / perDegree}
	if math.Abs(fix.At.Lat) > 90 || math.Abs(fix.At.Lon) > 180 {
		fix.Quality = geo.NoFix
		odd.noPosition++
	}
}

// Statuses beyond those of GGA (from memory).
const (
	statusError   = 14
	statusUnknown = 15
)

// qualityOf turns the status of a position, whose numbers up to 8 are those
// of GGA, into a quality; -1 stands for none.
func qualityOf(status int) geo.Quality {
	switch {
	case status == 0 || status == statusError:
		return geo.NoFix
	case status >= 1 && status <= 8:
		return geo.Quality(status)
	}
	return geo.QualityUnknown
}

// takeValues reads the values of one record, from their number on, and
// returns how many bytes they take.
func (l *Log) takeValues(record int, b []byte, odd *oddities) int {
	size := 1 + valueSize*int(b[0])
	for v := b[1:size]; len(v) > 0; v = v[valueSize:] {
		at := int(v[0])
		if at >= len(l.Values) {
			if odd.badIndex++; odd.badIndex == 1 {
				odd.firstIndex = at
			}
			continue
		}
		raw := int32(binary.LittleEndian.Uint32(v[1:]))
		of := &l.Values[at]
		if n := len(of.Raw); n == 0 || of.Raw[n-1] != raw {
			of.Records = append(of.Records, int32(record))
			of.Raw = append(of.Raw, raw)
		}
	}
	return size
}

func (o *oddities) notes(file string, records int) []geo.Note {
	var notes []geo.Note
	add := func(count int, text string) {
		if count > 0 {
			notes = append(notes, geo.Note{File: file, Count: count, Text: text})
		}
	}
	if o.cut > 0 {
		add(1, fmt.Sprintf("the file ends within record %d; its last %d bytes are left out", records+1, o.cut))
	}
	add(o.noPosition, "record whose position is not on the Earth; kept as having no fix")
	add(o.noTime, "record whose time is not one; taken to be at the time before")
	add(o.badStatus, fmt.Sprintf("position status %d, want 0 to 8, 14 or 15; taken as unknown", o.firstStatus))
	add(o.badIndex, fmt.Sprintf("value %d, which the header does not have; left out", o.firstIndex))
	return notes
}

// setTimes gives each fix its time.
func (l *Log) setTimes() []geo.Note {
	known := 0
	for _, at := range l.UTC {
		if at != 0 {
			known++
		}
	}
	if known == 0 {
		l.UTC = nil
	}
	shift := geo.Instant(0)
	switch {
	case known == len(l.Fixes):
		l.NoClock = false
		for i := range l.Fixes {
			l.Fixes[i].Time = l.UTC[i]
		}
		return nil
	case l.NoClock:
		return nil
	case known > 0:
		shift = l.ahead()
	default:
		l.Zoneless = true
	}
	for i := range l.Fixes {
		l.Fixes[i].Time = l.Clock[i] - shift
	}
	if known == 0 {
		return nil
	}
	return []geo.Note{{File: l.File, Count: len(l.Fixes) - known, Text: fmt.Sprintf(
		"record without the receiver's time; all times are by the log's clock, put right by %v", -time.Duration(shift))}}
}

// ahead is how far the log's clock is ahead of UTC: the middle one of the
// differences, as single ones may be late.
func (l *Log) ahead() geo.Instant {
	var by []geo.Instant
	for i, at := range l.UTC {
		if at != 0 {
			by = append(by, l.Clock[i]-at)
		}
	}
	slices.Sort(by)
	return by[len(by)/2]
}
