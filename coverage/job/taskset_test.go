package job

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/taskdata"
)

// sown is a field sown by machines whose logs have what a task set can hold:
// places to 1e-7 degrees, no headings and no speeds.
func sown() *covertest.Scene {
	s := covertest.Small(0.02, 7)
	for i := range s.Machines {
		m := &s.Machines[i]
		m.Implement = covertest.Towed(6, 1.5, 4, 4)
		m.Implement.AntennaRight, m.Implement.Offset = plane.Metres(0.2), plane.Metres(-0.3)
		m.Implement.OnDelay, m.Implement.OffDelay, m.Implement.StartHeading = 0, 0, nil
		for k := range m.Tracks {
			for j := range m.Tracks[k].Fixes {
				f := &m.Tracks[k].Fixes[j]
				f.At = geo.LonLat{Lon: math.Round(f.At.Lon*1e7) / 1e7, Lat: math.Round(f.At.Lat*1e7) / 1e7}
				f.Heading, f.Speed = geo.Bearing(math.NaN()), math.NaN()
			}
		}
	}
	return s
}

// writeSet writes a scene as a task set and returns its folder.
func writeSet(t *testing.T, s *covertest.Scene) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "TASKDATA")
	require.NoError(t, os.Mkdir(dir, 0o755))
	require.NoError(t, covertest.WriteTaskSet(dir, s.Field, s.Machines))
	return dir
}

// zipped packs a folder.
func zipped(t *testing.T, dir string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	require.NoError(t, z.AddFS(os.DirFS(filepath.Dir(dir))))
	require.NoError(t, z.Close())
	path := filepath.Join(t.TempDir(), "day.zip")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	return path
}

func measured(t *testing.T, j *Job) *coverage.Map {
	t.Helper()
	m, err := coverage.Measure(j.Fields[0], j.Machines, j.Options)
	require.NoError(t, err)
	return m
}

// A task set says the same as the same log in CSV, with the same boundary and
// implement beside it: to the tick, whether it is a folder, its TASKDATA.XML
// or an archive.
func TestSetSaysWhatOtherFilesSay(t *testing.T) {
	s := sown()
	m := s.Machines[0]
	dir := t.TempDir()
	var log, field bytes.Buffer
	require.NoError(t, covertest.WriteTrack(&log, m.Tracks[0], m.Implement, 7))
	require.NoError(t, covertest.WriteBoundary(&field, s.Field, 0))
	im := m.Implement
	var widths []string
	for _, one := range im.Sections {
		widths = append(widths, fmt.Sprintf("%g m", (one.Right-one.Left).Metres()))
	}
	mount := "mounted"
	if im.Towed {
		mount = fmt.Sprintf("towed, hitch_to_bar: %g m", im.HitchToBar.Metres())
	}
	bar := fmt.Sprintf("{width: %g m, sections: [%s], antenna_to_hitch: %g m, antenna_right: %g m, offset: %g m, mount: %s}\n",
		im.Width.Metres(), strings.Join(widths, ", "), im.AntennaToHitch.Metres(), im.AntennaRight.Metres(), im.Offset.Metres(), mount)
	for name, data := range map[string][]byte{"log.csv": log.Bytes(), "field.geojson": field.Bytes(), "bar.yaml": []byte(bar)} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o644))
	}
	plain, err := FromFlags(disk(nil), Flags{Boundaries: []string{filepath.Join(dir, "field.geojson")}, Tracks: []string{filepath.Join(dir, "log.csv")}, Implement: filepath.Join(dir, "bar.yaml")})
	require.NoError(t, err)
	want := measured(t, plain)
	require.Positive(t, want.Totals.Covered)

	set := writeSet(t, s)
	for _, path := range []string{set, filepath.Join(set, "TASKDATA.XML"), zipped(t, set), zipped(t, set) + "#TSK1", set + "#PFD1,DVC1"} {
		j, err := FromFlags(disk(nil), Flags{Tracks: []string{path}})
		require.NoError(t, err)
		assert.Equal(t, s.Field.Name, j.Fields[0].Name)
		require.Len(t, j.Machines, 1)
		assert.Equal(t, m.Name, j.Machines[0].Name)
		got := j.Machines[0].Implement
		assert.Equal(t, im.Width, got.Width)
		assert.Equal(t, im.Sections, got.Sections)
		assert.Equal(t, im.Towed, got.Towed)
		assert.Equal(t, []plane.Length{im.AntennaToHitch, im.AntennaRight, im.HitchToBar, im.Offset},
			[]plane.Length{got.AntennaToHitch, got.AntennaRight, got.HitchToBar, got.Offset})
		assert.Empty(t, j.Warnings)
		m := measured(t, j)
		assert.Equal(t, want.Totals, m.Totals, path)
	}
}

