package receiver

import (
	"bytes"
	"encoding/json"
	"math"
	"time"

	"lapwing/geo"
)

// gpsdWatch asks a gpsd for its reports.
const gpsdWatch = `?WATCH={"enable":true,"json":true}` + "\n"

// maxReport is the longest line taken for a report: gpsd bounds its own at
// 10,240 characters.
const maxReport = 16 << 10

// GPSD puts the reports of a gpsd together to epochs, as published in
// gpsd_json(5): TPV gives time, position, quality, speed, course and error; GST,
// where it comes, the error and ATT the true heading. Reports of one time make
// one epoch. Other classes are counted.
//
// GPSD reads no source and asks no clock, like [NMEA].
type GPSD struct {
	line []byte
	long bool // the line at hand is too long, and dropped
	stream
}

// NewGPSD returns a GPSD to which no report has been fed.
func NewGPSD() *GPSD {
	g := &GPSD{}
	g.asm.counts = &g.counts
	return g
}

// Feed takes bytes that came at a time and returns the epochs that are complete.
func (g *GPSD) Feed(data []byte, now time.Time) []Epoch {
	g.begin(now)
	g.counts.Bytes += int64(len(data))
	for len(data) > 0 {
		text, rest, ended := bytes.Cut(data, []byte("\n"))
		data = rest
		switch {
		case g.long:
		case len(g.line)+len(text) > maxReport:
			g.counts.TooLong++
			g.long = true
		default:
			g.line = append(g.line, text...)
		}
		if !ended {
			break
		}
		if text := bytes.TrimSpace(g.line); !g.long && len(text) > 0 {
			g.report(text)
		}
		g.line, g.long = g.line[:0], false
	}
	return g.asm.out
}

// Break returns all there is: the connection has ended.
func (g *GPSD) Break() []Epoch {
	g.asm.out = g.asm.out[:0]
	g.line, g.long = g.line[:0], false
	g.asm.finish(g.now)
	return g.asm.out
}

// A gpsdReport has the members of the classes TPV, GST and ATT that are used.
// In GST lat and lon are standard deviations in metres.
type gpsdReport struct {
	Class   string
	Mode    int
	Status  int
	Time    string
	Lat     *float64
	Lon     *float64
	Track   *float64
	Speed   *float64
	Eph     *float64
	Epx     *float64
	Epy     *float64
	Heading *float64
}

func (g *GPSD) report(text []byte) {
	g.asm.hear(g.now)
	var class struct{ Class string }
	if json.Unmarshal(text, &class) != nil || class.Class == "" {
		g.counts.WrongFields++ // gpsd cuts long reports short, and 3.22 writes an ATT with two commas
		return
	}
	g.counts.Sentences++
	if class.Class != "TPV" && class.Class != "GST" && class.Class != "ATT" {
		g.asm.busy(g.now)
		return
	}
	var r gpsdReport
	ok := json.Unmarshal(text, &r) == nil
	if ok {
		switch class.Class {
		case "TPV":
			ok = g.tpv(&r)
		case "GST":
			ok = g.gst(&r)
		case "ATT":
			ok = g.att(&r)
		}
	}
	if !ok {
		g.counts.WrongFields++
	}
	g.asm.settle(g.now)
}

// key is the time of a report; none tells that it has none.
func (r *gpsdReport) key() (at int64, none, ok bool) {
	if r.Time == "" {
		return 0, true, true
	}
	t, err := time.Parse(time.RFC3339Nano, r.Time)
	if err != nil || t.Year() < 1980 || t.Year() > 2261 {
		return 0, false, false
	}
	return int64(geo.InstantOf(t)), false, true
}

// The modes of TPV.
const (
	modeNoFix = 1
	mode2D    = 2
)

func (g *GPSD) tpv(r *gpsdReport) bool {
	key, none, ok := r.key()
	if !ok {
		return false
	}
	if r.Mode == modeNoFix {
		g.counts.NoFix++
	}
	if none { // there is no fix, or it is the first report of a receiver that has yet to send the time
		return true
	}
	p := partTPV
	if r.Speed != nil {
		p++
	}
	if r.Track != nil {
		p += 2
	}
	a := &g.asm
	if !a.begin(key, g.now) {
		a.late(p)
		return true
	}
	a.took(p, g.now)
	d := &a.draft
	if r.Mode < mode2D {
		d.lost = true
		return true
	}
	lat, lon := valueOf(r.Lat), valueOf(r.Lon)
	if !(math.Abs(lat) <= 90 && math.Abs(lon) <= 180) {
		return r.Lat == nil && r.Lon == nil
	}
	d.gga, d.at, d.quality = true, geo.LonLat{Lon: lon, Lat: lat}, qualityOfStatus(r.Status)
	if v := valueOf(r.Speed); v >= 0 {
		d.speed = v
	}
	if v := geo.BearingOf(valueOf(r.Track)); v.Known() {
		d.course = v
	}
	estimate := valueOf(r.Eph)
	if math.IsNaN(estimate) {
		estimate = math.Hypot(valueOf(r.Epx), valueOf(r.Epy))
	}
	if !d.parts.has(partGST) && estimate >= 0 {
		d.error = estimate
	}
	return true
}

func (g *GPSD) gst(r *gpsdReport) bool {
	key, none, ok := r.key()
	if !ok {
		return false
	}
	if v := math.Hypot(valueOf(r.Lat), valueOf(r.Lon)); !none && !math.IsNaN(v) && !math.IsInf(v, 0) {
		g.asm.estimated(key, v, g.now)
	}
	return true
}

func (g *GPSD) att(r *gpsdReport) bool {
	a := &g.asm
	heading := geo.BearingOf(valueOf(r.Heading))
	if !heading.Known() {
		return r.Heading == nil
	}
	open, next := a.untimed(partHDT, &a.heading)
	switch {
	case next:
		a.heading.set, a.heading.bearing = true, heading
	case open:
		a.draft.heading = heading
		a.took(partHDT, g.now)
	}
	return true
}

func valueOf(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// qualityOfStatus is the quality for a TPV's status. Older gpsds leave it out
// where it is 1.
func qualityOfStatus(status int) geo.Quality {
	switch status {
	case 1:
		return geo.Single
	case 2:
		return geo.Differential
	case 3:
		return geo.Fixed
	case 4:
		return geo.Float
	case 5, 6: // dead reckoning, alone or with satellites
		return geo.Estimated
	case 7: // surveyed in, for the time
		return geo.Manual
	case 8:
		return geo.Simulated
	case 9: // P(Y), the precise code
		return geo.PPS
	}
	return geo.QualityUnknown
}
