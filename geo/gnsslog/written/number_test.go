package written

import (
	"math"
	"strconv"
	"testing"
	"time"

	"lapwing/geo"
)

// FuzzNumber compares with strconv, to the last bit.
func FuzzNumber(f *testing.F) {
	for _, text := range []string{"0", "-0", "1.", ".5", "-96.669735141", "9007199254740993", "0.000000000000000000000001",
		"123456789012345678901234567890", "1e-10", "1e400", "+5", "-", ".", "", "1,5", "12.12345678", "-0.123456789", "9.1234567a", "9.12345:78", "9007198.99999999", "90071991.99999999", "90071993.12345678", "0x1p-2", "inf", "1_0", "5e-324"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, ok := Number([]byte(text), false)
		want, err := strconv.ParseFloat(text, 64)
		if err != nil {
			if ok {
				t.Fatalf("%q: got %v, strconv says %v", text, got, err)
			}
			return
		}
		if ok && math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("%q: got %v, strconv has %v", text, got, want)
		}
		if !ok && !math.IsInf(want, 0) && !math.IsNaN(want) && plainDecimal(text) {
			t.Fatalf("%q: refused, strconv has %v", text, want)
		}
	})
}

func plainDecimal(text string) bool {
	for _, c := range text {
		if (c < '0' || c > '9') && c != '.' && c != '-' {
			return false
		}
	}
	return true
}

// FuzzTime compares with the time package wherever it takes the text too.
func FuzzTime(f *testing.F) {
	for _, text := range []string{"2026-05-04T14:03:11Z", "2026-05-04 14:03:11.123456789+05:30", "2024-02-29T00:00:00",
		"2023-02-29T00:00:00Z", "2026/05/04 14:03:11", "5/4/2026 2:03:11 PM", "04.05.2026 14:03:11", "20260504T140311Z", "1758693600.5", "2026-11-01T01:30:00", "2026-03-08T02:30:00"} {
		f.Add(text)
	}
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		f.Skip(err)
	}
	layouts := []string{time.RFC3339Nano, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02 15:04:05Z07:00",
		"2006/01/02 15:04:05", "1/2/2006 3:04:05 PM", "2.1.2006 15:04:05", "20060102T150405Z07:00"}
	c := Clock{Zone: denver}
	f.Fuzz(func(t *testing.T, text string) {
		fresh := Clock{Zone: denver}
		got, zoned, ok := c.Parse([]byte(text))
		if again, _, okAgain := fresh.Parse([]byte(text)); ok != okAgain || ok && again != got {
			t.Fatalf("%q: %v %v by a used clock, %v %v by a fresh one", text, got, ok, again, okAgain)
		}
		if !ok {
			return
		}
		for _, layout := range layouts {
			want, err := time.ParseInLocation(layout, text, denver)
			if err == nil && geo.InstantOf(want) != got {
				t.Fatalf("%q: got %v (zone %v), time has %v", text, got.Time(), zoned, want)
			}
		}
	})
}
