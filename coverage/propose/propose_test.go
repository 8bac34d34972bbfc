package propose

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/covertest"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/source"
	"lapwing/geo/source/sourcetest"
)

// stick are files in memory: what is proposed of them needs no disk.
type stick struct{ fstest.MapFS }

func newStick() stick { return stick{fstest.MapFS{}} }

func (s stick) write(name, text string) { s.MapFS[name] = &fstest.MapFile{Data: []byte(text)} }

func (s stick) inputs() job.Inputs {
	return job.Inputs{Files: source.Files{FS: s.MapFS}, Formats: append(format.Plain(), gpkg.Format)}
}

// look proposes what the files at some paths are.
func (s stick) look(t *testing.T, opt Options, paths ...string) *Season {
	t.Helper()
	opt.Dir = "season"
	season, err := Look(s.inputs(), paths, opt)
	require.NoError(t, err)
	return season
}

// jobs writes the files of a season into the stick and loads each job as assess
// does, by the path of the file.
func (s stick) jobs(t *testing.T, season *Season) map[string]*job.Job {
	t.Helper()
	for _, f := range season.Files() {
		var b bytes.Buffer
		require.NoError(t, f.Write(&b))
		s.write(path.Join("season", f.Name), b.String())
	}
	for _, c := range season.Copies {
		r, err := c.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		s.write(path.Join("season", c.Name), string(data))
	}
	jobs := map[string]*job.Job{}
	for _, p := range season.Proposals {
		j, err := job.Load(s.inputs(), path.Join("season", p.File), job.Overrides{})
		require.NoError(t, err, p.File)
		jobs[p.File] = j
	}
	return jobs
}

// origin is where the tests' fields lie.
var origin = geo.LonLat{Lon: -105, Lat: 40}

// box is a boundary: a rectangle, in metres.
func box(name string, x0, y0, x1, y1 float64) string {
	frame := geo.NewFrame(origin)
	var ring []string
	for _, c := range [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}} {
		p := frame.FromMetres(c[0], c[1])
		ring = append(ring, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
	}
	return fmt.Sprintf(`{"type":"Feature","properties":{"name":%q},"geometry":{"type":"Polygon","coordinates":[[%s]]}}`, name, strings.Join(ring, ","))
}

// collection is a file of several boundaries.
func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",") + `]}`
}

// A run is a log being driven: passes from south to north and back, a fix a
// second at 2 m/s.
type run struct {
	layout string
	at     time.Time
	head   string // further columns
	b      strings.Builder
}

const iso = "2006-01-02T15:04:05Z"

func newRun(begin string, head string) *run {
	at, err := time.Parse(iso, begin)
	if err != nil {
		panic(err)
	}
	return &run{layout: iso, at: at, head: head}
}

// lines drives passes beside one another, the first at x, from y0 to y1.
func (r *run) lines(passes int, x, apart, y0, y1 float64, more string) *run {
	for pass := range passes {
		at := x + float64(pass)*apart
		if pass%2 == 0 {
			r.line(at, y0, at, y1, more)
		} else {
			r.line(at, y1, at, y0, more)
		}
	}
	return r
}

// line drives one pass.
func (r *run) line(x0, y0, x1, y1 float64, more string) {
	frame := geo.NewFrame(origin)
	n := int(math.Hypot(x1-x0, y1-y0)/2) + 1
	for i := 0; i <= n; i++ {
		k := float64(i) / float64(n)
		p := frame.FromMetres(x0+k*(x1-x0), y0+k*(y1-y0))
		work := 1
		if i == n {
			work = 0
		}
		fmt.Fprintf(&r.b, "%s,%.9f,%.9f,%d%s\n", r.at.Format(r.layout), p.Lat, p.Lon, work, more)
		r.at = r.at.Add(time.Second)
	}
	r.at = r.at.Add(20 * time.Second)
}

func (r *run) String() string { return "time,lat,lon,working" + r.head + "\n" + r.b.String() }

// value is the line of a key in an implement.
func value(t *testing.T, m *Machine, key string) Guess {
	t.Helper()
	for _, l := range m.Implement {
		if l.Key == key {
			return l.Guess
		}
	}
	return Guess{}
}

const day = "2026-04-02T15:00:00Z"

