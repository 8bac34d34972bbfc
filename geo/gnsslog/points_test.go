package gnsslog

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog/written"
)

// layer is a layer of points with a note of its own. A value "=2.5" is a number
// in binary, which reads 2.5.
func layer(columns string, rows ...[]string) *feature.Points {
	return &feature.Points{Columns: strings.Fields(columns), Notes: []geo.Note{{Count: 1, Text: "from a test"}}, Close: func() {},
		Each: func(do func(feature.Point) error) error {
			for i, row := range rows {
				p := feature.Point{At: geo.LonLat{Lon: -2.4, Lat: 51.7 + float64(i)*1e-5}, Placed: row != nil}
				for range row {
					p.Values = append(p.Values, feature.Value{})
				}
				for k, text := range row {
					number, binary := strings.CutPrefix(text, "=")
					p.Values[k].Text = []byte(number)
					if binary {
						p.Values[k].Number, _ = written.Number([]byte(number), false)
						p.Values[k].Binary = true
					}
				}
				if err := do(p); err != nil {
					return err
				}
			}
			return nil
		}}
}

// Attributes are read as the columns of a CSV file of their names are; the
// place of a feature goes before attributes of its name.
func TestFromPoints(t *testing.T) {
	log, err := FromPoints("day.x", "X", layer("lat time Speed(km/h) heading_deg work",
		[]string{"99", "2026-10-03T08:00:00Z", "=9", "=-90", "on"},
		nil,
		[]string{"99", "2026-10-03T08:00:01Z", "9.0", "270", " of\nf "},
		[]string{"99", "2026-10-03T08:00:02Z", "=-1", "=720", "on"},
	), Options{Keep: func(name string) bool { return name == "work" }})
	require.NoError(t, err)
	assert.Equal(t, "X", log.Format)
	require.Len(t, log.Fixes, 3)
	assert.Equal(t, []int32{1, 3, 4}, log.Lines, "the numbers of features")
	assert.Equal(t, geo.LonLat{Lon: -2.4, Lat: 51.7}, log.Fixes[0].At)
	for _, f := range log.Fixes[:2] {
		assert.Equal(t, 2.5, f.Speed)
		assert.Equal(t, geo.Bearing(270), f.Heading)
	}
	assert.True(t, math.IsNaN(log.Fixes[2].Speed) && !log.Fixes[2].Heading.Known())
	require.Len(t, log.Columns, 1)
	assert.Equal(t, []string{"on", "of f"}, log.Columns[0].Distinct, "a name in a message stays on its line")
	assert.Equal(t, []Meaning{{"longitude", "longitude"}, {"latitude", "latitude"}, {"time", "time"}, {"Speed(km/h)", "speed in km/h"},
		{"heading_deg", "heading in degrees"}, {"work", "kept as text"}}, log.Understood)
	var notes []string
	for _, n := range log.Notes {
		notes = append(notes, n.Text)
	}
	assert.Equal(t, []string{"from a test", "no position in the line; skipped",
		`Speed(km/h): found "-1", want a speed of 0 or more; taken as no speed`,
		`heading_deg: found "720", want degrees from 0 to 360; taken as no heading`}, notes)
}

// The first date with one reading tells the order of all, as in a CSV file.
func TestFromPointsDates(t *testing.T) {
	log, err := FromPoints("day.x", "X", layer("Date Time", []string{"4/5/2026", "06:00"}, []string{"14/5/2026", "06:00"}), Options{})
	require.NoError(t, err)
	assert.Equal(t, "2026-05-04T06:00:00Z", log.Fixes[0].Time.Time().Format(time.RFC3339))
	assert.Equal(t, 2, log.Zoneless)
	log, err = FromPoints("day.x", "X", layer("Date Time", []string{"4/5/2026", "06:00"}, []string{"5/5/2026", "06:00"}), Options{})
	require.NoError(t, err)
	assert.Equal(t, "2026-04-05T06:00:00Z", log.Fixes[0].Time.Time().Format(time.RFC3339))
	requireNote(t, log, `Date: found "4/5/2026", want a date with one reading; taken as month/day/year`)
}

// What is wrong with a part of the file is told with its name.
func TestFromPointsErrors(t *testing.T) {
	broken := layer("")
	broken.Each = func(func(feature.Point) error) error {
		return &geo.Fault{Where: "record 3", Found: "12 bytes", Want: "20"}
	}
	_, err := FromPoints("day.x", "X", broken, Options{})
	require.EqualError(t, err, "day.x: record 3: 12 bytes, want 20")
	gone := errors.New("the disk is gone")
	broken.Each = func(func(feature.Point) error) error { return gone }
	_, err = FromPoints("day.x", "X", broken, Options{})
	require.ErrorIs(t, err, gone)
	far := layer("")
	far.Each = func(do func(feature.Point) error) error {
		for _, lat := range []float64{91, math.NaN()} {
			if err := do(feature.Point{At: geo.LonLat{Lat: lat}, Placed: true}); err != nil {
				return err
			}
		}
		return nil
	}
	_, err = FromPoints("day.x", "X", far, Options{})
	require.EqualError(t, err, `day.x:1: latitude: found "91" (and 2 of 2 lines are bad), want degrees from -90 to 90`)
}
