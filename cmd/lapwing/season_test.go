//go:build unix

package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/entries"
	"lapwing/coverage/book"
	"lapwing/geo"
	fieldreport "lapwing/report/field"
	"lapwing/report/season"
)

// writeSeason writes n jobs of fields of some 10 ha into dir, worked up and
// down at 12 m with a fix a second; here and there a pass is off its line.
func writeSeason(t testing.TB, dir string, n int) {
	t.Helper()
	random := rand.New(rand.NewPCG(9, uint64(n)))
	for i := range n {
		frame := geo.NewFrame(geo.LonLat{Lon: 9.5 + 0.01*float64(i%20), Lat: 58 + 0.01*float64(i/20)})
		at := filepath.Join(dir, fmt.Sprintf("field-%03d", i))
		require.NoError(t, os.MkdirAll(at, 0o755))
		passes, length := 20+random.IntN(10), 300+100*random.Float64()
		place := func(x, y float64) string {
			p := frame.FromMetres(x, y)
			return fmt.Sprintf("%.9f,%.9f", p.Lon, p.Lat)
		}
		wide := 12 * float64(passes)
		boundary := fmt.Sprintf(`{"type":"Polygon","coordinates":[[[%s],[%s],[%s],[%s],[%s]]]}`,
			place(0, 0), place(wide, 0), place(wide, length), place(0, length), place(0, 0))
		var log strings.Builder
		log.WriteString("time,lon,lat,working\n")
		clock := time.Date(2026, 4, 1+i%28, 6, 0, 0, 0, time.UTC)
		fix := func(x, y float64, working int) {
			fmt.Fprintf(&log, "%s,%s,%d\n", clock.Format(time.RFC3339), place(x, y), working)
			clock = clock.Add(time.Second)
		}
		for pass := range passes {
			x := 6 + 12*float64(pass)
			if random.IntN(8) == 0 {
				x += 1.5 * random.NormFloat64()
			}
			for y := 0.0; y <= length; y += 2.5 {
				if pass%2 == 0 {
					fix(x, y, 1)
				} else {
					fix(x, length-y, 1)
				}
			}
			for range 8 {
				fix(x, length/2, 0)
			}
		}
		for name, text := range map[string]string{
			"boundary.geojson": boundary, "log.csv": log.String(),
			"job.yaml": fmt.Sprintf("field: Field %d\nboundary: boundary.geojson\nmachines:\n  - {name: drill %d, operator: %s, implement: {width: 12 m}, tracks: [log.csv]}\n",
				i, i%3, []string{"Ada", "Bo"}[i%2]),
		} {
			require.NoError(t, os.WriteFile(filepath.Join(at, name), []byte(text), 0o644))
		}
	}
}

// seasonIn returns the command that binds the jobs of work into a book there.
func seasonIn(work, book string, more ...string) *exec.Cmd {
	c := exec.Command("lapwing", append([]string{"season", "jobs", "--out", book}, more...)...)
	c.Dir = work
	return c
}

// comeTo waits until a season has written the entries of so many jobs.
func comeTo(t *testing.T, book string, jobs int) {
	t.Helper()
	require.Eventually(t, func() bool { return len(records(t, book)) >= jobs }, 2*time.Minute, time.Millisecond)
}

// records lists the records of the entries in a book.
func records(t *testing.T, dir string) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, entries.Folder, "*", book.RecordFile))
	require.NoError(t, err)
	return found
}

// contents returns all files below a directory by their path from there.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		files[rel] = string(text)
		return err
	}))
	return files
}