// A log alone is a job that can be assessed. The width is how far passes lie
// apart, to a centimetre or a hundredth of a foot, and no rounder.
func TestSpacedWidth(t *testing.T) {
	s := newStick()
	s.write("a log: with #signs.csv", newRun(day, "").lines(9, 0, 40*quantity.Foot-0.05, 0, 200, "").String())
	season := s.look(t, Options{}, "a log: with #signs.csv")
	require.Len(t, season.Proposals, 1)
	p := season.Proposals[0]
	assert.Equal(t, "a log: with #signs", p.Field)
	assert.Nil(t, p.Boundary)
	width := value(t, season.Machines[0], "width")
	assert.Equal(t, "39.84 ft", width.Text)
	assert.Equal(t, Likely, width.Sure)
	assert.Contains(t, width.Why, "half of 9 neighbouring passes lie 39.84 ft to 39.84 ft apart")
	assert.Empty(t, season.Questions())
	for _, j := range s.jobs(t, season) {
		assert.Equal(t, "machine 1", j.Machines[0].Name)
		assert.True(t, j.Fields[0].Worked)
	}
	season = s.look(t, Options{Units: quantity.Metric}, "a log: with #signs.csv")
	assert.Equal(t, "12.14 m", value(t, season.Machines[0], "width").Text)
	season = s.look(t, Options{Width: "33 ft"}, "a log: with #signs.csv")
	assert.Equal(t, Guess{"33 ft", Told, "as given"}, value(t, season.Machines[0], "width"))

	// What does not tell the width is one line to fill in, with the best guess.
	s.write("few.csv", newRun(day, "").lines(2, 0, 12, 0, 200, "").String())
	season = s.look(t, Options{Units: quantity.Metric}, "few.csv")
	require.Len(t, season.Questions(), 1)
	q := season.Questions()[0]
	assert.Equal(t, "width", q.About)
	assert.Equal(t, "", q.Best.Text)
	assert.Contains(t, q.Best.Why, "2 passes lie beside another, too few to tell it by")
	assert.Equal(t, season.Proposals, q.Jobs)
	uneven := newRun(day, "").lines(5, 0, 12, 0, 200, "").lines(5, 300, 17, 0, 200, "")
	s.write("uneven.csv", uneven.String())
	season = s.look(t, Options{Units: quantity.Metric}, "uneven.csv")
	require.Len(t, season.Questions(), 1)
	assert.Contains(t, season.Questions()[0].Best.Why, "too uneven to tell it by: half of 10 neighbouring passes lie 12 m to 17 m apart")
	assert.NotEmpty(t, season.Questions()[0].Best.Text)
}

// Times without a zone are taken as local where that puts the work in the day.
func TestProposeZone(t *testing.T) {
	for name, c := range map[string]struct{ begin, want string }{
		"local": {"2026-04-02T09:00:00Z", "Etc/GMT+7"},
		"utc":   {"2026-04-02T17:00:00Z", "UTC"},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStick()
			r := newRun(c.begin, "")
			r.layout = "2006-01-02 15:04:05"
			s.write("day.csv", r.lines(9, 0, 12, 0, 200, "").String())
			season := s.look(t, Options{}, "day.csv")
			assert.Equal(t, c.want, season.Proposals[0].Zone.Text)
			assert.Contains(t, season.Proposals[0].Zone.Why, "918 times carry no zone")
			for _, j := range s.jobs(t, season) {
				assert.Empty(t, j.Warnings)
			}
		})
	}
}

// A machine column names the machines, and a width column gives each its own
// width; sections are the parts of the bar.
func TestMachinesOfOneFile(t *testing.T) {
	s := newStick()
	r := newRun(day, ",machine,sections,swath_width_m")
	r.lines(4, 0, 9, 0, 200, ",yes,1111,9.0")
	r.lines(4, 40, 13.2, 0, 200, ",wide,111111,13.2")
	s.write("both.csv", r.String())
	season := s.look(t, Options{}, "both.csv")
	require.Len(t, season.Machines, 2)
	yes, wide := season.Machines[0], season.Machines[1]
	assert.Equal(t, "9 m", value(t, yes, "width").Text)
	assert.Equal(t, "13.2 m", value(t, wide, "width").Text)
	assert.Equal(t, Told, value(t, wide, "width").Sure)
	assert.Equal(t, "4", value(t, yes, "sections").Text)
	assert.Equal(t, "6", value(t, wide, "sections").Text)
	for _, j := range s.jobs(t, season) {
		require.Equal(t, 2, len(j.Machines))
		for _, w := range j.Warnings { // what the other machine logs is no doubt about this one
			assert.Equal(t, 408, w.Count, w.Text)
		}
		assert.Equal(t, "yes", j.Machines[0].Name)
		assert.InDelta(t, 13.2, j.Machines[1].Implement.Width.Metres(), 1e-9)
	}
}

