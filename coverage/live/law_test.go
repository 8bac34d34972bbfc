package live_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v4"

	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
	"lapwing/geo/source"
)

// onDisk are the files of this checkout and beside it.
func onDisk() job.Inputs {
	return job.Inputs{Formats: format.Plain(), Files: source.Files{FS: os.DirFS("/"), Name: func(path string) (string, error) {
		at, err := filepath.Abs(path)
		return strings.Trim(filepath.ToSlash(at), "/"), err
	}}}
}

// Law: when the stream ends the answer is that of assess on the job with the journals
// added, to the byte. Here on every sample and case.
func TestLawOnSamplesAndCases(t *testing.T) {
	var jobs []string
	for _, pattern := range []string{"../../samples/*/job.yaml", "../../testdata/cases/*/job.yaml"} {
		found, err := filepath.Glob(pattern)
		require.NoError(t, err)
		jobs = append(jobs, found...)
	}
	held := 0
	for _, path := range jobs {
		t.Run(filepath.Base(filepath.Dir(path)), func(t *testing.T) {
			j, err := job.Load(onDisk(), path, job.Overrides{ManyFields: true})
			require.NoError(t, err)
			files := withoutLogs(t, path)
			r := replayOf(t, files, "farm/job.yaml", j.Machines)
			if len(r.sources) == 0 {
				t.Skip("its logs have no times, and so were never live")
			}
			if j.Operation != "" || len(j.Works()) > 1 {
				t.Skip("it is of several operations")
			}
			r.drive()
			r.holdsLaw(t, "farm/job.yaml")
			held++
		})
	}
	assert.Greater(t, held, 15)
}

// withoutLogs are the files of a job, which has no logs any more, as farm/job.yaml.
func withoutLogs(t *testing.T, path string) fstest.MapFS {
	files := fstest.MapFS{}
	names, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	require.NoError(t, err)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		if filepath.Base(name) == "job.yaml" {
			var doc yaml.Node
			require.NoError(t, yaml.Unmarshal(data, &doc))
			strip(&doc)
			data, err = yaml.Marshal(&doc)
			require.NoError(t, err)
		}
		files["farm/"+filepath.Base(name)] = &fstest.MapFile{Data: data}
	}
	return files
}

// strip takes the logs, and what names columns of them, out of a job.
func strip(n *yaml.Node) {
	kept := n.Content[:0:0]
	for i := 0; i < len(n.Content); i++ {
		if n.Kind == yaml.MappingNode && i%2 == 0 {
			switch key := n.Content[i].Value; {
			case key == "tracks", key == "logged_rate", key == "working":
				i++
				continue
			}
		}
		strip(n.Content[i])
		kept = append(kept, n.Content[i])
	}
	n.Content = kept
}

// Law, on the logs of public data sets; what was said on the way agrees with the map.
func TestLawOnRealLogs(t *testing.T) {
	for _, c := range []struct{ set, boundary, track, width string }{
		{set: "oats-harvest-2017", boundary: "boundary.geojson", track: "yield.csv.gz", width: "24 ft"},
		{set: "barley-harvest-2015", boundary: "boundary.geojson", track: "yield.csv.gz", width: "40 ft"},
		{set: "corn-harvest-gartner", track: "yield.csv", width: "30 ft"},
		{set: "isoxml-forage-harvest-5-tasks", track: "TASKDATA", width: "9 m"},
		{set: "isoxml-simulated-disc", track: "TASKDATA.zip"},
		{set: "n-topdress-2016-middle-polygons", boundary: "boundary.geojson", track: "applied-polygons.zip", width: "100 ft"},
	} {
		t.Run(c.set, func(t *testing.T) {
			dir := outside(t, c.set)
			f := job.Flags{Width: c.width, Tracks: []string{filepath.Join(dir, c.track)}, Overrides: job.Overrides{ManyFields: true}}
			if c.boundary != "" {
				f.Boundaries = []string{filepath.Join(dir, c.boundary)}
			}
			j, err := job.FromFlags(onDisk(), f)
			require.NoError(t, err)
			for i, one := range j.Works() {
				land := one.Fields[0]
				land.Name = fmt.Sprint("field ", i)
				r := replayOf(t, jobOf(t, land, machine.Machines(one.Machines), ""), "farm/job.yaml", one.Machines)
				said := r.drive()
				o := r.compare(t, said)
				o.agrees(t, land.Name)
				r.holdsLaw(t, "farm/job.yaml")
			}
		})
	}
}

// Law, on logs of NMEA and GPX from elsewhere, which drive on no field: the worked
// ground is the field.
func TestLawOnOtherLogs(t *testing.T) {
	held := 0
	for _, set := range []string{"nmea-logs-a", "gpx-odd-a", "x-kml-gpx-samples", "isoxml-conformance"} {
		dir := outside(t, set)
		require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(path) == ".md" {
				return err
			}
			j, err := job.FromFlags(onDisk(), job.Flags{Width: "12 m", Tracks: []string{path}})
			if err != nil || len(j.Works()) > 1 {
				return nil // no log, or not of one field
			}
			machines := machine.Machines(j.Machines)
			r := replayOf(t, jobOf(t, field.Field{Name: "elsewhere", Worked: true}, machines, ""), "farm/job.yaml", j.Machines)
			if len(r.sources) == 0 {
				return nil
			}
			if _, err := assess.Do(j, j.Fields[0], assess.Options{}); err != nil {
				return nil // its work is refused, see package coverage
			}
			t.Run(filepath.Base(path), func(t *testing.T) {
				r.drive()
				r.holdsLaw(t, "farm/job.yaml")
				held++
			})
			return nil
		}))
	}
	assert.Greater(t, held, 5)
}

// The log of a history is what the reader of logs gives for its journal.
func TestHistoryIsItsJournal(t *testing.T) {
	s := day(3)
	r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
	r.each(func(source int, rec journal.Record) { r.engine.Step(source, rec) })
	data := r.journals(t, "farm/job.yaml")["journal/0.csv"].Data
	want, err := gnsslog.ReadCSV("journal", gnsslog.TextOf(data), gnsslog.Options{Keep: r.live.Keeps})
	require.NoError(t, err)
	got, err := r.engine.Ask().Log(0)
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf("%v", want), fmt.Sprintf("%v", got)) // so that NaN equals itself
}

// Law: what the engine says does not hang on when answers come, but for what they put
// right, and the answer does not at all.
func TestAnswersComeLate(t *testing.T) {
	s := day(2)
	machines := machine.Machines(s.Machines)
	summaries := map[string]bool{}
	for lag := range 3 {
		r := replayOf(t, jobOf(t, s.Field, machines, ""), "farm/job.yaml", s.Machines)
		rnd := rand.New(rand.NewPCG(uint64(lag), 1))
		var asked *live.Question
		r.each(func(source int, rec journal.Record) {
			r.engine.Step(source, rec)
			switch {
			case asked == nil && r.engine.Due():
				asked = r.engine.Ask()
			case asked != nil && rnd.IntN(1+100*lag) == 0:
				a, err := asked.Answer(assess.Options{})
				require.NoError(t, err)
				r.engine.Take(a)
				asked = nil
			}
		})
		a, err := r.engine.Ask().Assess(assess.Options{})
		require.NoError(t, err)
		summaries[summaryOf(t, a)] = true
	}
	assert.Len(t, summaries, 1)
}
