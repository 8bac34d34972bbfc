package receiver

import (
	"bytes"
	"math"
	"time"

	"lapwing/geo"
)

// NMEA puts sentences of NMEA 0183 together to epochs. Sentences GGA, RMC,
// VTG, GNS, HDT, GST and ZDA of any talker are read, others counted. Those of
// one time of day make one epoch: position and quality from GGA, else from
// GNS, else the position from RMC; speed and course from RMC, else from VTG;
// a true heading from HDT; the estimate of error from GST; the date from RMC
// or ZDA.
//
// An epoch is told with the last sentence of the receiver's usual cycle once
// that is known, before with the first sentence of the next epoch, and at the
// latest after a silence (see cycle.go). Of two sentences of one type for one
// time the first counts.
//
// NMEA reads no source and asks no clock; the times given to it must not run
// backwards. The epochs returned are valid until the next call.
type NMEA struct {
	framer   framer
	fields   fields
	calendar calendar
	heard    []Heard
	stream
}

// NewNMEA returns an NMEA to which no sentence has been fed.
func NewNMEA() *NMEA {
	n := &NMEA{}
	n.asm.calendar, n.asm.counts = &n.calendar, &n.counts
	return n
}

// Heard is how often sentences of one address, such as GNGGA, have come.
type Heard struct {
	Address string
	Count   int
}

// mostHeard bounds how many addresses are told apart: a receiver of five
// systems sends 20. Judgement; no test holds it closely.
const mostHeard = 64

// Feed takes bytes that came at a time and returns the epochs that are complete.
func (n *NMEA) Feed(data []byte, now time.Time) []Epoch {
	n.begin(now)
	n.counts.Bytes += int64(len(data))
	for len(data) > 0 {
		var text []byte
		if text, data = n.framer.next(data, &n.counts); text != nil {
			n.sentence(text)
		}
	}
	return n.asm.out
}

// Break returns all there is: the source has ended, or broken off in the
// middle of a sentence, which is dropped.
func (n *NMEA) Break() []Epoch {
	n.asm.out = n.asm.out[:0]
	n.framer.drop()
	n.asm.finish(n.now)
	return n.asm.out
}

// Heard returns how often each address has come, in the order first heard.
func (n *NMEA) Heard() []Heard { return n.heard }

// Interval is the time between two epochs; 0 while it is not known.
func (n *NMEA) Interval() time.Duration { return n.asm.cycle.step }

// sentence reads a whole sentence: its address, such as GNGGA, and its fields.
func (n *NMEA) sentence(text []byte) {
	address, rest, _ := bytes.Cut(text, []byte(","))
	n.hear(address)
	n.asm.hear(n.now)
	ok := true
	if len(address) == 5 && address[0] != 'P' {
		n.fields.split(rest)
		switch string(address[2:]) {
		case "GGA":
			ok = n.gga()
		case "RMC":
			ok = n.rmc()
		case "GNS":
			ok = n.gns()
		case "VTG":
			ok = n.vtg()
		case "HDT":
			ok = n.hdt()
		case "GST":
			ok = n.gst()
		case "ZDA":
			ok = n.zda()
		default:
			n.asm.busy(n.now)
		}
	}
	if !ok {
		n.counts.WrongFields++
	}
	n.asm.settle(n.now)
}

func (n *NMEA) hear(address []byte) {
	for i := range n.heard {
		if n.heard[i].Address == string(address) {
			n.heard[i].Count++
			return
		}
	}
	if len(n.heard) < mostHeard {
		n.heard = append(n.heard, Heard{string(address), 1})
	}
}

// gga reads time, position, quality.
func (n *NMEA) gga() bool {
	f, a := &n.fields, &n.asm
	key, none, okTime := f.clock(0)
	at, nowhere, okPlace := f.position(1)
	quality, okQuality := f.whole(5)
	if okQuality && quality == 0 {
		n.counts.NoFix++
	}
	switch {
	case !okTime || !okQuality:
		return false
	case none:
		return true
	case !a.begin(key, n.now):
		a.late(partGGA)
		return true
	case a.draft.gga:
		return true
	}
	a.took(partGGA, n.now)
	switch d := &a.draft; {
	case quality == 0:
		d.lost = true
	case quality < 0 || quality > 8 || !okPlace:
		return false
	case !nowhere:
		d.gga, d.at, d.quality = true, at, geo.Quality(quality)
	}
	return true
}

// rmc reads time, validity, position, speed in knots, course, date.
func (n *NMEA) rmc() bool {
	f, a := &n.fields, &n.asm
	key, none, okTime := f.clock(0)
	at, nowhere, okPlace := f.position(2)
	speed, okSpeed := f.number(6)
	course, okCourse := f.number(7)
	date, okDate := f.date(8)
	_, okVariation := f.number(9)
	switch {
	case !okTime || !f.one(1, "AV") || !okSpeed || !okCourse || !okDate || !okVariation || !f.one(10, "EW") ||
		f.n > 12 && !f.one(12, "SCUV"):
		return false
	}
	void := string(f.at[1]) != "A"
	if void {
		n.counts.NoFix++
	}
	switch {
	case none:
		return true
	case !a.begin(key, n.now):
		a.late(partRMC)
		if !void && okPlace && !nowhere {
			a.lateDate(date, n.now)
		}
		return true
	case a.draft.rmc:
		return true
	}
	a.took(partRMC, n.now)
	d := &a.draft
	switch {
	case void:
		d.lost = true
		return true
	case nowhere || !okPlace:
		return okPlace
	}
	d.rmc = true
	if !d.gga && !d.gns {
		d.at = at
	}
	if !math.IsNaN(speed) {
		d.speed = overGround(speed)
	}
	if !math.IsNaN(course) {
		d.course = geo.BearingOf(course)
	}
	if date != noDate {
		d.date = date
	}
	return len(f.at[8]) == 0 || date != noDate
}