// Logs that name no machine are of one unless they tell of two widths, or of two
// places at a time; each has its own width.
func TestSeveralLogs(t *testing.T) {
	s := newStick()
	s.write("monday.csv", newRun(day, ",swath_width_ft").lines(5, 0, 12, 0, 200, ",40").String())
	s.write("tuesday.csv", newRun("2026-04-03T15:00:00Z", ",swath_width_ft").lines(5, 60, 12, 0, 200, ",40").String())
	s.write("other.csv", newRun("2026-04-03T18:00:00Z", ",swath_width_m").lines(5, 120, 6, 0, 200, ",6").String())
	s.write("same time.csv", newRun("2026-04-03T15:00:00Z", ",swath_width_m").lines(5, 150, 6, 0, 200, ",6").String())
	season := s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 1)
	of := map[string]*Machine{}
	for _, d := range season.Proposals[0].Drives {
		of[d.Path] = d.machine
	}
	assert.Same(t, of["monday.csv"], of["tuesday.csv"])
	assert.Same(t, of["other.csv"], of["same time.csv"])
	assert.NotSame(t, of["monday.csv"], of["other.csv"])
	assert.Equal(t, "40 ft", value(t, of["monday.csv"], "width").Text)
	assert.Equal(t, "6 m", value(t, of["other.csv"], "width").Text)

	// Of a log without a width, how far its passes lie apart tells.
	s = newStick()
	s.write("a.csv", newRun(day, "").lines(5, 0, 12, 0, 200, "").String())
	s.write("b.csv", newRun("2026-04-03T15:00:00Z", "").lines(5, 60, 12, 0, 200, "").String())
	s.write("c.csv", newRun("2026-04-04T15:00:00Z", "").lines(5, 120, 14, 0, 200, "").String())
	season = s.look(t, Options{Units: quantity.Metric}, ".")
	require.Len(t, season.Machines, 2)
	assert.Equal(t, "12 m", value(t, season.Machines[0], "width").Text)
	assert.Equal(t, "14 m", value(t, season.Machines[1], "width").Text)

	// A day that never worked the whole bar is of the same: its passes tell.
	s = newStick()
	s.write("a.csv", newRun(day, ",swath_width_m").lines(5, 0, 12, 0, 200, ",9").String())
	s.write("b.csv", newRun("2026-04-03T15:00:00Z", ",swath_width_m").lines(5, 60, 12, 0, 200, ",12").String())
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Machines, 1)
	assert.Equal(t, "12 m", value(t, season.Machines[0], "width").Text)

	// One name with two bars: two jobs, each with its own.
	s = newStick()
	s.write("a.csv", newRun(day, ",swath_width_m,machine").lines(5, 0, 12, 0, 200, ",12,old red").String())
	s.write("b.csv", newRun("2026-04-03T15:00:00Z", ",swath_width_m,machine").lines(5, 60, 24, 0, 200, ",24,old red").String())
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 2)
	s.jobs(t, season)
	s.write("c.csv", newRun("2026-04-02T17:00:00Z", ",machine").lines(2, 200, 12, 0, 200, ",old red").String())
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Questions(), 1, "which of the two bars, nobody says")
	delete(s.MapFS, "b.csv")
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Machines, 1, "of the same days and name, it is the same")
	s.jobs(t, season)

	// A width that is given is that of all machines, whatever parts the logs tell of.
	season = s.look(t, Options{Width: "40 ft"}, ".")
	assert.Equal(t, Guess{"40 ft", Told, "as given"}, value(t, season.Machines[0], "width"))

	// Two machines whose passes alternate: the spacing of each is that of both.
	s = newStick()
	s.write("a.csv", newRun(day, "").lines(6, 0, 24, 0, 200, "").String())
	s.write("b.csv", newRun(day, "").lines(6, 12, 24, 0, 200, "").String())
	season = s.look(t, Options{Units: quantity.Metric}, ".")
	require.Len(t, season.Proposals, 1)
	require.Len(t, season.Questions(), 2)
	assert.Contains(t, season.Questions()[0].Best.Why, "passes of another machine lie between its own")
	assert.Equal(t, "a", season.Machines[0].Name)
}

