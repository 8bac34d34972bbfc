// Package figure is how numbers stand in summary.json and in the files beside it: with
// which digits, and null where they are not known. What is read back is what was
// written.
package figure

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// WriteJSON writes a document as all files of JSON here are written.
func WriteJSON(w io.Writer, document any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(document)
}

// SquareMetres is an area with all of its digits: half a square tick is 5e-9 m².
type SquareMetres plane.Area

// Float is the area in m². It is the number in the file, to the last bit, up to
// 45 km², where half square ticks still fit a float64.
func (a SquareMetres) Float() float64 { return plane.Area(a).SquareMetres() }

// MarshalJSON writes m².
func (a SquareMetres) MarshalJSON() ([]byte, error) {
	return AppendSquareMetres(nil, plane.Area(a)), nil
}

// AppendSquareMetres appends m² with nine decimals at most, which are exact.
func AppendSquareMetres(b []byte, a plane.Area) []byte {
	if a < 0 {
		b, a = append(b, '-'), -a
	}
	b = strconv.AppendInt(b, int64(a/plane.SquareMetre), 10)
	billionths := int64(a%plane.SquareMetre) * (1e9 / int64(plane.SquareMetre))
	if billionths == 0 {
		return b
	}
	b = append(b, '.')
	for tenth := int64(1e8); billionths > 0; tenth /= 10 {
		b = append(b, '0'+byte(billionths/tenth))
		billionths %= tenth
	}
	return b
}

// UnmarshalJSON reads m² to the half square tick.
func (a *SquareMetres) UnmarshalJSON(text []byte) error {
	wrong := fmt.Errorf("found %s, want an area in m² with nine decimals at most", text)
	digits, negative := strings.CutPrefix(string(text), "-")
	whole, fraction, _ := strings.Cut(digits, ".")
	if len(fraction) > 9 {
		return wrong
	}
	m2, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || m2 > math.MaxInt64/int64(plane.SquareMetre) {
		return wrong
	}
	billionths, err := strconv.ParseUint(fraction+"000000000"[len(fraction):], 10, 64)
	if err != nil {
		return wrong
	}
	area := plane.Area(m2)*plane.SquareMetre + plane.Area(int64(billionths)/(1e9/int64(plane.SquareMetre)))
	if area < 0 { // the fraction took it over the end
		return wrong
	}
	if negative {
		area = -area
	}
	*a = SquareMetres(area)
	return nil
}

// Metres is a length to the micrometre; NaN is not known, and null in the file.
type Metres float64

// MetresOf turns ticks into metres.
func MetresOf[T ~int64 | ~float64](ticks T) Metres {
	return Metres(math.Round(float64(ticks)/float64(plane.Metre)*1e6) / 1e6)
}

// MarshalJSON writes metres.
func (l Metres) MarshalJSON() ([]byte, error) { return appendNumber(nil, float64(l)), nil }

// UnmarshalJSON reads metres.
func (l *Metres) UnmarshalJSON(text []byte) error { return readNumber(text, (*float64)(l)) }

// Degrees is a longitude or latitude to the ninth decimal.
type Degrees float64

// DegreesOf rounds degrees.
func DegreesOf(v float64) Degrees { return Degrees(math.Round(v*1e9) / 1e9) }

// A Place is one on the Earth.
type Place struct {
	Lon Degrees `json:"lon"`
	Lat Degrees `json:"lat"`
}

// PlaceOf writes a place.
func PlaceOf(at geo.LonLat) Place { return Place{DegreesOf(at.Lon), DegreesOf(at.Lat)} }

// MarshalJSON writes degrees.
func (d Degrees) MarshalJSON() ([]byte, error) { return appendNumber(nil, float64(d)), nil }

// UnmarshalJSON reads degrees.
func (d *Degrees) UnmarshalJSON(text []byte) error { return readNumber(text, (*float64)(d)) }

// A Number is one without a unit of its own; NaN is not known, and null in the file.
type Number float64

// MarshalJSON writes the shortest number that reads back the same, without an
// exponent.
func (n Number) MarshalJSON() ([]byte, error) { return appendNumber(nil, float64(n)), nil }

// UnmarshalJSON reads a number.
func (n *Number) UnmarshalJSON(text []byte) error { return readNumber(text, (*float64)(n)) }

func appendNumber(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	if v == 0 {
		v = 0 // takes the sign off a negative zero
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func readNumber(text []byte, v *float64) error {
	if string(text) == "null" {
		*v = math.NaN()
		return nil
	}
	return json.Unmarshal(text, v)
}

// Depths is the area at each depth from 0 up, written as an object in that
// order; depths up to 3 are always there.
type Depths []plane.Area

// MarshalJSON writes the areas in m².
func (d Depths) MarshalJSON() ([]byte, error) {
	const least = 4 // 0 to 3
	b := []byte{'{'}
	for k := range max(len(d), least) {
		if k > 0 {
			b = append(b, ',')
		}
		b = append(b, '"')
		b = strconv.AppendInt(b, int64(k), 10)
		b = append(b, '"', ':')
		var a plane.Area
		if k < len(d) {
			a = d[k]
		}
		b = AppendSquareMetres(b, a)
	}
	return append(b, '}'), nil
}

// UnmarshalJSON reads the areas.
func (d *Depths) UnmarshalJSON(text []byte) error {
	var areas map[string]SquareMetres
	if err := json.Unmarshal(text, &areas); err != nil {
		return err
	}
	*d = make(Depths, len(areas))
	for key, a := range areas {
		depth, err := strconv.Atoi(key)
		if err != nil || depth < 0 || depth >= len(areas) {
			return fmt.Errorf("found depth %q, want the depths from 0 up", key)
		}
		(*d)[depth] = plane.Area(a)
	}
	return nil
}

// Scaled returns *v in another unit; nil stays nil.
func Scaled(v *float64, factor float64) *Number {
	if v == nil {
		return nil
	}
	n := Number(*v * factor)
	return &n
}

// Litres are so many in a cubic metre.
const Litres = 1e3

// Stamp writes a time in UTC (RFC 3339).
func Stamp(i geo.Instant) string { return i.Time().Format(time.RFC3339Nano) }

// StampSecond writes a time that is reckoned, not logged.
func StampSecond(i geo.Instant) string { return Stamp(geo.InstantOf(i.Time().Round(time.Second))) }

// Seconds rounds a time to the millisecond.
func Seconds(d time.Duration) Number { return Number(math.Round(d.Seconds()*1e3) / 1e3) }

// Hundredths rounds a figure to two decimals.
func Hundredths(v float64) Number { return Number(math.Round(v*100) / 100) }
