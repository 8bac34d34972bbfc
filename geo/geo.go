// Package geo holds places on the Earth and the way from them to a plane.
//
// Nothing here knows a trade word: a [Fix] is a position with a time, a
// [Frame] turns positions into points of a flat grid on which areas are the
// areas on the WGS 84 ellipsoid.
package geo

import (
	"math"
	"time"
)

// A LonLat is a place in degrees on WGS 84, longitude first as in RFC 7946.
type LonLat struct{ Lon, Lat float64 }

// An Instant is a time as nanoseconds since 1970-01-01T00:00:00 UTC.
// Logs hold hundreds of thousands of them: it takes a third of a time.Time.
type Instant int64

// Time returns i as a time.Time in UTC.
func (i Instant) Time() time.Time { return time.Unix(0, int64(i)).UTC() }

// Sub returns the time from j to i.
func (i Instant) Sub(j Instant) time.Duration { return time.Duration(i - j) }

// InstantOf returns t as an Instant.
func InstantOf(t time.Time) Instant { return Instant(t.UnixNano()) }

// Quality says how a fix was worked out. The numbers from 1 on are those of
// the NMEA 0183 GGA sentence; the zero Quality means the log does not say.
type Quality uint8

// The qualities of a fix.
const (
	QualityUnknown Quality = iota
	Single
	Differential
	PPS
	Fixed
	Float
	Estimated
	Manual
	Simulated
	NoFix // the receiver said it had no position
)

// String returns the word for q.
func (q Quality) String() string {
	if words := [...]string{"unknown", "single", "differential", "precise (PPS)", "fixed", "float",
		"estimated", "manual", "simulated", "no fix"}; int(q) < len(words) {
		return words[q]
	}
	return "unknown"
}

// A Fix is one position with its time.
type Fix struct {
	Time    Instant
	At      LonLat
	Heading Bearing // from true north; NaN where the log does not say
	Speed   float64 // metres per second over the ground; NaN where the log does not say
	Quality Quality
	// Row is free for code that keeps more of a record than its fix: the index of the record
	// in a list, from 0. Readers leave it 0.
	Row int32
}

// A Polygon is ground on the Earth: a shell and the holes in it, rings whose
// last place is not repeated. The shell runs anticlockwise, holes clockwise.
// Longitudes run on without a jump, past 180 if need be. Edges are straight in
// longitude and latitude (RFC 7946 3.1.1) and, where they come from
// geo/boundary, short enough to be straight on a [Frame]'s plane too.
type Polygon struct {
	Shell []LonLat
	Holes [][]LonLat
}

// Valid reports whether p is a place: finite, latitude within 90 degrees,
// longitude within 540 (room for rings that run on past the antimeridian).
func (p LonLat) Valid() bool {
	return math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 540 // false for NaN
}
