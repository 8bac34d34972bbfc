package job

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
)

// The made-up farm of these tests: winter barley on the field Nine Elms, a
// square of about 500 m at 10° E, 54° N, sown by one drill.
const (
	fieldJSON = `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Nine Elms"},
"geometry":{"type":"Polygon","coordinates":[[[10,54],[10.008,54],[10.008,54.0045],[10,54.0045],[10,54]]]}}]}`
	dayCSV = `time,lat,lon,speed_mps,working
2026-03-02T09:00:00Z,54.001,10.001,2,1
2026-03-02T09:00:01Z,54.00102,10.001,2,1
2026-03-02T09:00:02Z,54.00104,10.001,0.5,0
`
	plainJob = `field: Nine Elms
boundary: field.geojson
machines:
  - name: red drill
    implement: {openers: 24, row_spacing: 12.5 cm}
    tracks: [day.csv]
`
)

// folder makes a folder with the files of the farm, and some more.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	all := map[string]string{"field.geojson": fieldJSON, "day.csv": dayCSV, "job.yaml": plainJob}
	for name, text := range files {
		all[name] = text
	}
	for name, text := range all {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return dir
}

// load loads job.yaml in a folder of its own.
func load(t *testing.T, files map[string]string) (*Job, error) {
	t.Helper()
	return Load(disk(nil), filepath.Join(folder(t, files), "job.yaml"), Overrides{})
}

// warnings returns the texts of a job's warnings.
func warnings(j *Job) (texts []string) {
	for _, w := range j.Warnings {
		texts = append(texts, w.Text)
	}
	return texts
}

func TestLoadPlain(t *testing.T) {
	j, err := load(t, nil)
	require.NoError(t, err)
	assert.Equal(t, "Nine Elms", j.Fields[0].Name)
	assert.Len(t, j.Fields[0].Boundary, 1)
	require.Len(t, j.Machines, 1)
	m := j.Machines[0]
	assert.Equal(t, "red drill", m.Name)
	assert.Equal(t, 3*plane.Metre, m.Implement.Width)
	assert.Equal(t, []machine.Section{{Left: -1500 * plane.Millimetre, Right: 1500 * plane.Millimetre}}, m.Implement.Sections)
	require.Len(t, m.Tracks, 1)
	tr := m.Tracks[0]
	assert.True(t, tr.WorkingLogged)
	assert.Equal(t, []machine.State{nil}, tr.States)
	require.Len(t, tr.Fixes, 3)
	assert.Equal(t, []bool{true, true, false}, []bool{tr.Fixes[0].Working, tr.Fixes[1].Working, tr.Fixes[2].Working})
	assert.Equal(t, int32(2), tr.Fixes[0].Line)
	assert.Equal(t, plane.SquareMetre, j.MinArea)
	assert.Equal(t, 625*plane.Tick, j.MinWidth, "half of 12.5 cm")
	assert.Zero(t, j.Options)
	assert.Empty(t, j.Warnings)
}

