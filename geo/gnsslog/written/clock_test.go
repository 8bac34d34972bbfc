package written

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Many ways to write a time, those at the ends of what is one, and those past them. The wall
// clock of Denver is six hours behind Greenwich in May, and seven in January.
func TestTimesByHand(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	require.NoError(t, err)
	for _, c := range []struct {
		text  string
		want  string // in UTC; "" for no time
		zoned bool
	}{
		{"2026-05-04T14:03", "2026-05-04T20:03:00", false},
		{"2026/05/04 14:03:11", "2026-05-04T20:03:11", false},
		{"2026-01-04 14:03:11", "2026-01-04T21:03:11", false},
		{"2026-05-04X14:03:11", "", false},
		{"2026-05/04 14:03:11", "", false},
		{"2026/05-04 14:03:11", "", false},
		{"2026.05.04 14:03:11Z", "2026-05-04T14:03:11", true},
		{"2026-05-04T14:03:11+00:30", "2026-05-04T13:33:11", true},
		{"2026-05-04T14:03:11-05:30", "2026-05-04T19:33:11", true},
		{"2026-05-04T14:03:11 +0530", "2026-05-04T08:33:11", true},
		{"2026-05-04T14:03:11+05", "2026-05-04T09:03:11", true},
		{"2026-05-04T14:03:11+23:59", "2026-05-03T14:04:11", true},
		{"2026-05-04T14:03:11+24:00", "", false},
		{"2026-05-04T14:03:11+05:60", "", false},
		{"2026-05-04T14:03:11+5", "", false},
		{"2026-05-04T14:03:11+05:", "", false},
		{"2026-05-04T14:03:11+05:3", "", false},
		{"2026-05-04T14:03:11 GMT", "2026-05-04T14:03:11", true},
		{"2026-05-04T14:03:11 EST", "", false},
		{"2026-05-04T14:03:11z", "2026-05-04T14:03:11", true},
		{"2026-05-04T23:59:59Z", "2026-05-04T23:59:59", true},
		{"2026-05-04T24:00:00Z", "", false},
		{"2026-05-04T14:60:00Z", "", false},
		{"2026-05-04T14:03:60Z", "", false},
		{"2026-05-04T4:03:11Z", "2026-05-04T04:03:11", true},
		{"2026-05-04T9:09:59Z", "2026-05-04T09:09:59", true},
		{"2026-05-04T004:03:11Z", "", false},
		{"2026-05-04T14:03:11.", "", false},
		{"2026-05-04T14:03:11.09Z", "2026-05-04T14:03:11.09", true},
		{"2026-05-04T14:03:11,5Z", "2026-05-04T14:03:11.5", true},
		{"2026-05-04T14:03:11.1234567899Z", "2026-05-04T14:03:11.123456789", true},
		{"2026-05-04 12:00:00 AM", "2026-05-04T06:00:00", false},
		{"2026-05-04 12:30:00 PM", "2026-05-04T18:30:00", false},
		{"2026-05-04 01:00:00 pm", "2026-05-04T19:00:00", false},
		{"2026-05-04 01:00:00am", "2026-05-04T07:00:00", false},
		{"2026-05-04 11:59:59.5 PM", "2026-05-05T05:59:59.5", false},
		{"2026-05-04 00:30:00 AM", "", false},
		{"2026-05-04 13:30:00 PM", "", false},
		{"2026-05-04 01:30:00 XM", "", false},
		{"2026-12-31T12:00:00Z", "2026-12-31T12:00:00", true},
		{"2026-01-01T12:00:00Z", "2026-01-01T12:00:00", true},
		{"2026-00-01T12:00:00Z", "", false},
		{"2026-13-01T12:00:00Z", "", false},
		{"2026-01-00T12:00:00Z", "", false},
		{"2026-02-29T12:00:00Z", "", false},
		{"2024-02-29T12:00:00Z", "2024-02-29T12:00:00", true},
		{"1678-01-01T12:00:00Z", "1678-01-01T12:00:00", true},
		{"1677-12-31T12:00:00Z", "", false},
		{"2261-12-31T12:00:00Z", "2261-12-31T12:00:00", true},
		{"2262-01-01T12:00:00Z", "", false},
		// The year last: the month first, but with dots.
		{"5/4/2026 14:03:11", "2026-05-04T20:03:11", false},
		{"9/19/2029 19:09:09", "2029-09-20T01:09:09", false},
		{"5/4/2026, 2:03:11 PM", "2026-05-04T20:03:11", false},
		{"5-4-2026 14:03", "2026-05-04T20:03:00", false},
		{"4.5.2026 14:03:11", "2026-05-04T20:03:11", false},
		{"4.5.2026T14:03:11", "2026-05-04T20:03:11", false},
		{"4.5/2026 14:03:11", "", false},
		{"4:5:2026 14:03:11", "", false},
		{"4.5.999 14:03:11", "", false},
		{"999.5.4 14:03:11", "", false},
		{"13/5/2026 14:03:11", "", false},
		{"4-May-2026 14:03:11", "2026-05-04T20:03:11", false},
		{"4 May 2026 14:03:11", "2026-05-04T20:03:11", false},
		{"May 4, 2026 2:03:11 PM", "2026-05-04T20:03:11", false},
		{"4-May-1678 14:03:11", "1678-05-04T21:03:07", false}, // Denver's own noon was 6:59:56 behind
		{"4-May-1677 14:03:11", "", false},
		{"4-May-2262 14:03:11", "", false},
		// Digits in a row.
		{"20260504T140311Z", "2026-05-04T14:03:11", true},
		{"20260504 140311", "2026-05-04T20:03:11", false},
		{"20260504140311", "2026-05-04T20:03:11", false},
		{"20260504T1403Z", "", false},
		{"20261304T140311Z", "", false},
		// Numbers since 1970: seconds, thousandths, millionths, billionths.
		{"1777903391", "2026-05-04T14:03:11", true},
		{"1777903391.25", "2026-05-04T14:03:11.25", true},
		{"1777903391.9", "2026-05-04T14:03:11.9", true},
		{"1777903391500", "2026-05-04T14:03:11.5", true},
		{"1777903391500.5", "2026-05-04T14:03:11.5005", true},
		{"1777903391500000", "2026-05-04T14:03:11.5", true},
		{"1777903391500000000", "2026-05-04T14:03:11.5", true},
		{"100000000", "1973-03-03T09:46:40", true},
		{"99999999", "", false},
		{"9000000000", "2255-03-14T16:00:00", true},
		{"9999999999", "", false},
		{"10000000000", "", false},
		{"100000000000", "1973-03-03T09:46:40", true},
		{"99999999999", "", false},
		{"100000000000000", "1973-03-03T09:46:40", true},
		{"100000000000000000", "1973-03-03T09:46:40", true},
		{"10000000000000", "", false},
		{"10000000000000000", "", false},
		{"1.777903391e9", "2026-05-04T14:03:11", true},
		{"1e8", "1973-03-03T09:46:40", true},
		{"9.9e7", "", false},
		{"9e9", "", false},
		{"8.9e9", "2252-01-12T06:13:20", true},
		{"1777903391.2x", "", false},
		{"", "", false},
	} {
		clock := Clock{Zone: denver}
		at, zoned, ok := clock.Parse([]byte(c.text))
		if c.want == "" {
			assert.False(t, ok, c.text)
			continue
		}
		if assert.True(t, ok, c.text) {
			assert.Equal(t, c.want, at.Time().Format("2006-01-02T15:04:05.999999999"), c.text)
			assert.Equal(t, c.zoned, zoned, c.text)
		}
	}
	day := Clock{Zone: time.UTC, DayFirst: true}
	for text, want := range map[string]string{"4/5/2026 14:03:11": "2026-05-04T14:03:11", "2026/5/4 14:03:11": "2026-05-04T14:03:11"} {
		at, _, ok := day.Parse([]byte(text))
		assert.True(t, ok, text)
		assert.Equal(t, want, at.Time().Format("2006-01-02T15:04:05"))
	}
}

