package gnsslog

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The columns of time are told by what is in them; their names only say which may
// be one.
func TestTimeColumns(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	require.NoError(t, err)
	const utc, local = "2026-05-04T14:03:11Z", "2026-05-04T19:03:11Z" // 14:03:11 in Greenwich, or by the clock in Chicago
	for _, c := range []struct {
		name, header, row string
		want              string // "" for a log without times
		zoneless          int
		from              string // the column that is taken for the time
	}{
		{"date and time", "date,time", "2026-05-04,14:03:11", local, 1, "time"},
		{"of the GNSS receiver", "GPS Date,GPS Time", "2026-05-04,14:03:11", local, 1, "GPS Time"},
		{"the month first", "date,time", "5/24/2026,2:03:11 PM", "2026-05-24T19:03:11Z", 1, "time"},
		{"the day first", "Date,Time", "24.05.2026,14:03:11.5", "2026-05-24T19:03:11.5Z", 1, "Time"},
		{"digits in a row", "date,time", "20260504,140311", local, 1, "time"},
		{"digits without their zero", "date,time", "20260504,40311", "2026-05-04T09:03:11Z", 1, "time"},
		{"by name in UTC", "date_utc,time_utc", "2026-05-04,14:03:11", utc, 0, "time_utc"},
		{"time with its zone", "date,time", "2026-05-04,14:03:11Z", utc, 0, "time"},
		{"0 h behind the date", "date,time", "5/24/2026 0:00:00,14:03:11", "2026-05-24T19:03:11Z", 1, "time"},
		{"date beside a whole time", "date,time", "2026-05-04,2026-05-04 14:03:11", local, 1, "time"},
		{"date beside seconds since 1970", "date,time", "2026-05-04,1777903391", utc, 0, "time"},
		{"date beside digits in a row", "date,time", "2026-05-04,20260504T140311Z", utc, 0, "time"},
		{"a date that is called time", "time,timestamp", "2026-05-04,2026-05-04T14:03:11Z", utc, 0, "timestamp"},
		{"a date that is called time, first by name", "timestamp,time", "2026-05-04,2026-05-04T14:03:11Z", utc, 0, "time"},
		{"date and time behind a name that goes before", "timestamp,date,time", "2026-05-04,2026-05-04,14:03:11", local, 1, "time"},
		{"ISO before local text", "time,iso_time", "5/4/2026 9:03:11 AM,2026-05-04T14:03:11Z", utc, 0, "iso_time"},
		{"ISO before local text, both local", "time,local_time", "5/4/2026 2:03:11 PM,2026-05-04T14:03:11", local, 1, "local_time"},
		{"ISO before date and time", "date,time,isotime", "5/4/2026,9:03:11 AM,2026-05-04T14:03:11Z", utc, 0, "isotime"},
		{"names decide between equals", "time,timestamp", "2026-05-04T14:00:00Z,2026-05-04T14:03:11Z", utc, 0, "timestamp"},
		{"0 h, where there is no time of day", "time", "2026-05-04T00:00:00Z", "2026-05-04T00:00:00Z", 0, "time"},
		{"local ISO before a pair as good", "date,time,local_time", "2026-05-04,14:00:00,2026-05-04T14:03:11", local, 1, "local_time"},
		{"a pair before local text", "date,time,local_time", "2026-05-04,14:03:11,5/4/2026 1:00:00 PM", local, 1, "time"},
		{"a pair with 0 h behind the ISO date before local text", "date,time,local_time", "2026-05-04T00:00:00,14:03:11,5/4/2026 1:00:00 PM", local, 1, "time"},
		{"local text before a pair as good", "date,time,local_time", "5/4/2026 12:00:00 AM,14:00:00,5/4/2026 2:03:11 PM", local, 1, "local_time"},
		{"called time before called date", "date,time", "2026-05-04T14:00:00Z,2026-05-04T14:03:11Z", utc, 0, "time"},
		{"called time before called date, the other way round", "time,date", "2026-05-04T14:03:11Z,2026-05-04T14:00:00Z", utc, 0, "time"},
		{"the first of two that are named alike", "time (a),time (b)", "2026-05-04T14:03:11Z,2026-05-04T14:00:00Z", utc, 0, "time (a)"},
		{"an empty one is none", "timestamp,time", ",2026-05-04T14:03:11Z", utc, 0, "time"},
		{"dates alone", "date", "2026-05-04", "", 0, ""},
		{"dates alone that are called time", "time,date", "2026/05/04,2026-05-04", "", 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			log, err := read("day.csv", "lat,lon,"+c.header+"\n51.7,-2.4,"+c.row+"\n", Options{Zone: chicago})
			require.NoError(t, err)
			require.Len(t, log.Fixes, 1)
			assert.Equal(t, c.want == "", log.NoClock)
			if c.want == "" {
				require.Len(t, log.Notes, 1)
				assert.Contains(t, log.Notes[0].Text, "holds dates without a time of day; read as a log without times")
				return
			}
			assert.Equal(t, c.want, log.Fixes[0].Time.Time().Format("2006-01-02T15:04:05.999Z"))
			assert.Equal(t, c.zoneless, log.Zoneless)
			for _, m := range log.Understood {
				if m.As == "time" || m.As == "time in UTC" {
					assert.Equal(t, c.from, m.Column)
				}
			}
		})
	}
	for name, text := range map[string]string{
		"a time of day alone": "lat,lon,time\n51.7,-2.4,14:03:11\n",
		"words":               "lat,lon,time\n51.7,-2.4,noon\n",
	} {
		_, err := read("day.csv", text, Options{})
		assert.ErrorContains(t, err, "want a date and time such as 2026-05-04T14:03:11Z", name)
	}
}