// gns reads time, position, and a letter of mode for each system.
func (n *NMEA) gns() bool {
	f, a := &n.fields, &n.asm
	key, none, okTime := f.clock(0)
	at, nowhere, okPlace := f.position(1)
	if !okTime || !okPlace || f.n < 6 {
		return false
	}
	quality := qualityOfModes(f.at[5])
	if quality == geo.NoFix {
		n.counts.NoFix++
	}
	switch {
	case none:
		return true
	case !a.begin(key, n.now):
		a.late(partGNS)
		return true
	case a.draft.gns:
		return true
	}
	a.took(partGNS, n.now)
	if d := &a.draft; !nowhere && quality != geo.NoFix {
		d.gns = true
		if !d.gga {
			d.at, d.quality = at, quality
		}
	}
	return true
}

// qualityOfModes is the best of the systems' modes: the position comes from
// those that have one.
func qualityOfModes(modes []byte) geo.Quality {
	const order = "RFPDAEMS" // of IEC 61162-1, from the best down
	qualities := [...]geo.Quality{geo.Fixed, geo.Float, geo.PPS, geo.Differential, geo.Single, geo.Estimated, geo.Manual, geo.Simulated}
	for i := range order {
		for _, mode := range modes {
			if mode == order[i] {
				return qualities[i]
			}
		}
	}
	return geo.NoFix
}

// vtg reads the course over ground and the speed in knots.
func (n *NMEA) vtg() bool {
	f, a := &n.fields, &n.asm
	course, okCourse := f.number(0)
	_, okMagnetic := f.number(2)
	speed, okSpeed := f.number(4)
	_, okKmh := f.number(6)
	if !okCourse || !okMagnetic || !okSpeed || !okKmh {
		return false
	}
	open, next := a.untimed(partVTG, &a.course)
	if !math.IsNaN(speed) {
		speed = overGround(speed)
	}
	switch d := &a.draft; {
	case next:
		a.course.set, a.course.speed, a.course.bearing = true, speed, geo.BearingOf(course)
	case open:
		if math.IsNaN(d.speed) {
			d.speed = speed
		}
		if !d.course.Known() {
			d.course = geo.BearingOf(course)
		}
		a.took(partVTG, n.now)
	}
	return true
}

// overGround turns knots into metres per second; the nautical mile is 1852 m.
// A speed below 0 is none.
func overGround(knots float64) float64 {
	if knots < 0 {
		return math.NaN()
	}
	return knots * (1852.0 / 3600)
}

// hdt reads the true heading.
func (n *NMEA) hdt() bool {
	f, a := &n.fields, &n.asm
	heading, ok := f.number(0)
	if !ok || !f.one(1, "T") {
		return false
	}
	open, next := a.untimed(partHDT, &a.heading)
	switch {
	case next:
		a.heading.set, a.heading.bearing = true, geo.BearingOf(heading)
	case open:
		a.draft.heading = geo.BearingOf(heading)
		a.took(partHDT, n.now)
	}
	return true
}

// gst reads the standard deviations of latitude and longitude, or the axes of
// the ellipse of error, in metres.
func (n *NMEA) gst() bool {
	f, a := &n.fields, &n.asm
	key, none, okTime := f.clock(0)
	major, ok1 := f.number(2)
	minor, ok2 := f.number(3)
	lat, ok3 := f.number(5)
	lon, ok4 := f.number(6)
	if !okTime || !ok1 || !ok2 || !ok3 || !ok4 {
		return false
	}
	estimate := math.Hypot(lat, lon)
	if math.IsNaN(estimate) {
		estimate = math.Hypot(major, minor)
	}
	if none || math.IsNaN(estimate) || math.IsInf(estimate, 0) {
		return true
	}
	a.estimated(key, estimate, n.now)
	return true
}

// zda reads the date. It has a time of its own, and so begins an epoch.
func (n *NMEA) zda() bool {
	f, a := &n.fields, &n.asm
	key, none, okTime := f.clock(0)
	dom, ok1 := f.whole(1)
	month, ok2 := f.whole(2)
	year, ok3 := f.whole(3)
	_, ok4 := f.whole(4)
	_, ok5 := f.whole(5)
	if !okTime || !ok1 || !ok2 || !ok3 || !ok4 || !ok5 {
		return false
	}
	if none || len(f.at[1]) == 0 {
		return true
	}
	date := int64(noDate)
	if year <= 2261 && month <= 12 && dom <= 31 && min(year, month, dom) >= 0 {
		date = dateOf(int(year), int(month), int(dom))
	}
	switch {
	case !a.begin(key, n.now):
		a.lateDate(date, n.now)
	case date != noDate:
		a.draft.date = date
		a.busy(n.now)
	}
	return date != noDate
}