// setFile writes a TASKDATA.XML of its own and returns its folder.
func setFile(t *testing.T, elements string) string {
	t.Helper()
	dir := t.TempDir()
	text := `<ISO11783_TaskData VersionMajor="4" VersionMinor="3">` + elements + "</ISO11783_TaskData>"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "TaskData.xml"), []byte(text), 0o644))
	return dir
}

func TestSetInAJob(t *testing.T) {
	s := sown()
	set := writeSet(t, s)
	job := func(machine, rest string) (*Job, error) {
		return load(t, map[string]string{"job.yaml": "machines:\n  - " + machine + "\n" + rest})
	}
	t.Run("boundary, implement and log", func(t *testing.T) {
		j, err := job("{name: drill A, tracks: ["+set+"]}", "products: [{name: seed, rate: 90 kg/ha, working: work state}]\n")
		require.NoError(t, err)
		assert.Equal(t, s.Field.Name, j.Fields[0].Name)
		assert.False(t, j.Fields[0].Worked)
		assert.Equal(t, 6*plane.Metre, j.Machines[0].Implement.Width)
		assert.Equal(t, 6*plane.Metre, j.Own[0].Machines[0].Implement.Width)
		assert.Len(t, j.Own[0].Machines[0].Tracks[0].Fixes, len(j.Machines[0].Tracks[0].Fixes))
	})
	t.Run("the boundary by its id, the bar by the job", func(t *testing.T) {
		j, err := job("{name: drill A, implement: {width: 8 m}, tracks: ["+set+"]}", "boundary: "+set+"#PFD1\n")
		require.NoError(t, err)
		assert.False(t, j.Fields[0].Worked)
		m := j.Machines[0]
		assert.Equal(t, 8*plane.Metre, m.Implement.Width)
		assert.Equal(t, plane.Length(0), m.Implement.AntennaToHitch)
	})
	t.Run("the worked ground", func(t *testing.T) {
		j, err := job("{name: drill A, tracks: ["+set+"]}", "boundary: worked\n")
		require.NoError(t, err)
		assert.True(t, j.Fields[0].Worked)
	})
	t.Run("a field of another name", func(t *testing.T) {
		j, err := job("{name: drill A, tracks: ["+set+"]}", "field: Nine Elms\nboundary: field.geojson\n")
		assert.Nil(t, j)
		assert.ErrorContains(t, err, "no fix lies on or near the field")
	})
	t.Run("a bar that it does not have", func(t *testing.T) {
		_, err := job("{name: drill A, implement: {width: 6 m, sections: 3}, tracks: ["+set+"]}", "")
		assert.ErrorContains(t, err, `TLG00001.BIN: column "section states": found "1111", want 3 of 0 and 1, one for each section of the implement`)
	})
}

// Rates of a task set reach the product, to the resolution of its entry:
// whole mg/m², a ten-thousandth of 100 kg/ha.
func TestSetTellsRates(t *testing.T) {
	s := sown()
	track := &s.Machines[0].Tracks[0]
	track.Rates = [][]float32{make([]float32, len(track.Fixes))}
	for i := range track.Fixes {
		track.Fixes[i].Row = int32(i)
		track.Rates[0][i] = 1 + 0.25*float32(i%8)/8
	}
	set := writeSet(t, s)
	j, err := load(t, map[string]string{"job.yaml": "machines: [{name: drill, tracks: [" + set + "]}]\nproducts: [{name: seed, rate: 100 kg/ha}]\n"})
	require.NoError(t, err)
	assert.Empty(t, j.Warnings)
	require.Equal(t, 1, j.Products[0].RateColumn)
	got := j.Machines[0].Tracks[0].Rates[0]
	require.Len(t, got, len(track.Fixes))
	for i, want := range track.Rates[0] {
		require.InDelta(t, want, got[i], 0.5e-4+1e-6)
	}
}