// A column that is filled now and then is not the time of each fix.
func TestTimeColumnNowAndThen(t *testing.T) {
	log, err := read("day.csv", "lat,lon,iso_time,time\n51.7,-2.4,2026-05-04T14:03:11Z,5/4/2026 9:03:11 AM\n51.7,-2.4,,5/4/2026 9:03:12 AM\n51.7,-2.4,,5/4/2026 9:03:13 AM\n", Options{})
	require.NoError(t, err)
	require.Len(t, log.Fixes, 3)
	assert.Equal(t, 3, log.Zoneless)
}

// A column that is filled as often as not is one of times, and of values that are as many of
// one kind as of another those that say more count.
func TestTimeColumnOfSomeLines(t *testing.T) {
	for name, c := range map[string]struct {
		rows string
		want []string
	}{
		"one of two":   {"2026-05-04T14:03:11Z,5/4/2026 9:03:11 AM\n51.7,-2.4,,5/4/2026 9:03:12 AM\n", []string{"2026-05-04T14:03:11"}},
		"two of three": {"2026-05-04T14:03:11Z,5/4/2026 9:03:11 AM\n51.7,-2.4,2026-05-04T14:03:12Z,5/4/2026 9:03:12 AM\n51.7,-2.4,,5/4/2026 9:03:13 AM\n", []string{"2026-05-04T14:03:11", "2026-05-04T14:03:12"}},
		"three of five": {"2026-05-04T14:03:11Z,5/4/2026 9:03:11 AM\n51.7,-2.4,2026-05-04T14:03:12Z,5/4/2026 9:03:12 AM\n51.7,-2.4,2026-05-04T14:03:13Z,5/4/2026 9:03:13 AM\n" +
			"51.7,-2.4,,5/4/2026 9:03:14 AM\n51.7,-2.4,,5/4/2026 9:03:15 AM\n", []string{"2026-05-04T14:03:11", "2026-05-04T14:03:12", "2026-05-04T14:03:13"}},
		"two kinds": {"2026-05-04T14:03:11Z,2026-05-04T09:03:11\n51.7,-2.4,5/4/2026 9:03:12 AM,2026-05-04T09:03:12\n", []string{"2026-05-04T14:03:11", "2026-05-04T09:03:12"}},
	} {
		log, err := read("day.csv", "lat,lon,iso_time,timestamp\n51.7,-2.4,"+c.rows, Options{})
		require.NoError(t, err, name)
		assert.Equal(t, c.want, times(log), name)
	}
}
