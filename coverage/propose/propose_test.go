package propose

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/source/sourcetest"
)

// disk are the files of this computer.
var disk = job.Inputs{Files: sourcetest.Disk(nil), Formats: format.Plain()}

// upAndDown writes a log of passes so far apart, in metres, with a head and a
// time written as layout.
func upAndDown(t *testing.T, path, head, layout string, begin time.Time, passes int, apart float64, more string) {
	t.Helper()
	frame := geo.NewFrame(geo.LonLat{Lon: -105, Lat: 40})
	var b strings.Builder
	b.WriteString(head + "\n")
	for pass := range passes {
		for y := 0.0; y <= 200; y += 2 {
			at := frame.FromMetres(float64(pass)*apart, y)
			fmt.Fprintf(&b, "%s,%.9f,%.9f,1%s\n", begin.Format(layout), at.Lat, at.Lon, more)
			begin = begin.Add(time.Second)
		}
		at := frame.FromMetres(float64(pass)*apart, 100)
		fmt.Fprintf(&b, "%s,%.9f,%.9f,0%s\n", begin.Format(layout), at.Lat, at.Lon, more)
		begin = begin.Add(20 * time.Second)
	}
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o644))
}

// proposed writes a proposal as a file, and loads it as a job.
func proposed(t *testing.T, f job.Flags, feet bool) (text string, j *job.Job) {
	t.Helper()
	p, err := New(disk, f, feet)
	require.NoError(t, err)
	dir := filepath.Join(filepath.Dir(f.Tracks[0]), "jobs")
	require.NoError(t, os.MkdirAll(dir, 0o755))
	var b bytes.Buffer
	require.NoError(t, p.Write(&b, dir))
	path := filepath.Join(dir, "job.yaml")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	j, err = job.Load(disk, path, job.Overrides{})
	require.NoError(t, err, b.String())
	return b.String(), j
}

func TestProposeIsAJob(t *testing.T) {
	t.Chdir(t.TempDir())
	const log = "a log: with #signs.csv"
	at := time.Date(2026, 4, 2, 15, 0, 0, 0, time.UTC)
	const head, layout = "time,lat,lon,working", "2006-01-02T15:04:05Z"
	upAndDown(t, log, head, layout, at, 9, 40*quantity.Foot-0.05, "")
	text, j := proposed(t, job.Flags{Tracks: []string{log}}, true)
	assert.Contains(t, text, "width: 40 ft")
	assert.Contains(t, text, "boundary: worked")
	assert.Contains(t, text, "working: logged")
	assert.Contains(t, text, `"../a log: with #signs.csv"`)
	assert.Contains(t, text, "# time_zone: America/Denver")
	require.Len(t, j.Machines, 1)
	assert.Equal(t, "machine 1", j.Machines[0].Name)

	text, _ = proposed(t, job.Flags{Tracks: []string{log}}, false)
	assert.Contains(t, text, "width: 12.1 m")
	text, _ = proposed(t, job.Flags{Tracks: []string{log}, Boundaries: []string{"worked"}}, false)
	assert.Contains(t, text, "boundary: worked")

	const few = "few.csv"
	upAndDown(t, few, head, layout, at, 2, 12, "")
	assert.Contains(t, text, "field: \"a log: with #signs\"")
	require.NoError(t, os.MkdirAll("Sandpiper Flat", 0o755))
	upAndDown(t, "Sandpiper Flat/field.csv", head, layout, at, 9, 12, "")
	p, err := New(disk, job.Flags{Tracks: []string{"Sandpiper Flat/field.csv"}}, true)
	require.NoError(t, err)
	assert.Equal(t, "Sandpiper Flat", p.Job.Fields[0].Name)
	_, err = New(disk, job.Flags{Tracks: []string{few}}, true)
	assert.ErrorContains(t, err, `too few to tell the working width by, want --width`)
	uneven := "uneven.csv"
	upAndDown(t, uneven, head, layout, at, 9, 12, "")
	upAndDown(t, "wide.csv", head, layout, at.Add(time.Hour), 9, 17, "")
	_, err = New(disk, job.Flags{Tracks: []string{uneven, "wide.csv"}}, false)
	assert.ErrorContains(t, err, "apart, too uneven to tell the working width by")
	text, _ = proposed(t, job.Flags{Tracks: []string{few}, Overrides: job.Overrides{}, Width: "33 ft"}, true)
	assert.Contains(t, text, "width: 33 ft\n      # seen: as given.")
}

// Times without a zone are taken as local where that puts the work in the day.
func TestProposeZone(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct {
		hour int
		want string
	}{
		"local": {9, "time_zone: Etc/GMT+7\n# GUESS: 918 times carry no zone"},
		"utc":   {17, "time_zone: UTC\n"},
	} {
		t.Run(name, func(t *testing.T) {
			log := filepath.Join(dir, name+".csv")
			upAndDown(t, log, "time,lat,lon,working", "2006-01-02 15:04:05", time.Date(2026, 4, 2, c.hour, 0, 0, 0, time.UTC), 9, 12, "")
			text, j := proposed(t, job.Flags{Tracks: []string{log}}, true)
			assert.Contains(t, text, c.want)
			assert.Empty(t, j.Warnings)
		})
	}
}

// A machine column names the machines, sections the parts of the bar, and a
// width column the width.
func TestProposeReadsColumns(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "both.csv")
	at := time.Date(2026, 4, 2, 15, 0, 0, 0, time.UTC)
	upAndDown(t, log, "time,lat,lon,working,machine,sections,swath_width_m", "2006-01-02T15:04:05Z", at, 4, 5, ",yes,1111,9.0")
	text, j := proposed(t, job.Flags{Tracks: []string{log}}, false)
	assert.Contains(t, text, `- name: "yes"`)
	assert.Contains(t, text, "sections: 4 ")
	assert.Contains(t, text, "width: 9 m\n      # seen: the widest in column")
	assert.Equal(t, "yes", j.Machines[0].Name)
}
