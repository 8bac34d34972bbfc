package gnsslog

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/adrianmo/go-nmea"

	"lapwing/geo"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/sentence"
	"lapwing/geo/gnsslog/written"
)

// maxSentence is the longest line taken for a sentence: the standard has 82
// characters, and tag blocks before it are of the same order.
const maxSentence = 1024

const wantSentence = "a sentence such as $GPGGA,...*47"

// ReadNMEA reads the sentences GGA, RMC, VTG and ZDA of any talker. Those
// with the same time of day make one fix: position and quality from GGA (or
// RMC), speed and course from RMC (or VTG), the date from RMC (or ZDA).
func ReadNMEA(name string, text Text, opt Options) (*Log, error) {
	from, err := text.Open()
	if err != nil {
		return nil, err
	}
	text.settle()
	r := &nmeaReader{gatherer: gatherer{name: name, opt: opt}}
	r.parser.CustomParsers = map[string]nmea.ParserFunc{nmea.TypeGGA: parseGGA}
	lines := bufio.NewReaderSize(from, 64*maxSentence)
	for line := 1; ; line++ {
		text, err := lines.ReadSlice('\n')
		long := errors.Is(err, bufio.ErrBufferFull)
		r.line(text, line)
		for long { // of the rest its end is enough: a sentence behind noise
			text, err = lines.ReadSlice('\n')
			if long = errors.Is(err, bufio.ErrBufferFull); !long {
				r.line(text, line)
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	r.endEpoch()
	r.log.Notes = r.dateNotes()
	return r.finish("NMEA 0183")
}

type nmeaReader struct {
	gatherer
	parser nmea.SentenceParser
	epoch  epochFix
	days   calendar
}

// An epochFix is what the sentences of one moment said.
type epochFix struct {
	open    bool
	line    int
	time    int64 // nanoseconds into the day
	gga     bool
	rmc     bool
	vtg     bool
	lost    bool // a sentence said that there is no fix
	at      geo.LonLat
	quality geo.Quality
	speed   float64
	heading geo.Bearing
	date    int64 // of RMC or ZDA, seconds since 1970; noDate if none
}

const noDate = math.MinInt64

// gga is a GGA sentence. The library's own parser refuses the qualities 7
// and 8.
type gga struct {
	nmea.BaseSentence
	time     nmea.Time
	lat, lon float64
	quality  int64
}

func parseGGA(s nmea.BaseSentence) (nmea.Sentence, error) {
	p := nmea.NewParser(s)
	return gga{s, p.Time(0, "time"), p.LatLong(1, 2, "latitude"), p.LatLong(3, 4, "longitude"), p.Int64(5, "quality")}, p.Err()
}

var sentenceWords = map[string]string{
	nmea.TypeGGA: "position, time of day, quality of the fix",
	nmea.TypeRMC: "position, time, speed in knots, course",
	nmea.TypeVTG: "speed in knots, course",
	nmea.TypeZDA: "date",
}

// line takes the sentences of a line: one, where the line is clean.
func (r *nmeaReader) line(text []byte, line int) {
	if bytes.IndexByte(text, 0) >= 0 {
		text = bytes.ReplaceAll(text, []byte{0}, nil)
	}
	text = bytes.TrimSpace(text)
	switch {
	case len(text) == 0 || text[0] == '#':
		return
	case !sentence.IsNoise(text) && bytes.Count(text, []byte("$"))+bytes.Count(text, []byte("!")) == 1:
		r.sentence(text, line)
		return
	}
	left := len(text)
	for s := range sentence.In(text) {
		if sentence.Is(s) || !sentence.IsNoise(s) {
			left -= len(s)
			r.sentence(s, line)
		}
	}
	switch {
	case left == len(text) && !sentence.IsNoise(text):
		r.sentence(text, line) // it says that it is none
	case left > 0:
		r.troubles.add(lineNoise, line, "", text, wantSentence)
	}
}

func (r *nmeaReader) sentence(text []byte, line int) {
	if len(text) > maxSentence || !sentence.Is(text) {
		r.points++
		r.troubles.add(badLine, line, "", text, wantSentence)
		return
	}
	kind := sentence.TypeOf(text)
	as := sentenceWords[kind]
	if len(r.log.Understood) < mostNames {
		r.understand(kind, as)
	}
	if as == "" {
		return
	}
	r.points++
	parsed, err := r.parser.Parse(string(text))
	if err != nil {
		r.broken(text, line, err)
		return
	}
	switch s := parsed.(type) {
	case gga:
		r.takeGGA(s, line)
	case nmea.RMC:
		r.takeRMC(s, line)
	case nmea.VTG:
		r.takeVTG(s)
	case nmea.ZDA:
		r.takeZDA(s, line)
	}
}

// broken counts a sentence that does not parse: with the checksum wrong or
// missing, or a field that makes no sense.
func (r *nmeaReader) broken(text []byte, line int, err error) {
	body, sum, found := bytes.Cut(text[bytes.IndexAny(text, "$!"):], []byte("*"))
	right := nmea.Checksum(string(body[1:]))
	switch {
	case !found:
		r.troubles.add(badSum, line, "", text, "a checksum at the end, *"+right)
	case !bytes.EqualFold(sum, []byte(right)):
		r.troubles.add(badSum, line, "checksum", sum, right)
	default:
		r.troubles.add(badLine, line, "", text, "fields as in the standard ("+geo.Printable(err.Error())+")")
	}
}

// at makes the epoch of a time of day the current one; false if the time
// makes no sense.
func (r *nmeaReader) at(t nmea.Time, text string, line int) bool {
	if !t.Valid || t.Hour > 23 || t.Minute > 59 || t.Second > 60 {
		if text == "" {
			if !r.seen(noFix) {
				r.first(noFix, line, "", "a sentence without time and position", "")
			}
			return false
		}
		r.troubles.add(badTime, line, "time", []byte(text), "hhmmss.ss")
		return false
	}
	since := time.Duration(t.Hour)*time.Hour + time.Duration(t.Minute)*time.Minute +
		time.Duration(t.Second)*time.Second + time.Duration(t.Millisecond)*time.Millisecond
	if !r.epoch.open || r.epoch.time != int64(since) {
		r.endEpoch()
		r.epoch = epochFix{open: true, line: line, time: int64(since), speed: math.NaN(), heading: geo.Bearing(math.NaN()), date: noDate}
	}
	return true
}

func (r *nmeaReader) takeGGA(s gga, line int) {
	if !r.at(s.time, s.Fields[0], line) || r.twice(r.epoch.gga, "GGA", line) {
		return
	}
	e := &r.epoch
	switch {
	case s.quality == 0:
		e.lost = true
	case s.quality < 0 || s.quality > 8:
		r.troubles.add(badLine, line, "quality", []byte(s.Fields[5]), "a number from 0 to 8")
		return
	case r.placed(s.Fields[1:5], line):
		e.gga, e.at, e.quality = true, geo.LonLat{Lon: s.lon, Lat: s.lat}, geo.Quality(s.quality)
	}
}

func (r *nmeaReader) takeRMC(s nmea.RMC, line int) {
	if !r.at(s.Time, s.Fields[0], line) || r.twice(r.epoch.rmc, "RMC", line) {
		return
	}
	e := &r.epoch
	if s.Validity != nmea.ValidRMC {
		e.lost = true
		return
	}
	if !r.placed(s.Fields[2:6], line) {
		return
	}
	e.rmc = true
	if !e.gga {
		e.at = geo.LonLat{Lon: s.Longitude, Lat: s.Latitude}
	}
	if s.Fields[6] != "" {
		e.speed = s.Speed * naming.Unit("kn").MPS
	}
	if s.Fields[7] != "" {
		e.heading = geo.BearingOf(s.Course)
	}
	if s.Date.Valid {
		year := s.Date.YY + 2000
		if s.Date.YY >= 80 { // GPS time begins in 1980
			year -= 100
		}
		r.setDate(year, s.Date.MM, s.Date.DD, s.Fields[8], line)
	}
}

func (r *nmeaReader) takeVTG(s nmea.VTG) {
	e := &r.epoch
	if !e.open || e.vtg {
		return
	}
	e.vtg = true
	if math.IsNaN(e.speed) && s.Fields[4] != "" {
		e.speed = s.GroundSpeedKnots * naming.Unit("kn").MPS
	}
	if !e.heading.Known() && s.Fields[0] != "" {
		e.heading = geo.BearingOf(s.TrueTrack)
	}
}

func (r *nmeaReader) takeZDA(s nmea.ZDA, line int) {
	if s.Fields[1] == "" || !r.at(s.Time, s.Fields[0], line) {
		return
	}
	r.setDate(int(s.Year), int(s.Month), int(s.Day), fmt.Sprint(s.Day, "/", s.Month, "/", s.Year), line)
}

func (r *nmeaReader) setDate(year, month, dom int, text string, line int) {
	date := time.Date(year, time.Month(month), dom, 0, 0, 0, 0, time.UTC)
	if date.Day() != dom || int(date.Month()) != month || year < 1980 || year > 2261 {
		r.troubles.add(badTime, line, "date", []byte(text), "ddmmyy")
		return
	}
	r.epoch.date = date.Unix()
}

// twice reports whether a moment has had its sentence of a type already.
func (r *nmeaReader) twice(had bool, kind string, line int) bool {
	if had && !r.seen(otherKind) {
		r.first(otherKind, line, "", "a second "+kind+" for the same time", "")
	}
	return had
}

// placed checks the four fields of a position, which the library takes in
// many forms: only ddmm.mmmm,N,dddmm.mmmm,E is one here.
func (r *nmeaReader) placed(f []string, line int) bool {
	if f[0] == "" && f[2] == "" {
		if !r.seen(noPosition) {
			r.first(noPosition, line, "", "a sentence without a position", "")
		}
		return false
	}
	lat, okLat := written.Number([]byte(f[0]), false)
	lon, okLon := written.Number([]byte(f[2]), false)
	if okLat && okLon && (f[1] == "N" || f[1] == "S") && (f[3] == "E" || f[3] == "W") &&
		lat >= 0 && lat <= 9000 && lon >= 0 && lon <= 18000 && math.Mod(lat, 100) < 60 && math.Mod(lon, 100) < 60 {
		return true
	}
	r.troubles.add(badPosition, line, "position", fmt.Appendf(nil, "%s,%s,%s,%s", f[0], f[1], f[2], f[3]), "ddmm.mmmm,N,dddmm.mmmm,E")
	return false
}

// endEpoch makes a fix of what the sentences of a moment said.
func (r *nmeaReader) endEpoch() {
	e := &r.epoch
	if !e.open {
		return
	}
	e.open = false
	// A simulating receiver marks its RMC as void, as the standard has it.
	if e.lost && e.quality != geo.Simulated {
		if !r.seen(noFix) {
			r.first(noFix, e.line, "", "a moment at which the receiver had no fix", "")
		}
		return
	}
	if !e.gga && !e.rmc {
		r.days.mark(e.time, e.date, &r.log)
		return
	}
	if e.quality == geo.Simulated && !r.seen(simulated) {
		r.first(simulated, e.line, "quality", "found 8, a simulator", "")
	}
	at := r.days.mark(e.time, e.date, &r.log)
	r.gatherer.add(geo.Fix{Time: at, At: e.at, Heading: e.heading, Speed: e.speed, Quality: e.quality}, e.line)
}