// Logs go to the fields that they work on, by place; a way across is no work.
func TestOnlyAcross(t *testing.T) {
	s := newStick()
	s.write("fields.geojson", collection(box("West", 0, 0, 120, 200), box("East", 200, 0, 320, 200), box("", 400, 0, 520, 200), box("Far", 1000, 0, 1200, 200)))
	r := newRun(day, ",swath_width_m").lines(10, 6, 12, 0, 200, ",12").lines(2, 206, 12, 0, 200, ",12").lines(10, 406, 12, 0, 200, ",12")
	r.line(990, 100, 1040, 100, ",12") // 40 m into the far field
	s.write("day.csv", r.String())
	season := s.look(t, Options{}, ".")
	var fields []string
	for _, p := range season.Proposals {
		fields = append(fields, p.Field)
	}
	assert.Equal(t, []string{"East", "fields 3", "West"}, fields)
	assert.Contains(t, season.LeftText(), "fields.geojson (Far): no log works on it")
	jobs := s.jobs(t, season)
	require.Len(t, jobs, 3)
	assert.InDelta(t, 24000, area(jobs["fields-3/job.yaml"]), 1) // the third has no name: its boundary stands beside the job
	assert.InDelta(t, 24000, area(jobs["west/job.yaml"]), 1)
	assert.Equal(t, "West", jobs["west/job.yaml"].Fields[0].Name)
}

func area(j *job.Job) (m2 float64) {
	for _, p := range j.Fields[0].Boundary {
		m2 += p.Area().SquareMetres()
	}
	return m2
}

// A log of several fields without a boundary is divided by the times at which it was
// on each: one job a field, each of its part of the log. So is what it did beside the
// fields that have one.
func TestGrounds(t *testing.T) {
	fields := func() *run {
		r := newRun(day, ",swath_width_m")
		r.lines(5, 6, 12, 0, 200, ",12").lines(5, 406, 12, 0, 200, ",12").lines(5, 66, 12, 0, 200, ",12").lines(5, 466, 12, 0, 200, ",12")
		r.line(700, 0, 740, 0, ",12") // 40 m on the yard
		return r
	}
	s := newStick()
	s.write("day.csv", fields().String())
	season := s.look(t, Options{Units: quantity.Metric}, ".")
	require.Len(t, season.Proposals, 2)
	for _, p := range season.Proposals {
		require.Len(t, p.Drives, 1)
		assert.Len(t, p.Drives[0].Parts, 2)
		assert.Len(t, p.Machines(), 1)
	}
	assert.Same(t, season.Proposals[0].Drives[0].machine, season.Proposals[1].Drives[0].machine)
	assert.Contains(t, season.LeftText(), "day.csv: 38 m of its passes lie apart from the fields that it works on")
	for file, j := range s.jobs(t, season) {
		m, err := coverage.Measure(j.Fields[0], j.Machines, j.Options)
		require.NoError(t, err)
		assert.InDelta(t, 24000, m.Totals.Covered.SquareMetres(), 300, file)
		assert.Len(t, m.Passes, 10, file)
	}

	s.write("west.geojson", box("West", 0, 0, 126, 200))
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 2)
	assert.Equal(t, "day", season.Proposals[0].Field)
	assert.Nil(t, season.Proposals[0].Boundary)
	assert.Equal(t, "West", season.Proposals[1].Field)
	assert.Empty(t, season.Proposals[1].Drives[0].Parts)
	s.jobs(t, season)

	// Without times the grounds are one job, which says so.
	s = newStick()
	text := strings.Split(strings.TrimSpace(fields().String()), "\n")
	for i := range text {
		_, text[i], _ = strings.Cut(text[i], ",")
	}
	s.write("day.csv", strings.Join(text, "\n")+"\n")
	season = s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 1)
	assert.Contains(t, season.Proposals[0].Notes[0], "the work lies on 2 grounds apart from one another")
	s.jobs(t, season)
}

// The passes of a neighbour that lap a common edge are not over-reach: a job has only
// the part of the log in which the machine was on its field.
func TestNeighbours(t *testing.T) {
	s := newStick()
	s.write("fields.geojson", collection(box("West", 0, 0, 120, 200), box("East", 120, 0, 240, 200)))
	r := newRun(day, ",swath_width_m").lines(10, 6, 12, 0, 200, ",12").lines(10, 125.9, 12, 0, 200, ",12")
	s.write("day.csv", r.String())
	season := s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 2)
	jobs := s.jobs(t, season)
	for file, most := range map[string]float64{"east/job.yaml": 30, "west/job.yaml": 5} { // 0.1 m along the edge, and what the lattice of fixes makes of it
		m, err := coverage.Measure(jobs[file].Fields[0], jobs[file].Machines, jobs[file].Options)
		require.NoError(t, err)
		assert.Len(t, m.Passes, 10, file)
		assert.Less(t, m.Totals.OverReach.SquareMetres(), most, file)
	}
	// The whole log instead has the neighbour's pass along the edge: 2,400 m².
	whole, err := job.FromFlags(s.inputs(), job.Flags{Tracks: []string{"day.csv"}, Boundaries: []string{"fields.geojson"}, Width: "12 m", Overrides: job.Overrides{ManyFields: true}})
	require.NoError(t, err)
	m, err := coverage.Measure(whole.Fields[0], whole.Machines, whole.Options)
	require.NoError(t, err)
	assert.Greater(t, m.Totals.OverReach.SquareMetres(), 2000.0)
}