// A season killed in the middle and begun again ends as one that was never
// killed, file for file.
func TestSeasonGoesOnAfterAKill(t *testing.T) {
	t.Parallel()
	const fields = 24
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	straight, err := seasonIn(work, "straight").Output()
	require.NoError(t, err)
	require.Contains(t, string(straight), "24 fields")

	first := seasonIn(work, "killed", "--jobs", "1")
	require.NoError(t, first.Start())
	comeTo(t, filepath.Join(work, "killed"), 4)
	require.NoError(t, first.Process.Kill())
	_ = first.Wait() // it was killed
	done := len(records(t, filepath.Join(work, "killed")))
	require.Less(t, done, fields)
	assert.NoFileExists(t, filepath.Join(work, "killed", season.PageFile))

	// What a killed run can leave: a file half written, and renamed files
	// without their record.
	some, err := filepath.Glob(filepath.Join(work, "killed", entries.Folder, "*"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(some[0], ".lapwing-123-"+fieldreport.PageFile), []byte("half"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(some[0], fieldreport.SummaryFile), []byte(`{"schema": "lapwing/assessment/1", "run": "other"}`), 0o644))

	second, err := seasonIn(work, "killed").Output()
	require.NoError(t, err)
	assert.Contains(t, string(second), fmt.Sprintf("; %d of %d jobs kept", done-1, fields))
	want, got := contents(t, filepath.Join(work, "straight")), contents(t, filepath.Join(work, "killed"))
	for name := range want {
		assert.True(t, want[name] == got[name], "%s differs", name)
	}
	assert.Len(t, got, len(want))
}

// A signal ends the run in good order, and says how to go on.
func TestSeasonStops(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 24)
	c := seasonIn(work, "book", "--jobs", "1")
	var errs bytes.Buffer
	c.Stderr = &errs
	require.NoError(t, c.Start())
	comeTo(t, filepath.Join(work, "book"), 1)
	require.NoError(t, c.Process.Signal(os.Interrupt))
	err := c.Wait()
	var failure *exec.ExitError
	require.ErrorAs(t, err, &failure)
	assert.Equal(t, 130, failure.ExitCode())
	assert.Regexp(t, `^lapwing: stopped(: interrupted| with \d+ of 24 jobs done; the same command goes on from there)\n$`, errs.String())
	for name := range contents(t, filepath.Join(work, "book")) {
		assert.NotContains(t, name, ".lapwing-")
	}
}

// A field whose file only looks touched is kept; one that has changed is not.
func TestSeasonLooksAtContent(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 2)
	_, err := seasonIn(work, "book").Output()
	require.NoError(t, err)
	log := filepath.Join(work, "jobs", "field-000", "log.csv")
	later := time.Now().Add(time.Hour)
	require.NoError(t, os.Chtimes(log, later, later))
	out, err := seasonIn(work, "book").Output()
	require.NoError(t, err)
	assert.Contains(t, string(out), "; 2 of 2 jobs kept")

	text, err := os.ReadFile(log)
	require.NoError(t, err)
	lines := bytes.SplitAfter(text, []byte("\n"))
	require.NoError(t, os.WriteFile(log, bytes.Join(lines[:len(lines)/2], nil), 0o644))
	out, err = seasonIn(work, "book").Output()
	require.NoError(t, err)
	assert.Contains(t, string(out), "; 1 of 2 jobs kept")
	assert.Contains(t, string(out), "not\nworked yet on 1 field")
}

