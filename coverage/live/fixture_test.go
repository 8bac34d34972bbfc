package live_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/journal"
	"lapwing/geo/source"
)

// inputs are files in memory as those of a job.
func inputs(files fstest.MapFS) job.Inputs {
	return job.Inputs{Formats: format.Plain(), Files: source.Files{FS: files}}
}

// jobOf writes a field and its machines as a job without logs.
func jobOf(t testing.TB, land field.Field, machines []machine.Machine, more string) fstest.MapFS {
	t.Helper()
	var job, boundary strings.Builder
	fmt.Fprintf(&job, "field: %q\ntime_zone: UTC\n", land.Name)
	files := fstest.MapFS{}
	if len(land.Boundary) > 0 {
		require.NoError(t, covertest.WriteBoundary(&boundary, land, 0))
		files["farm/boundary.geojson"] = &fstest.MapFile{Data: []byte(boundary.String())}
		job.WriteString("boundary: boundary.geojson\n")
	} else {
		job.WriteString("boundary: worked\n")
	}
	job.WriteString("machines:\n")
	for _, m := range machines {
		im := &m.Implement
		fmt.Fprintf(&job, "  - name: %q\n    implement: {width: %v m, antenna_to_hitch: %v m, sections: %d", m.Name, im.Width.Metres(), im.AntennaToHitch.Metres(), len(im.Sections))
		if im.Towed {
			fmt.Fprintf(&job, ", mount: towed, hitch_to_bar: %v m", im.HitchToBar.Metres())
		}
		job.WriteString("}\n")
	}
	job.WriteString(more)
	files["farm/job.yaml"] = &fstest.MapFile{Data: []byte(job.String())}
	return files
}

// A run is a job that is replayed.
type run struct {
	files   fstest.MapFS
	live    *job.Live
	engine  *live.Engine
	sources []live.Source
	dir     string // where the journals are
	records [][]journal.Record
}

const cabJob = "out/cab-job.yaml"

// replayOf begins the replay of machines' logs on a job of these files.
func replayOf(t testing.TB, files fstest.MapFS, path string, machines []machine.Logged) *run {
	t.Helper()
	r := &run{files: files, dir: t.TempDir()}
	for i := range machines {
		if all := recordsOf(&machines[i]); len(all) > 0 {
			name := fmt.Sprintf("journal/%d.csv", len(r.sources))
			r.sources = append(r.sources, live.Source{Machine: machines[i].Name, Journal: name})
			r.records = append(r.records, all)
		}
	}
	bare, err := spec.Retrack(inputs(files).Files, path, cabJob, spec.Crew{})
	require.NoError(t, err)
	files[cabJob] = &fstest.MapFile{Data: bare}
	r.live, err = job.LoadLive(inputs(files), cabJob, job.Overrides{})
	require.NoError(t, err)
	r.engine, err = live.New(r.live, r.sources)
	require.NoError(t, err)
	return r
}

// recordsOf is what a cab would write of a machine's logs, in order of time.
func recordsOf(m *machine.Logged) []journal.Record {
	var all []journal.Record
	for k := range m.Tracks {
		t := &m.Tracks[k]
		for i := range t.Fixes {
			f := &t.Fixes[i]
			r := journal.Record{Fix: f.Fix, Machine: m.Name}
			r.Row = 0
			if year := r.Time.Time().Year(); t.NoClock || year < 1678 || year > 2261 || math.Abs(r.At.Lon) > 180 {
				continue // which no receiver says
			}
			if t.WorkingLogged && m.Working == machine.AsLogged {
				r.Working = map[bool]string{true: "1", false: "0"}[f.Working]
			}
			if n := len(m.Implement.Sections); n > 1 && t.WorkingLogged {
				r.Sections = sectionsOf(m.Implement.Sections, m.Implement.Open(t.States, f.State))
			}
			all = append(all, r)
		}
	}
	slices.SortStableFunc(all, func(a, b journal.Record) int { return int(max(-1, min(1, a.Time-b.Time))) })
	return all
}

func sectionsOf(sections []machine.Section, open machine.State) string {
	var bits strings.Builder
	for _, s := range sections {
		mid := (s.Left + s.Right) / 2
		if slices.ContainsFunc(open, func(o machine.Section) bool { return o.Left <= mid && mid < o.Right }) {
			bits.WriteByte('1')
		} else {
			bits.WriteByte('0')
		}
	}
	return bits.String()
}

