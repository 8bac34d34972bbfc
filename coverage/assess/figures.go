package assess

import (
	"math"
	"strconv"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// SquareMetres is an area that json writes exactly.
type SquareMetres plane.Area

// MarshalJSON writes m² with all of its digits: half a square tick is 5e-9 m².
func (a SquareMetres) MarshalJSON() ([]byte, error) {
	return AppendSquareMetres(nil, plane.Area(a)), nil
}

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

// Metres is a length in ticks that json writes in metres, to the micrometre.
type Metres float64

func (l Metres) MarshalJSON() ([]byte, error) {
	return appendFigure(nil, math.Round(float64(l)/float64(plane.Metre)*1e6)/1e6), nil
}

// Degrees is a longitude or latitude that json writes with nine decimals.
type Degrees float64

func (d Degrees) MarshalJSON() ([]byte, error) {
	return appendFigure(nil, math.Round(float64(d)*1e9)/1e9), nil
}

// Figure is a number that json writes as null where it is not finite.
type Figure float64

func (f Figure) MarshalJSON() ([]byte, error) { return appendFigure(nil, float64(f)), nil }

func appendFigure(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	if v == 0 {
		v = 0 // takes the sign off a negative zero
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

// Depths is the area at each depth from 0 up, written as an object in that
// order; depths up to 3 are always there.
type Depths []plane.Area

func (d Depths) MarshalJSON() ([]byte, error) {
	const least = 4
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

// Scaled returns *v in another unit; nil stays nil.
func Scaled(v *float64, factor float64) *Figure {
	if v == nil {
		return nil
	}
	f := Figure(*v * factor)
	return &f
}

const Litres = 1e3 // in a cubic metre

func NonZero(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

func orEmpty(s []int) []int {
	if s == nil {
		return []int{}
	}
	return s
}

func Stamp(i geo.Instant) string { return i.Time().Format(time.RFC3339Nano) }

// stampSecond writes a time that is reckoned, not logged.
func stampSecond(i geo.Instant) string { return Stamp(geo.InstantOf(i.Time().Round(time.Second))) }

// seconds are written to the millisecond.
func seconds(d time.Duration) Figure { return Figure(math.Round(d.Seconds()*1e3) / 1e3) }

func Hundredths(v float64) Figure { return Figure(math.Round(v*100) / 100) }