// By Denver's clock the day of 8 March 2026 has 23 hours, from 2:00 on in summer time, and
// that of 1 November 25.
func TestTimesOnDaysOfChange(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	require.NoError(t, err)
	clock := Clock{Zone: denver}
	for _, c := range [][2]string{
		{"2026-03-08T01:59:59", "2026-03-08T08:59:59"},
		{"2026-03-08T03:00:00", "2026-03-08T09:00:00"},
		{"2026-03-08T12:00:00", "2026-03-08T18:00:00"},
		{"2026-03-09T12:00:00", "2026-03-09T18:00:00"},
		{"2026-11-01T00:30:00", "2026-11-01T06:30:00"},
		{"2026-11-01T02:30:00", "2026-11-01T09:30:00"},
		{"2026-11-02T02:30:00", "2026-11-02T09:30:00"},
	} {
		at, _, ok := clock.Parse([]byte(c[0]))
		assert.True(t, ok)
		assert.Equal(t, c[1], at.Time().Format("2006-01-02T15:04:05"), c[0])
	}
}

func TestKindOf(t *testing.T) {
	for text, want := range map[string]Kind{
		"": NoTime, "words": NoTime, "12": NoTime, "2026-05-04": DateAlone, "13/5/2026": DateAlone, "5/13/2026": DateAlone, "20260504": DateAlone,
		"14:03:11": TimeOfDay, "2:03 PM": TimeOfDay, "140311": TimeOfDay, "40311.5": TimeOfDay, "14:03:11Z": TimeOfDay,
		"5/4/2026 8:03 AM": LocalText, "13/5/2026 8:03": LocalText, "2026-05-04T14:03:11": LocalISO, "20260504 140311": LocalISO,
		"2026-05-04T14:03:11Z": Zoned, "1777903391": Zoned,
	} {
		kind, midnight := KindOf([]byte(text))
		assert.Equal(t, want, kind, text)
		assert.False(t, midnight, text)
	}
	for text, want := range map[string]bool{"2026-05-04T00:00:00": true, "2026-05-04T00:00:01": false, "5/4/2026 12:00 AM": true, "5/4/2026 12:00 PM": false} {
		_, midnight := KindOf([]byte(text))
		assert.Equal(t, want, midnight, text)
	}
}