// A boundary that is there twice, drawn a little otherwise, is one field.
func TestTwinFields(t *testing.T) {
	s := newStick()
	s.write("a.geojson", box("Home", 0, 0, 120, 200))
	s.write("b.geojson", box("home 2025", 1, 1, 120, 199.5))
	s.write("c.geojson", box("half", 0, 0, 60, 200))
	s.write("day.csv", newRun(day, ",swath_width_m").lines(5, 66, 12, 0, 200, ",12").String())
	season := s.look(t, Options{}, ".")
	require.Len(t, season.Proposals, 1)
	assert.Equal(t, "Home", season.Proposals[0].Field)
	assert.Contains(t, season.LeftText(), "b.geojson: the same ground as a.geojson")
	assert.Contains(t, season.LeftText(), "c.geojson: no log works on it")
}

// What was done on a field is one job as long as it is one operation.
func TestOperations(t *testing.T) {
	whole := func(begin string) string {
		return newRun(begin, ",swath_width_m").lines(10, 6, 12, 0, 200, ",12").String()
	}
	half := func(begin string, x float64) string {
		return newRun(begin, ",swath_width_m").lines(5, x, 12, 0, 200, ",12").String()
	}
	wide := func(begin string) string {
		return newRun(begin, ",swath_width_m").lines(5, 12, 24, 0, 200, ",24").String()
	}
	narrow := func(begin string, x float64) string {
		return newRun(begin, ",swath_width_m").lines(10, x, 6, 0, 200, ",6").String()
	}
	for _, c := range []struct {
		name string
		logs []string
		want int
	}{
		{"two days of one drill", []string{half("2026-04-02T15:00:00Z", 6), half("2026-04-04T15:00:00Z", 66)}, 1},
		{"rain between two drills", []string{half("2026-04-02T15:00:00Z", 6), narrow("2026-04-10T15:00:00Z", 63)}, 1},
		{"spring and autumn", []string{half("2026-04-02T15:00:00Z", 6), half("2026-09-02T15:00:00Z", 66)}, 2},
		{"two drills at once", []string{half("2026-04-02T15:00:00Z", 6), narrow("2026-04-02T15:00:00Z", 63)}, 1},
		{"harrowed ahead of the drill", []string{wide("2026-04-02T15:00:00Z"), whole("2026-04-02T15:10:00Z")}, 2},
		{"a strip done again by another", []string{whole("2026-04-02T15:00:00Z"), newRun("2026-04-03T15:00:00Z", ",swath_width_m").lines(3, 6, 6, 0, 200, ",6").String()}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newStick()
			s.write("home.geojson", box("Home", 0, 0, 120, 200))
			for i, log := range c.logs {
				s.write(fmt.Sprintf("log%d.csv", i), log)
			}
			season := s.look(t, Options{}, ".")
			assert.Len(t, season.Proposals, c.want)
			s.jobs(t, season)
		})
	}
}

// Rounds along the boundary are those that were driven.
func TestRounds(t *testing.T) {
	for rounds, want := range []string{"1", "1", "2", "3"} {
		s := newStick()
		s.write("home.geojson", box("Home", 0, 0, 400, 300))
		r := newRun(day, ",swath_width_m")
		for k := range rounds {
			in := 6 + 12*float64(k)
			r.line(in, in, 400-in, in, ",12")
			r.line(400-in, in, 400-in, 300-in, ",12")
			r.line(400-in, 300-in, in, 300-in, ",12")
			r.line(in, 300-in, in, in, ",12")
		}
		deep := 12 * float64(rounds)
		r.lines(int((400-2*deep)/12), deep+6, 12, deep, 300-deep, ",12")
		s.write("day.csv", r.String())
		got := s.look(t, Options{}, ".").Proposals[0].Rounds
		assert.Equal(t, want, got.Text, "%d rounds: %s", rounds, got.Why)
		if rounds == 0 {
			assert.Equal(t, Guessed, got.Sure)
		} else {
			assert.Equal(t, Likely, got.Sure)
		}
	}
	s := newStick()
	s.write("day.csv", newRun(day, "").lines(9, 0, 12, 0, 200, "").String())
	assert.Equal(t, Guess{"1", Guessed, "there is no boundary to count rounds along"}, s.look(t, Options{}, ".").Proposals[0].Rounds)
}

