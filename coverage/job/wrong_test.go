package job

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a job names must be there. Each wrong job is the plain one with one text
// put for another.
func TestWrongJobs(t *testing.T) {
	const implement = "{openers: 24, row_spacing: 12.5 cm}"
	for _, c := range []struct {
		name, old, new string
		want           string // without the name of the folder
	}{
		{"no implement", "    implement: " + implement + "\n", "", `job.yaml:4: machine red drill, implement: missing, want the keys of an implement, or the path of a file with them`},
		{"no such track", "day.csv", "night.csv", `job.yaml:6: machine red drill, track 1: found "night.csv", no such file, want a log of fixes`},
		{"a folder for a track", "day.csv", ".", `job.yaml:6: machine red drill, track 1: found ".", a directory, want a log of fixes`},
		{"no such boundary", "field.geojson", "elms.geojson", `job.yaml:2: boundary: found "elms.geojson", no such file, want a boundary file, or worked`},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, map[string]string{"job.yaml": strings.Replace(plainJob, c.old, c.new, 1)})
			_, err := Load(disk(nil), filepath.Join(dir, "job.yaml"), Overrides{})
			assertInputError(t, withoutFolder(err, dir), c.want)
		})
	}
}

// withoutFolder takes the folder out of an InputError's file and texts.
func withoutFolder(err error, dir string) error {
	if wrong, ok := err.(*InputError); ok {
		short := *wrong
		for _, s := range []*string{&short.File, &short.Found, &short.Want} {
			*s = strings.ReplaceAll(*s, dir+string(os.PathSeparator), "")
		}
		return &short
	}
	return err
}

// Wrong logs and boundaries, with a job that is right.
func TestWrongFiles(t *testing.T) {
	const head = "time,lat,lon,"
	const row = "2026-03-02T09:00:00Z,54.001,10.001,"
	for _, c := range []struct {
		name  string
		files map[string]string
		want  string
	}{
		{"a word for working", map[string]string{"day.csv": head + "Status\n" + row + "1\n" + row + "raised\n"},
			`day.csv:3: column "Status": found "raised", want 1 or 0, true or false, on or off, yes or no`},
		{"too few sections", map[string]string{"day.csv": head + "sections\n" + row + "1\n" + row + "01\n"},
			`day.csv:3: column "sections": found "01", want 1 of 0 and 1, one for each section of the implement`},
		{"sections in words", map[string]string{"day.csv": head + "sections\n" + row + "x\n"},
			`day.csv:2: column "sections": found "x", want 1 of 0 and 1, one for each section of the implement`},
		{"a width in words", map[string]string{"day.csv": head + "swath_width_ft\n" + row + "wide\n"},
			`day.csv:2: column "swath_width_ft": found "wide", want a width in ft`},
		{"a width below zero", map[string]string{"day.csv": head + "swath_width_m\n" + row + "-3\n"},
			`day.csv:2: column "swath_width_m": found "-3", want a width in m`},
		{"swapped columns", map[string]string{"day.csv": "time,lon,lat\n2026-03-02T09:00:00Z,54.001,10.001\n2026-03-02T09:00:01Z,54.001,10.001\n"},
			`day.csv: latitude and longitude look swapped: only then do its fixes lie on the field, want the two the right way round, here or in "field.geojson"`},
		{"another county", map[string]string{"day.csv": head + "working\n2026-03-02T09:00:00Z,52.5,9,1\n2026-03-02T09:00:01Z,52.5001,9,1\n"},
			`day.csv: no fix lies on or near the field: the fixes span longitude 9.0000 to 9.0000, latitude 52.5000 to 52.5001, want fixes on longitude 10.0000 to 10.0080, latitude 54.0000 to 54.0045 as in field.geojson`},
		{"two boundaries", map[string]string{"field.geojson": two("North", "South")},
			`field.geojson: no boundary called "Nine Elms" among 2, want one of "North" and "South"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, c.files)
			_, err := Load(disk(nil), filepath.Join(dir, "job.yaml"), Overrides{})
			assertInputError(t, withoutFolder(err, dir), c.want)
		})
	}
}

// two is a boundary file with two fields side by side, of the given names.
func two(a, b string) string {
	feature := func(name, west, east string) string {
		return `{"type":"Feature","properties":{"name":"` + name + `"},"geometry":{"type":"Polygon","coordinates":[[[` +
			west + `,54],[` + east + `,54],[` + east + `,54.0045],[` + west + `,54.0045],[` + west + `,54]]]}}`
	}
	return `{"type":"FeatureCollection","features":[` + feature(a, "10", "10.008") + "," + feature(b, "10.01", "10.018") + `]}`
}

func TestBoundaryOfTheFieldsName(t *testing.T) {
	j, err := load(t, map[string]string{"field.geojson": two("South", "Nine Elms")})
	require.NoError(t, err)
	assert.InDelta(t, 10.014, j.Fields[0].Frame.Centre.Lon, 1e-9)
}

func TestReadErrorsOfLogsAndBoundaries(t *testing.T) {
	for name, text := range map[string]string{"day.csv": "a,b\n1,2\n", "field.geojson": `{"type":"Feature"`} {
		dir := folder(t, map[string]string{name: text})
		_, err := Load(disk(nil), filepath.Join(dir, "job.yaml"), Overrides{})
		var wrong *InputError
		require.ErrorAs(t, err, &wrong)
		assert.Equal(t, filepath.Join(dir, name), wrong.File)
	}
	_, err := Load(disk(nil), filepath.Join(t.TempDir(), "none.yaml"), Overrides{})
	var wrong *InputError
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, "no such file", wrong.Found)
}