func TestLoadFull(t *testing.T) {
	j, err := load(t, map[string]string{
		"bar.yaml": `
name: 12 m trailed drill
width: 12 m
openers: 96
row_spacing: 12.5 cm
mount: towed
antenna_to_hitch: 2 m
antenna_right: -10 cm
hitch_to_bar: 9 m
cart: {hitch_to_axle: 4 m, axle_to_hitch: 1 m}
offset: 5 cm
sections: [48, 24, 24]
ground_delay: {on: 1.5 s, off: 0.5 s}
start_heading: 90 deg
`,
		"job.yaml": `
field: Nine Elms
boundary: field.geojson
time_zone: Europe/Berlin
machines:
  - name: red drill
    operator: Ada
    implement: bar.yaml
    working: speed > 1 m/s and time < 11:00
    tracks: day.csv
  - name: blue spreader
    implement: {width: 24 m, sections: [8 m, 8 m, 8 m]}
    working: inferred
    tracks: [other.csv]
headland: {rounds: 2, lap: 10 cm}
edge_allowance: 20 cm
products:
  - {name: ammonia, analysis: 82-0-0, rate: 70 lb N/ac, price: 800 USD/ton, machines: [red drill], tank: 1450 gal, fill: 85 %, temperature: 50 F}
  - {name: seed, rate: 300 seeds/m2, thousand_kernels: 45 g, survival: 90 %, price: 0.6 EUR/kg}
crop: {yield: 45 bu/ac, bushel: 48 lb, price: 6 USD/bu, compensation: 20 %}
gnss: {short_term: 3 cm, drift: 0 cm, steering: receiver}
going_back: {cost: 180 USD/h, speed: 9 km/h, there: 12 min}
switching: {on: 0.4 s, off: 300 ms}
rain_at: 2026-03-02T18:00
shift: {east: 12 cm, north: -8 cm}
`,
		"other.csv": dayCSV,
	})
	require.NoError(t, err)
	require.Len(t, j.Machines, 2)
	assert.Equal(t, "Ada", j.Machines[0].Operator)
	im := j.Machines[0].Implement
	heading := plane.Degrees(90)
	assert.Equal(t, machine.Implement{
		Name: "12 m trailed drill", Width: 12 * plane.Metre, Openers: 96, RowSpacing: 1250,
		Sections: []machine.Section{{Left: -6 * plane.Metre}, {Right: 3 * plane.Metre}, {Left: 3 * plane.Metre, Right: 6 * plane.Metre}},
		Towed:    true, AntennaToHitch: 2 * plane.Metre, AntennaRight: -10 * plane.Centimetre, HitchToBar: 9 * plane.Metre,
		Cart:   &machine.Cart{HitchToAxle: 4 * plane.Metre, AxleToHitch: plane.Metre},
		Offset: 5 * plane.Centimetre, OnDelay: 1500 * time.Millisecond, OffDelay: 500 * time.Millisecond, StartHeading: &heading,
	}, im)
	assert.Equal(t, machine.Inferred, j.Machines[1].Working)
	assert.Equal(t, machine.EqualSections(24*plane.Metre, 3), j.Machines[1].Implement.Sections)

	tr := j.Machines[0].Tracks[0] // 09:00 UTC is 10:00 in Berlin in winter
	assert.True(t, tr.WorkingLogged)
	assert.Equal(t, []bool{true, true, false}, []bool{tr.Fixes[0].Working, tr.Fixes[1].Working, tr.Fixes[2].Working})

	assert.Equal(t, field.Options{Rounds: 2, Lap: 10 * plane.Centimetre, EdgeAllowance: 20 * plane.Centimetre, Shift: plane.Point{X: 1200, Y: -800}}, j.Options)
	require.Len(t, j.Products, 2)
	assert.InDelta(t, 85.366*1.120851156e-4, *j.Products[0].MassRate, 1e-7) // lb/ac to kg/m², computed
	assert.InDelta(t, 0.85, j.Products[0].Fill, 1e-12)
	assert.Equal(t, []string{"red drill"}, j.Products[0].Machines)
	assert.InDelta(t, 300*45e-6/0.9, *j.Products[1].MassRate, 1e-12)
	assert.InDelta(t, 45*48*1.120851156e-4, j.Crop.Yield, 1e-7)
	assert.InDelta(t, 6/(48*0.45359237), j.Crop.Price.PerKilogram, 1e-12)
	assert.InDelta(t, 0.2, j.Crop.Compensation, 1e-12)
	assert.InDelta(t, 0.03, *j.GNSS.ShortTerm, 1e-12)
	assert.Zero(t, *j.GNSS.Drift)
	assert.Equal(t, whatif.ByReceiver, j.GNSS.Steering)
	assert.InDelta(t, 180.0/3600, j.GoingBack.Cost, 1e-12)
	assert.Equal(t, "USD", j.GoingBack.Currency)
	assert.InDelta(t, 2.5, j.GoingBack.Speed, 1e-12)
	assert.InDelta(t, 720, j.GoingBack.There, 1e-9)
	assert.Equal(t, whatif.Switching{On: 0.4, Off: 0.3}, j.Switching)
	assert.Equal(t, time.Date(2026, 3, 2, 17, 0, 0, 0, time.UTC), j.RainAt.UTC())
	assert.Empty(t, j.Warnings)
}

func TestOverrides(t *testing.T) {
	path := filepath.Join(folder(t, nil), "job.yaml")
	j, err := Load(disk(nil), path, Overrides{MinArea: "0.5 m2", MinWidth: "20 cm", EdgeTolerance: "0 m", MaxGap: "4 s"})
	require.NoError(t, err)
	assert.Equal(t, plane.SquareMetre/2, j.MinArea)
	assert.Equal(t, 20*plane.Centimetre, j.MinWidth)
	assert.Equal(t, field.Options{MaxGap: 4 * time.Second, EdgeTolerance: plane.Tick}, j.Options)

	for _, c := range []struct {
		over Overrides
		want string
	}{
		{Overrides{MinArea: "1"}, `--min-area: found "1", want an area such as "1 m2" or "0.1 ac"`},
		{Overrides{MinWidth: "-1 m"}, `--min-width: found "-1 m", below zero, want a length such as "50 ft" or "16.5 m"`},
		{Overrides{EdgeTolerance: "6 inn"}, `--edge-tolerance: found "6 inn", no unit called "inn", the nearest is "in", want a length such as "50 ft" or "16.5 m"`},
		{Overrides{MaxGap: "0 s"}, `--max-gap: found "0 s", want more than zero and a day at most`},
	} {
		_, err := Load(disk(nil), path, c.over)
		assertInputError(t, err, c.want)
	}
}

// assertInputError asserts that err is an InputError of one line.
func assertInputError(t *testing.T, err error, want string) {
	t.Helper()
	var wrong *InputError
	if assert.Error(t, err) && assert.True(t, errors.As(err, &wrong), "%T: %v", err, err) {
		assert.Equal(t, want, err.Error())
		assert.NotContains(t, err.Error(), "\n")
	}
}

// The samples load as they stand.
func TestSamples(t *testing.T) {
	jobs, err := filepath.Glob("../../samples/*/job.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, jobs)
	for _, path := range jobs {
		j, err := Load(disk(nil), path, Overrides{})
		require.NoError(t, err)
		assert.NotEmpty(t, j.Fields[0].Boundary, path)
		assert.Empty(t, j.Warnings, path)
	}
}