// A task set names itself and its task; its fields, widths, sections and hitches
// are in the job, which then measures as the set alone does.
func TestTaskSet(t *testing.T) {
	scene := covertest.Small(0.02, 7)
	m := &scene.Machines[0]
	m.Implement = covertest.Towed(6, 1.5, 4, 4)
	dir := t.TempDir()
	set := filepath.Join(dir, "TASKDATA")
	require.NoError(t, os.Mkdir(set, 0o755))
	require.NoError(t, covertest.WriteTaskSet(set, scene.Field, scene.Machines))
	s := stick{fstest.MapFS{}}
	entries, err := os.ReadDir(set)
	require.NoError(t, err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(set, e.Name()))
		require.NoError(t, err)
		text := strings.Replace(string(data), `<PFD A="PFD1" `, `<PFD A="PFD1" G="CTP4" `, 1)
		s.write("stick/TASKDATA/"+e.Name(), strings.Replace(text, "<PFD", `<CTP A="CTP4" B="Oats: spring"/><PFD`, 1))
	}
	season := s.look(t, Options{}, "stick")
	require.Len(t, season.Proposals, 1)
	p := season.Proposals[0]
	assert.Equal(t, "stick/TASKDATA#PFD1", filepath.ToSlash(p.Boundary.Path))
	assert.Equal(t, "stick/TASKDATA#TSK1", filepath.ToSlash(p.Drives[0].Path))
	drill := season.Machines[0]
	assert.Equal(t, "drill", drill.Name)
	for key, want := range map[string]string{"width": "6 m", "sections": "4", "mount": "towed", "antenna_to_hitch": "1.5 m", "hitch_to_bar": "4 m"} {
		assert.Equal(t, want, value(t, drill, key).Text, key)
	}
	for _, j := range s.jobs(t, season) {
		alone, err := job.FromFlags(s.inputs(), job.Flags{Tracks: []string{"stick/TASKDATA"}})
		require.NoError(t, err)
		assert.Equal(t, alone.Machines[0].Implement.Width, j.Machines[0].Implement.Width)
		assert.Equal(t, alone.Machines[0].Implement.Sections, j.Machines[0].Implement.Sections)
		assert.Equal(t, alone.Machines[0].Implement.HitchToBar, j.Machines[0].Implement.HitchToBar)
		assert.Equal(t, alone.Fields[0].Boundary, j.Fields[0].Boundary)
		assert.Equal(t, &agronomy.Crop{Name: "Oats: spring"}, j.Crop)
	}
}

// A set in an archive by itself is named there; beside other files it is copied out,
// with all that is of it.
func TestTaskSetInAnArchive(t *testing.T) {
	scene := covertest.Small(0.02, 7)
	set := t.TempDir()
	require.NoError(t, covertest.WriteTaskSet(set, scene.Field, scene.Machines))
	files := map[string]string{}
	entries, err := os.ReadDir(set)
	require.NoError(t, err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(set, e.Name()))
		require.NoError(t, err)
		files["TASKDATA/"+e.Name()] = string(data)
	}
	s := newStick()
	s.write("stick.zip", zipped(t, files))
	season := s.look(t, Options{}, "stick.zip")
	assert.Equal(t, "stick.zip#TSK1", season.Proposals[0].Drives[0].Path)
	assert.Empty(t, season.Copies)
	s.jobs(t, season)

	files["fields.geojson"] = box("elsewhere", 0, 0, 100, 100)
	s.write("stick.zip", zipped(t, files))
	season = s.look(t, Options{}, "stick.zip")
	assert.Equal(t, "season/files/stick/TASKDATA#TSK1", filepath.ToSlash(season.Proposals[0].Drives[0].Path))
	assert.Len(t, season.Copies, len(entries))
	assert.Contains(t, season.LeftText(), "stick.zip/fields.geojson: no log works on it")
	s.jobs(t, season)
}