// twoFields is a set with the logs of two drills on two fields; each drill
// was on both.
func twoFields(t *testing.T) string {
	t.Helper()
	dir := writeSet(t, func() *covertest.Scene {
		s := sown()
		m := s.Machines[0]
		m.Name = "other drill"
		s.Machines = append(s.Machines, m)
		return s
	}())
	path := filepath.Join(dir, "TASKDATA.XML")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	at, end := bytes.Index(text, []byte("<PFD")), bytes.Index(text, []byte("</PFD>"))+6
	second := bytes.Replace(bytes.Replace(text[at:end], []byte(`"PFD1"`), []byte(`"PFD2"`), 1), []byte(`C="small"`), []byte(`C="Long Acre"`), 1)
	text = slices.Concat(text[:end], second, text[end:])
	text = bytes.Replace(text, []byte(`A="TSK2" E="PFD1"`), []byte(`A="TSK2" E="PFD2"`), 1)
	require.NoError(t, os.WriteFile(path, text, 0o644))
	return dir
}

func TestPartsOfASet(t *testing.T) {
	set := twoFields(t)
	machines := func(j *Job) (names []string) {
		for _, m := range j.Machines {
			names = append(names, m.Name)
		}
		return names
	}
	for _, c := range []struct {
		track, boundary string
		field           string
		machines        []string
	}{
		{"#TSK2", "", "Long Acre", []string{"other drill"}},
		{"#PFD1", "", "small", []string{"drill"}},
		{"", set + "#PFD2", "Long Acre", []string{"other drill"}},
		{"#DVC1", "", "small", []string{"drill"}},
	} {
		j, err := FromFlags(disk(nil), Flags{Tracks: []string{set + c.track}, Boundaries: []string{c.boundary}})
		if c.track == "#DVC1" {
			assert.ErrorContains(t, err, "tasks with logs on 2 fields")
			continue
		}
		require.NoError(t, err, c.track)
		assert.Equal(t, c.field, j.Fields[0].Name)
		assert.Equal(t, c.machines, machines(j))
	}
	// A boundary from elsewhere may hold the ground of any task.
	j, err := FromFlags(disk(nil), Flags{Tracks: []string{set}, Boundaries: []string{writeSet(t, sown()) + "#PFD1"}})
	require.NoError(t, err)
	assert.Equal(t, []string{"drill", "other drill"}, machines(j))
	// A job takes the machine of its name, and the field of its name.
	j, err = load(t, map[string]string{"job.yaml": "field: Long Acre\nmachines: [{name: Other Drill, tracks: [" + set + "]}]\n"})
	require.NoError(t, err)
	assert.Len(t, j.Machines[0].Tracks, 1)
	_, err = load(t, map[string]string{"job.yaml": "boundary: field.geojson\nmachines: [{name: red, tracks: [" + set + "]}]\n"})
	assert.ErrorContains(t, err, `no device called "red" among 2 that worked, "drill" and "other drill"`)
}

