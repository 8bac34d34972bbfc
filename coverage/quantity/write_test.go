package quantity

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// What is written as zero is not said.
func TestSome(t *testing.T) {
	for _, u := range []Units{US, Metric} {
		for e := -8.0; e < 4; e += 0.01 {
			v := math.Pow(10, e)
			assert.Equal(t, !strings.HasPrefix(u.SquareMetres(v), "0 "), u.SomeSquareMetres(v), v)
			d := plane.DistanceOf(v)
			assert.Equal(t, u.Length(d) != u.Length(0), u.SomeLength(d), v)
		}
	}
}

func TestAmountsForPeople(t *testing.T) {
	for want, got := range map[string]string{
		"1,234,567.9":            Number(1234567.89, 1),
		"-0.5":                   Number(-.5, 1),
		"0.0":                    Number(-.01, 1),
		"6 in":                   US.Length(1524),                  // 0.1524 m
		"4.9 ft":                 US.Length(1.5e4),                 // 1.5 m = 4.92 ft
		"328 ft":                 US.Length(100e4),                 // 328.08
		"6.2 mi":                 US.Length(1e8),                   // 10 km = 6.214 mi
		"15 cm":                  Metric.Length(1524),              //
		"12.3 km":                Metric.Length(1.23e8),            //
		"1.5 m":                  Metric.Length(1.5e4),             //
		"2.47 ac":                US.Area(1e4 * plane.SquareMetre), // 1 ha = 2.471 ac (NIST SP 811, appendix B.8)
		"108 sq ft":              US.Area(10 * plane.SquareMetre),  // 10 m2 = 107.64 ft2 (NIST SP 811)
		"1.00 ha":                Metric.Area(1e4 * plane.SquareMetre),
		"250 m2":                 Metric.Area(250 * plane.SquareMetre),
		"220 lb":                 US.Mass(100), // 100 kg = 220.46 lb (NIST SP 811)
		"264 gal":                US.Volume(1), // 1 m3 = 264.17 gal (NIST SP 811)
		"1,000 L":                Metric.Volume(1),
		"54.03120 N, 11.97350 E": LonLat(11.9735, 54.0312),
		"33.90000 S, 70.50000 W": LonLat(-70.5, -33.9),
		"0.00000 N, 0.00000 E":   LonLat(0, 0), // ISO 6709: the equator and Greenwich have the plus sign (from memory)
	} {
		assert.Equal(t, want, got)
	}
}