// What is in an archive is found as in a folder, and what jobs name of it is
// copied out. An archive that is one thing is named as it is.
func TestArchive(t *testing.T) {
	s := newStick()
	log := newRun(day, ",swath_width_m").lines(10, 6, 12, 0, 200, ",12").String()
	s.write("stick.zip", zipped(t, map[string]string{"maps/home.geojson": box("Home", 0, 0, 120, 200), "logs/day.csv": log, "logs/._day.csv": "junk", "readme.md": "hello"}))
	season := s.look(t, Options{}, "stick.zip")
	require.Len(t, season.Proposals, 1)
	var names []string
	for _, c := range season.Copies {
		names = append(names, c.Name)
	}
	slices.Sort(names)
	assert.Equal(t, []string{"files/stick/logs/day.csv", "files/stick/maps/home.geojson"}, names)
	assert.Contains(t, season.LeftText(), "stick.zip/readme.md: no log, no boundary and no task set")
	assert.InDelta(t, 24000, area(s.jobs(t, season)["home/job.yaml"]), 1)
	assert.NoError(t, season.Close())
}

// A table of easting and northing goes with the .prj that says of which map they are.
func TestTableOnAMap(t *testing.T) {
	const map14 = `PROJCS["UTM 14 N",GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",-99],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1]]`
	var b strings.Builder
	b.WriteString("time,easting,northing,work,swath_width_m\n")
	for lane := range 4 {
		for i := range 60 {
			y := 5_200_000 + 3*i
			if lane%2 == 1 {
				y = 5_200_000 + 3*(59-i)
			}
			at := time.Date(2026, 5, 4, 6, 0, 100*lane+i, 0, time.UTC)
			fmt.Fprintf(&b, "%s,%d,%d,1,12\n", at.Format(time.RFC3339), 500_000+12*lane, y)
		}
	}
	files := map[string]string{"logs/day.csv": b.String(), "logs/day.prj": map14, "logs/day.csvt": `"String","CoordX","CoordY"`}
	folder, archive := newStick(), newStick()
	for name, text := range files {
		folder.write("stick/"+name, text)
	}
	archive.write("stick.zip", zipped(t, files))
	for _, c := range []struct {
		on   stick
		path string
	}{{folder, "stick"}, {archive, "stick.zip"}} {
		season := c.on.look(t, Options{}, c.path)
		require.Len(t, season.Proposals, 1, c.path)
		assert.Empty(t, season.LeftText(), c.path)
		jobs := c.on.jobs(t, season) // which opens them with what was copied out of an archive
		require.Len(t, jobs, 1)
		for _, j := range jobs {
			assert.InDelta(t, -99, j.Machines[0].Tracks[0].Fixes[0].At.Lon, 0.001)
		}
	}

	// The .prj may come after the table, which is read again then.
	late := newStick()
	late.write("stick/day.csv", files["logs/day.csv"])
	var known Known
	for _, jobs := range []int{0, 1} {
		season, err := Survey(late.inputs(), []string{"stick"}, Options{Flat: true, Known: &known})
		require.NoError(t, err)
		assert.Len(t, season.Proposals, jobs)
		late.write("stick/day.prj", map14)
	}
}

func zipped(t *testing.T, files map[string]string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range files {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, text)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.String()
}

// Whatever has no place says why; a file that the call names is an error.
func TestLeft(t *testing.T) {
	s := newStick()
	log := newRun(day, ",swath_width_m").lines(10, 6, 12, 0, 200, ",12").String()
	s.write("in/day.csv", log)
	s.write("in/again.csv", log)
	s.write("in/broken.csv", "lat,lon\nnorth,south\n")
	s.write("in/job.yaml", "field: x\nmachines: []\n")
	s.write("in/photo.png", "\x89PNG\r\n\x1a\n\x00\x00")
	s.write("in/walk.gpx", `<gpx version="1.1" creator="x"><trk><trkseg><trkpt lat="41" lon="-105"/><trkpt lat="41.001" lon="-105"/><trkpt lat="41.002" lon="-105.001"/></trkseg></trk></gpx>`)
	s.write("in/.hidden/day.csv", log)
	s.write("in/out/coverage.geojson", `{"type":"FeatureCollection","generator":"lapwing","features":[`+box("x", 0, 0, 9, 9)+`]}`)
	season := s.look(t, Options{}, "in")
	text := filepath.ToSlash(strings.Join(season.LeftText(), "\n"))
	for _, want := range []string{
		"in/day.csv: the same fixes as in/again.csv",
		"in/broken.csv: line 2: ",
		"in/job.yaml: a job file already",
		"in/photo.png: no log, no boundary and no task set",
		"in/walk.gpx: ",
		"in/.hidden: hidden, not looked at",
		"in/out/coverage.geojson: lapwing wrote it",
	} {
		assert.Contains(t, text, want)
	}
	for name, want := range map[string]string{
		"none.csv":      "none.csv: no such file, want a log or a boundary",
		"in/broken.csv": "in/broken.csv:2: ",
	} {
		_, err := Look(s.inputs(), []string{name}, Options{})
		var wrong *spec.InputError
		require.ErrorAs(t, err, &wrong)
		assert.Contains(t, err.Error(), want)
	}
	s.write("only/photo.png", "\x89PNG")
	_, err := Look(s.inputs(), []string{"only"}, Options{})
	assert.ErrorContains(t, err, "found no log, want a boundary and one log of fixes or more")
}