// each calls do for each record of all sources, in order of time.
func (r *run) each(do func(source int, rec journal.Record)) {
	at := make([]int, len(r.records))
	for {
		next := -1
		for s := range r.records {
			if at[s] < len(r.records[s]) && (next < 0 || r.records[s][at[s]].Time < r.records[next][at[next]].Time) {
				next = s
			}
		}
		if next < 0 {
			return
		}
		do(next, r.records[next][at[next]])
		at[next]++
	}
}

// journals writes the records into journals, adds them to the job, and returns the files
// with both.
func (r *run) journals(t testing.TB, path string) fstest.MapFS {
	t.Helper()
	files := maps.Clone(r.files)
	root, err := os.OpenRoot(r.dir)
	require.NoError(t, err)
	defer root.Close()
	more := map[string][]string{}
	for s, all := range r.records {
		j, err := journal.Create(journal.In(root), r.sources[s].Machine, all[0].Time.Time(), journal.Options{Sync: -1, Waiting: 1 << 30})
		require.NoError(t, err)
		for i := range all {
			require.NoError(t, j.Append(all[i]))
		}
		require.NoError(t, j.Close())
		data, err := fs.ReadFile(root.FS(), j.Name())
		require.NoError(t, err)
		files[r.sources[s].Journal] = &fstest.MapFile{Data: data}
		more[r.sources[s].Machine] = []string{r.sources[s].Journal}
	}
	text, err := spec.Retrack(inputs(files).Files, path, cabJob, spec.Crew{Logs: more})
	require.NoError(t, err)
	files[cabJob] = &fstest.MapFile{Data: text}
	return files
}

// holdsLaw fails unless the answer of an engine that has seen all is that of assess on
// the job with the journals.
func (r *run) holdsLaw(t testing.TB, path string) {
	t.Helper()
	in := inputs(r.journals(t, path))
	j, err := job.Load(in, cabJob, job.Overrides{})
	require.NoError(t, err)
	want, err := assess.Do(j, j.Fields[0], assess.Options{OffRates: true})
	require.NoError(t, err)
	got, err := r.engine.Ask().Assess(assess.Options{OffRates: true})
	require.NoError(t, err)
	require.Equal(t, summaryOf(t, want), summaryOf(t, got))
}

func summaryOf(t testing.TB, a *assess.Assessment) string {
	var b bytes.Buffer
	require.NoError(t, a.WriteSummary(&b))
	return b.String()
}

// A day is a field worked by one machine, made up by a seed: 1 to 10 Hz, mounted and
// towed, 20 to 120 ft.
func day(seed uint64) *covertest.Scene {
	r := rand.New(rand.NewPCG(seed, 0xcab))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	width := math.Round(between(20, 120)) * 0.3048
	hz := []float64{1, 2, 5, 10}[seed%4]
	im := covertest.Mounted(width, between(0.5, 3), 4)
	lead := 0.0
	if seed/4%2 == 1 {
		im = covertest.Towed(width, between(1, 2.5), between(3, 9), 4)
		lead = (im.AntennaToHitch + im.HitchToBar).Metres()
	}
	across, along := (4+float64(r.IntN(6)))*width+2*width, between(6, 9)*max(width, 20)
	ground := covertest.Rectangle(-across/2, -along/2, across/2, along/2)
	s := covertest.NewScene(fmt.Sprintf("day %d", seed), ground)
	path := covertest.NewPath(max(8, 0.55*width)).Round(ground.Inset(width/2), max(8, 0.7*width), 2)
	path.Lines(covertest.Lines{Ground: ground.Inset(width), Width: width, Spacing: width - between(-0.05, 0.3), RunIn: lead + 6,
		Adjust: func(_ int, l *covertest.Line) { l.Across += 0.08 * r.NormFloat64() }})
	return s.Drive(covertest.Rig{Name: "drill", Implement: im, Path: path, Speed: between(1.8, 3.2), Rate: hz, Quality: geo.Fixed,
		Heading: seed%3 == 0, Seed: seed, Defects: []covertest.Defect{covertest.White(0.008), covertest.Drift(0.02, 300)}})
}

// outside is a folder of the public data sets, which need not be here.
func outside(t testing.TB, set string) string {
	dir := filepath.Join("..", "..", "..", "shared", "data", set)
	if _, err := os.Stat(dir); err != nil {
		t.Skipf("no %s: its logs were not replayed", dir)
	}
	return dir
}