// What is wrong with a set or with what is asked of it is one line.
func TestWrongSets(t *testing.T) {
	bow := `<PFD A="PFD1" C="Bow"><PLN A="1"><LSG A="1"><PNT A="2" C="54" D="10"/><PNT A="2" C="54.001" D="10.001"/><PNT A="2" C="54" D="10.001"/><PNT A="2" C="54.001" D="10"/></LSG></PLN></PFD>`
	for name, c := range map[string]struct {
		flags Flags
		want  string
	}{
		"no such part": {Flags{Tracks: []string{writeSet(t, sown()) + "#TSK7"}}, `no field, task or device "TSK7" in the set, want one of "PFD1", "TSK1" and "DVC1"`},
		"no log":       {Flags{Tracks: []string{setFile(t, `<TSK A="TSK1" G="4"/>`)}}, "no log of what is asked for, want a task with a log; the set has none"},
		"crossing":     {Flags{Tracks: []string{writeSet(t, sown())}, Boundaries: []string{setFile(t, bow) + "#PFD1"}}, "PFD1: PLN 1, LSG 1: "},
		"no boundary":  {Flags{Tracks: []string{writeSet(t, sown())}, Boundaries: []string{setFile(t, `<PFD A="PFD1" C="Bare"/>`)}}, "no field with a boundary in the set"},
		"not a field":  {Flags{Tracks: []string{writeSet(t, sown())}, Boundaries: []string{writeSet(t, sown()) + "#TSK1"}}, `no field "TSK1" in the set, want one of "PFD1"`},
		"broken":       {Flags{Tracks: []string{setFile(t, `<TSK A="TSK1"`)}}, "TaskData.xml:1: "},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := FromFlags(disk(nil), c.flags)
			var wrong *InputError
			require.ErrorAs(t, err, &wrong)
			assert.ErrorContains(t, err, c.want)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

// What one set knows of a hitch.
func TestTaskHitch(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		name  string
		hitch taskdata.Hitch
		want  machine.Implement
		warns int
	}{
		{"nothing known", taskdata.Hitch{AntennaToHitch: none, AntennaRight: none, HitchToBar: none, Offset: none, Connector: -1}, machine.Implement{}, 1},
		{"drawbar", taskdata.Hitch{AntennaToHitch: 1, AntennaRight: 0.5, HitchToBar: 6, Offset: -1, Connector: 1},
			machine.Implement{Towed: true, AntennaToHitch: plane.Metre, AntennaRight: plane.Metres(0.5), HitchToBar: 6 * plane.Metre, Offset: -plane.Metre}, 0},
		{"three-point", taskdata.Hitch{AntennaToHitch: 2, AntennaRight: 0, HitchToBar: 1.5, Offset: 0, Connector: 3}, machine.Implement{AntennaToHitch: plane.Metres(3.5)}, 0},
		{"no connector", taskdata.Hitch{AntennaToHitch: 3, AntennaRight: 0, HitchToBar: 0, Offset: none, Connector: -1}, machine.Implement{AntennaToHitch: plane.Metres(3)}, 0},
		{"unknown connector", taskdata.Hitch{AntennaToHitch: 3, AntennaRight: 0, HitchToBar: 5, Offset: 0, Connector: 0},
			machine.Implement{Towed: true, AntennaToHitch: 3 * plane.Metre, HitchToBar: 5 * plane.Metre}, 1},
		{"ahead", taskdata.Hitch{AntennaToHitch: -4, AntennaRight: 0, HitchToBar: 0, Offset: 0, Connector: -1}, machine.Implement{AntennaToHitch: -4 * plane.Metre}, 0},
	} {
		u := &understanding{job: &Job{}}
		var got machine.Implement
		u.hang(&got, c.hitch, "", &worklog.Device{Set: &taskdata.Set{}})
		assert.Equal(t, c.want, got, c.name)
		assert.Len(t, u.job.Warnings, c.warns, c.name)
	}
}

// A header whose place only the log tells is where it says.
func TestOffsetsOfTheLogPlaceTheBar(t *testing.T) {
	j, err := FromFlags(disk(nil), Flags{Tracks: []string{written(t, covertest.Combine())}})
	require.NoError(t, err)
	im := j.Machines[0].Implement
	assert.Equal(t, plane.Metres(-2.8), im.AntennaToHitch)
	assert.Equal(t, plane.Metres(0.3), im.Offset)
	assert.False(t, im.Towed)
	m := measured(t, j)
	assert.InDelta(t, 8000, m.Totals.Covered.SquareMetres(), 4)
	assert.Less(t, m.Totals.OverReach.SquareMetres(), 2.0)
	assert.Contains(t, warnings(j), "device DVC1: the set says where the bar is and not where the antenna is; that is taken to be over the zero of the device, the bar 2.80 m ahead of it; an implement in a job file says otherwise")
}

// An implement that tells of its own lengths and of no tractor hangs behind the pin.
func TestHitchWithoutAntenna(t *testing.T) {
	track := &taskdata.Track{Bar: taskdata.Bar{X: -5, Y: 0}, Hitch: taskdata.Hitch{AntennaToHitch: math.NaN(), AntennaRight: math.NaN(), HitchToBar: 5, Offset: 0.2, Connector: 1}}
	h, over := Hitched(track)
	assert.Equal(t, "the pin", over)
	assert.Equal(t, taskdata.Hitch{HitchToBar: 5, Offset: 0.2, Connector: 1}, h)
	track.Hitch.AntennaToHitch, track.Hitch.AntennaRight = 2, 0.1
	h, over = Hitched(track)
	assert.Empty(t, over)
	assert.Equal(t, track.Hitch, h)
}

// Sections that stand apart meet in the middle.
func TestTaskSections(t *testing.T) {
	u := &understanding{job: &Job{}}
	w := &worklog.Device{Set: &taskdata.Set{}, Track: taskdata.Track{Bar: taskdata.Bar{Width: 6.2, Sections: []taskdata.Section{{Left: -3.1, Right: -0.1}, {Left: 0.1, Right: 3.1}}}}}
	half := plane.Metres(3.1)
	assert.Equal(t, []machine.Section{{Left: -half, Right: 0}, {Left: 0, Right: half}}, u.taskSections(2*half, w))
	require.Len(t, u.job.Warnings, 1)
	assert.Contains(t, u.job.Warnings[0].Text, "stand apart or lap by up to 0.200 m")
}

// Task sets that others wrote (isoxml-dotnet test data, Apache-2.0), with what
// their descriptions say.
func TestSetsOfOthers(t *testing.T) {
	areas := func(t *testing.T, track string) (*Job, *coverage.Map) {
		j, err := FromFlags(disk(nil), Flags{Tracks: []string{track}})
		require.NoError(t, err)
		m := measured(t, j)
		assert.Equal(t, m.Totals.Field, m.Totals.Skip+m.Totals.Covered+m.Totals.Unlogged)
		return j, m
	}
	// A simulated disc of 10 m on perfectly parallel passes, fields with and
	// without holes. Passes are 9.99 m apart on a sphere, which is 10.02 m on
	// WGS 84: so no overlap, but 2 cm of skip at each pass.
	for id, name := range map[string]string{"PFD-1": "ComplexField", "PFD-2": "FieldWithHoles"} {
		j, m := areas(t, outside(t, "isoxml-simulated-disc", "TASKDATA.zip")+"#"+id)
		assert.Equal(t, name, j.Fields[0].Name)
		assert.Equal(t, 10*plane.Metre, j.Machines[0].Implement.Width)
		assert.Less(t, m.Totals.Overlap.SquareMetres(), 0.001*m.Totals.Field.SquareMetres(), "overlap is nearly nil")
		assert.Greater(t, m.Totals.Covered.SquareMetres(), 0.95*m.Totals.Field.SquareMetres())
	}
	// A harvester of 9 m, driven by hand: passes 6.2 to 8.8 m apart, so that
	// 2 to 31 % of a pass is worked twice.
	// The set's own areas, and its sums of area (entry 116) and distance (117), the
	// last of each log: what was measured is within 7 and 4 % of the sums.
	says := [5][3]float64{{46_316, 48_300, 5504.126}, {38_922, 40_500, 4602.412}, {18_799, 19_500, 2224.858}, {28_445, 30_100, 3531.537}, {16_208, 18_000, 2134.623}}
	for task := 1; task <= 5; task++ {
		j, m := areas(t, fmt.Sprintf("%s#TSK%d", outside(t, "isoxml-forage-harvest-5-tasks"), task))
		assert.Equal(t, 9*plane.Metre, j.Machines[0].Implement.Width)
		said := says[task-1]
		assert.Equal(t, said[:], []float64{j.Stated.Field, j.Stated.Area, math.Round(j.Stated.Distance*1000) / 1000})
		assert.InEpsilon(t, said[1], m.Totals.Swept.SquareMetres(), 0.07)
		driven := 0.0
		for i := range m.Passes {
			driven += m.Passes[i].Length.Metres()
		}
		assert.InEpsilon(t, said[2], driven, 0.04)
		assert.Greater(t, m.Totals.Covered.SquareMetres(), 0.85*m.Totals.Field.SquareMetres())
		overlap := m.Totals.Overlap.SquareMetres() / m.Totals.Covered.SquareMetres()
		assert.True(t, overlap > 0.02 && overlap < 0.31, "task %d: %v", task, overlap)
	}
}

// outside finds a data set of others beside the repository; the test is
// skipped where it is not there.
func outside(t *testing.T, parts ...string) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for range 8 {
		path := filepath.Join(append([]string{dir, "shared", "data"}, parts...)...)
		if _, err := os.Stat(path); err == nil {
			return path
		}
		dir = filepath.Dir(dir)
	}
	t.Skip("the collection of real sets is not beside the repository")
	return ""
}