func TestJoin(t *testing.T) {
	for _, c := range [][3]string{
		{"2026-05-04", "14:03:11", "2026-05-04 14:03:11"},
		{"20260504", "140311", "2026-05-04 14:03:11"},
		{"20260504", "40311.5", "2026-05-04 4:03:11.5"},
		{"5/4/2026 0:00:00", "14:03", "5/4/2026 14:03"},
		{"2026-05-04T00:00:00", "14:03", "2026-05-04 14:03"},
		{"2026-5-4", "140311Z", "2026-5-4 140311Z"},
		{"20260504", "1403", "2026-05-04 1403"},
		{"2026050", "1403110", "2026050 1403110"},
	} {
		assert.Equal(t, "x"+c[2], string(Join([]byte("x"), []byte(c[0]), []byte(c[1]))))
	}
}

func TestNumberByHand(t *testing.T) {
	for _, c := range []struct {
		text  string
		comma bool
		want  float64
		ok    bool
	}{
		{"12", false, 12, true}, {"-1.25", false, -1.25, true}, {"+.5", false, 0.5, true}, {"1.", false, 1, true}, {"19.09", false, 19.09, true},
		{"1,5", true, 1.5, true}, {"1,5", false, 0, false}, {"1,5,6", true, 0, false}, {"1.5.6", false, 0, false}, {"1,000.5", true, 0, false},
		{"-1,5e1", true, -15, true}, {"1,5e1", false, 0, false}, {"1.5e1", true, 15, true}, {"", false, 0, false}, {"-", false, 0, false}, {".", false, 0, false}, {"inf", false, 0, false}, {"0x10", false, 0, false},
		{"1e400", false, 0, false}, {"1e+2", false, 100, true}, {"9007199254740993", false, 9007199254740992, true}, {"12345678901234567890", false, 12345678901234567890, true},
		{"0.00000000000000000000001", false, 1e-23, true}, {"0.0000000000000000000001", false, 1e-22, true}, {"1/2", false, 0, false}, {"1:2", false, 0, false},
	} {
		got, ok := Number([]byte(c.text), c.comma)
		assert.Equal(t, c.ok, ok, c.text)
		if ok {
			assert.Equal(t, c.want, got, c.text)
		}
	}
}