// The GeoPackage stays where it would be written the same, and is written anew
// where it would not, or where somebody has changed it.
func TestSeasonKeepsItsGeoPackage(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 3)
	path := filepath.Join(work, "book", season.PackageFile)
	run := func(more ...string) (kept bool) {
		t.Helper()
		before, _ := os.Stat(path)
		out, err := seasonIn(work, "book", more...).CombinedOutput()
		require.NoError(t, err, string(out))
		after, err := os.Stat(path)
		require.NoError(t, err)
		return before != nil && os.SameFile(before, after)
	}
	text := func() []byte {
		t.Helper()
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		return text
	}
	first := run()
	require.False(t, first, "there was none")
	want := text()
	assert.True(t, run(), "nothing has changed")
	assert.False(t, run("--fresh"))
	assert.True(t, bytes.Equal(want, text()))
	for what, change := range map[string]func() []byte{
		"cut off":         func() []byte { return want[:len(want)/2] },
		"of another book": func() []byte { return bytes.Replace(want, []byte("made of "), []byte("made by "), 1) },
		"edited":          func() []byte { b := bytes.Clone(want); b[27]++; return b }, // SQLite's count of changes
		"kept with a log": func() []byte { b := bytes.Clone(want); b[18], b[19] = 2, 2; return b },
	} {
		require.NoError(t, os.WriteFile(path, change(), 0o644))
		assert.False(t, run(), what)
		assert.True(t, bytes.Equal(want, text()), what)
	}
	require.NoError(t, os.Remove(path))
	run()
	assert.True(t, bytes.Equal(want, text()))

	log := filepath.Join(work, "jobs", "field-001", "log.csv")
	was, err := os.ReadFile(log)
	require.NoError(t, err)
	lines := bytes.SplitAfter(was, []byte("\n"))
	require.NoError(t, os.WriteFile(log, bytes.Join(lines[:len(lines)/2], nil), 0o644))
	assert.False(t, run(), "one field has changed")
	assert.False(t, bytes.Equal(want, text()))
	one := text()
	run("--fresh")
	assert.True(t, bytes.Equal(one, text()), "one field that has changed makes another file than all of them anew")
	require.NoError(t, os.WriteFile(log, was, 0o644))
	assert.False(t, run())
	assert.True(t, bytes.Equal(want, text()))

	oneMore := func(more ...string) {
		added := filepath.Join(work, "jobs", "added")
		require.NoError(t, os.CopyFS(added, os.DirFS(filepath.Join(work, "jobs", "field-002"))))
		run(more...)
		require.NoError(t, os.RemoveAll(added))
		entry, err := filepath.Glob(filepath.Join(work, "book", entries.Folder, "added*"))
		require.NoError(t, err)
		require.Len(t, entry, 1)
		require.NoError(t, os.RemoveAll(entry[0]))
	}
	for what, change := range map[string]func(more ...string){
		"without operators": func(more ...string) { run(append(more, "--no-operators")...) },
		"one field more":    oneMore,
		"one field more, and the one before is broken": func(more ...string) {
			broken := text()
			copy(broken[len(broken)/4:], make([]byte, len(broken)/2))
			require.NoError(t, os.WriteFile(path, broken, 0o644))
			oneMore(more...)
		},
	} {
		run() // as it was
		change()
		kept := text()
		change("--fresh")
		assert.True(t, bytes.Equal(kept, text()), what)
		assert.False(t, bytes.Equal(want, kept), what)
	}

	run() // as it was
	shapes, err := filepath.Glob(filepath.Join(work, "book", entries.Folder, "field-001*", fieldreport.GeoJSONFile))
	require.NoError(t, err)
	require.Len(t, shapes, 1)
	require.NoError(t, os.Truncate(shapes[0], 2000))
	oneMore() // which does not read it: that field is kept
}

// The page of each field leads back to the book; one that assess wrote leads
// nowhere.
func TestEntriesLeadBack(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 2)
	_, err := seasonIn(work, filepath.Join("deep", "book")).Output()
	require.NoError(t, err)
	link := regexp.MustCompile(`<nav [^>]*><a href="([^"]*)">`)
	entries := 0
	for path, text := range contents(t, work) {
		if filepath.Base(path) != fieldreport.PageFile {
			continue
		}
		entries++
		found := link.FindStringSubmatch(text)
		require.NotNil(t, found, path)
		assert.Equal(t, filepath.Join("deep", "book", season.PageFile), filepath.Join(filepath.Dir(path), filepath.FromSlash(found[1])))
	}
	assert.Equal(t, 2, entries)

	assess := exec.Command("lapwing", "assess", "jobs/field-000/job.yaml", "--out", "alone")
	assess.Dir = work
	require.NoError(t, assess.Run())
	alone, err := os.ReadFile(filepath.Join(work, "alone", fieldreport.PageFile))
	require.NoError(t, err)
	assert.NotContains(t, string(alone), "<nav")
}

// The time of a season grows with the number of its fields, its memory does
// not: look at s/field and MB over the sizes.
func BenchmarkSeason(b *testing.B) {
	for _, fields := range []int{25, 50, 100, 200} {
		b.Run(fmt.Sprintf("fields=%d", fields), func(b *testing.B) {
			work := b.TempDir()
			writeSeason(b, filepath.Join(work, "jobs"), fields)
			peak := 0.0
			for b.Loop() {
				peak = max(peak, float64(runIn(b, work, "lapwing", "season", "jobs", "--out", "book", "--fresh").memory)/1e6)
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/float64(fields), "s/field")
			b.ReportMetric(peak, "MB")
		})
	}
}

func put(t *testing.T, path, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
}
