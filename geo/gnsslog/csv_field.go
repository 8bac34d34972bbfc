package gnsslog

import (
	"bytes"
	"math"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog/naming"
	"lapwing/geo/gnsslog/written"
	"lapwing/geo/projection"
)

// number reads a number; a comma is its decimal mark where it does not
// separate fields.
func (part *part) number(text []byte) (float64, bool) {
	return written.Number(text, part.separator != ',')
}

// place reads the position; without one the line is skipped.
func (part *part) place(fix *geo.Fix, lat, lon []byte, line int) bool {
	if len(lat) == 0 && len(lon) == 0 {
		part.noPosition(line)
		return false
	}
	var ok bool
	if fix.At.Lat, ok = part.number(lat); !ok || math.Abs(fix.At.Lat) > 90 {
		part.troubles.add(badPosition, line, part.names[part.at[naming.Lat]], lat, wantLat)
		return false
	}
	if fix.At.Lon, ok = part.number(lon); !ok || math.Abs(fix.At.Lon) > 180 {
		part.troubles.add(badPosition, line, part.names[part.at[naming.Lon]], lon, wantLon)
		return false
	}
	return true
}

// placeOnMap reads the position from easting and northing; without one the line is
// skipped.
func (part *part) placeOnMap(fix *geo.Fix, easting, northing []byte, line int) bool {
	if len(easting) == 0 && len(northing) == 0 {
		part.noPosition(line)
		return false
	}
	var at projection.XY
	for _, c := range []struct {
		of    naming.Role
		text  []byte
		value *float64
	}{{naming.Easting, easting, &at.X}, {naming.Northing, northing, &at.Y}} {
		var ok bool
		if *c.value, ok = part.number(c.text); !ok {
			part.troubles.add(badPosition, line, part.names[part.at[c.of]], c.text, "a number of "+part.system.Unit.Name)
			return false
		}
	}
	p := feature.PointAt(part.system, at)
	if fix.At = p.At; p.Beyond != "" || !p.At.Valid() {
		part.troubles.add(badPosition, line, "", []byte(at.String()), part.system.Reached())
		return false
	}
	return true
}

// noPosition counts a line that is there but says no place.
func (part *part) noPosition(line int) {
	if !part.troubles.seen(noPosition) {
		part.troubles.first(noPosition, line, "", "no position in the line", "")
	}
}

const (
	wantLat     = "degrees from -90 to 90"
	wantLon     = "degrees from -180 to 180"
	wantTime    = "a date and time such as 2026-05-04T14:03:11Z"
	wantSpeed   = "a speed of 0 or more"
	wantHeading = "degrees from 0 to 360"
)

// time reads the time, from one column or from date and time; without one the
// line is skipped.
func (part *part) time(fix *geo.Fix, text, date []byte, line int) bool {
	if len(text) == 0 {
		if !part.troubles.seen(noTime) {
			part.troubles.first(noTime, line, part.names[part.at[naming.Time]], "found nothing", "a time")
		}
		return false
	}
	if len(date) > 0 && !holdsDate(text) {
		part.joined = written.Join(part.joined[:0], date, text)
		text = part.joined
	}
	at, zoned, ok := part.clock.Parse(text)
	if !ok {
		part.troubles.add(badTime, line, part.names[part.at[naming.Time]], text, wantTime)
		return false
	}
	if !zoned && !part.timeIsUTC {
		part.zoneless++
	}
	fix.Time = at
	return true
}

// holdsDate reports whether a time has its own date before the time of day.
func holdsDate(text []byte) bool {
	return bytes.IndexByte(text, ':') > 2
}

// speed reads the speed; one that makes no sense is left out of the fix.
func (part *part) speed(fix *geo.Fix, text []byte, line int) {
	if len(text) == 0 {
		return
	}
	value, ok := part.number(text)
	part.setSpeed(fix, value, ok, text, line)
}

// setSpeed takes a speed that was read from text; ok is false where it is no
// number.
func (part *part) setSpeed(fix *geo.Fix, value float64, ok bool, text []byte, line int) {
	if !ok || value < 0 {
		part.troubles.add(badSpeed, line, part.names[part.at[naming.Speed]], text, wantSpeed)
		return
	}
	fix.Speed = value * part.perUnit
}

// heading reads the heading; one that makes no sense is left out of the fix.
func (part *part) heading(fix *geo.Fix, text []byte, line int) {
	if len(text) == 0 {
		return
	}
	value, ok := part.number(text)
	part.setHeading(fix, value, ok, text, line)
}

// setHeading takes a heading that was read from text; ok is false where it is
// no number.
func (part *part) setHeading(fix *geo.Fix, value float64, ok bool, text []byte, line int) {
	heading := geo.BearingOf(value)
	if !ok || !heading.Known() {
		part.troubles.add(badHeading, line, part.names[part.at[naming.Heading]], text, wantHeading)
		return
	}
	fix.Heading = heading
}

// quality reads the quality of the fix; a line that says there is no fix is
// skipped.
func (part *part) quality(fix *geo.Fix, text []byte, line int) bool {
	if len(text) == 0 {
		return true
	}
	var ok bool
	fix.Quality, ok = naming.QualityOf(text)
	switch {
	case !ok:
		part.troubles.add(badQuality, line, part.names[part.at[naming.Quality]], text, "a number from 0 to 8 or a word such as fixed, float, single")
	case fix.Quality == geo.NoFix:
		if !part.troubles.seen(noFix) {
			part.troubles.first(noFix, line, "", "a line that says it has no fix", "")
		}
		return false
	case fix.Quality == geo.Simulated:
		part.troubles.add(simulated, line, part.names[part.at[naming.Quality]], text, "")
	}
	return true
}