// Real logs of others: the width as they have it, and the jobs load.
func TestRealFolders(t *testing.T) {
	dir := sharedData(t)
	in := job.Inputs{Files: sourcetest.Disk(nil), Formats: append(format.Plain(), gpkg.Format)}
	for name, want := range map[string]map[string]string{
		// 480 in, and four records of 5.9998 ft at a time, by the columns; 360 in of a
		// column that names no unit, in steps of 30 in: the folders' SOURCE.md.
		"barley-harvest-2015":   {"width": "480 in", "rounds": "2"},
		"oats-harvest-2017":     {"width": "23.9992 ft", "sections": "4", "mount": "mounted", "antenna_to_hitch": "0 m"},
		"corn-harvest-gartner":  {"width": "360 in", "openers": "12", "row_spacing": "30 in"},
		"isoxml-simulated-disc": {"width": "10 m"},
		// A boom of about 100 ft = 30.48 m, as polygons.
		"n-topdress-2016-middle-polygons": {"width": "30.485 m", "antenna_to_hitch": "0 m"},
		"isoxml-forage-harvest-5-tasks":   {"width": "9 m", "openers": "12", "row_spacing": "0.75 m"},
	} {
		t.Run(name, func(t *testing.T) {
			out := t.TempDir()
			season, err := Look(in, []string{filepath.Join(dir, name)}, Options{Dir: out})
			require.NoError(t, err)
			require.Len(t, season.Machines, 1)
			for key, text := range want {
				if key == "rounds" {
					assert.Equal(t, text, season.Proposals[0].Rounds.Text)
					continue
				}
				assert.Equal(t, text, value(t, season.Machines[0], key).Text, key)
			}
			for _, f := range season.Files() {
				at := filepath.Join(out, filepath.FromSlash(f.Name))
				require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
				var b bytes.Buffer
				require.NoError(t, f.Write(&b))
				require.NoError(t, os.WriteFile(at, b.Bytes(), 0o644))
			}
			for _, p := range season.Proposals {
				_, err := job.Load(in, filepath.Join(out, filepath.FromSlash(p.File)), job.Overrides{})
				assert.NoError(t, err)
			}
		})
	}
}

// sharedData finds the data sets of others beside the repository; the test is
// skipped where they are not there.
func sharedData(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for range 8 {
		at := filepath.Join(dir, "shared", "data")
		if _, err := os.Stat(at); err == nil {
			return at
		}
		dir = filepath.Dir(dir)
	}
	t.Skip("the collection of real sets is not beside the repository")
	return ""
}

// What is known of a file holds as long as the file does: one that changes is read
// again, and the rest is not.
func TestKnown(t *testing.T) {
	s := newStick()
	s.write("in/home.geojson", box("Home", 0, 0, 120, 200))
	s.write("in/day1.csv", newRun("2026-05-04T08:00:00Z", "").lines(6, 6, 12, 0, 200, "").String())
	var known Known
	survey := func() *Season {
		t.Helper()
		season, err := Survey(s.inputs(), []string{"in"}, Options{Flat: true, Known: &known})
		require.NoError(t, err)
		return season
	}
	first, again := survey(), survey()
	require.Len(t, first.Finds, 2)
	for i := range first.Finds {
		assert.Same(t, first.Finds[i], again.Finds[i])
	}
	require.Len(t, again.Proposals, 1)
	assert.Equal(t, "home.yaml", again.Proposals[0].File)
	assert.Len(t, again.Proposals[0].Drives, 1)
	s.write("in/day1.csv", newRun("2026-05-04T08:00:00Z", "").lines(4, 6, 12, 0, 200, "").String())
	changed := survey()
	assert.NotSame(t, first.Finds[0], changed.Finds[0])
	assert.Same(t, first.Finds[1], changed.Finds[1])
	delete(s.MapFS, "in/day1.csv")
	assert.Empty(t, survey().Proposals, "boundaries alone are no error, and no job")
	assert.Len(t, known.files, 1, "what has gone is forgotten")
}
