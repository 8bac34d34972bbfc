//go:build unix

package main

import (
	"bytes"
	"encoding/csv"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/coverage/machine"
	fieldreport "lapwing/report/field"
)

// BenchmarkProcess times lapwing assess as a process of its own, from the log
// of a noisy quarter section to three files written, and in the same round a
// plain read of that log by the standard library. Of both the shortest time
// counts: what else the machine does only ever adds. It reports
//
//	read-ms     the plain read
//	assess-ms   lapwing assess
//	times       one through the other
//	cpu-ms      the processor time of lapwing assess, all processors together
//	sys-ms      as much of it as the system took
//	B/fix       resident memory at most, above 50 MB
//
// and how long lapwing version takes, which is what a start costs.
func BenchmarkProcess(b *testing.B) {
	lapwing := buildLapwing(b)
	for _, scale := range []struct {
		name string
		make func(hz, noise float64, seed uint64) *covertest.Scene
	}{{"quarter", covertest.QuarterSection}, {"section", covertest.Section}} {
		const hz, noise, seed = 12, 0.02, 1 // 200,000 fixes and more of a quarter
		dir := b.TempDir()
		scene := scale.make(hz, noise, seed)
		fixes := writeScene(b, dir, scene)
		b.Run(scale.name+"/fixes="+strconv.Itoa(fixes), func(b *testing.B) {
			var read, assess, start, cpu, sys []time.Duration
			var peak int64
			for b.Loop() {
				begin := time.Now()
				require.Equal(b, fixes, plainRead(b, filepath.Join(dir, "day.csv")))
				read = append(read, time.Since(begin))

				begin = time.Now()
				runIn(b, dir, lapwing, "version")
				start = append(start, time.Since(begin))

				forgetPeak()
				begin = time.Now()
				used := runIn(b, dir, lapwing, "assess", "job.yaml")
				assess = append(assess, time.Since(begin))
				cpu, sys = append(cpu, used.cpu), append(sys, used.sys)
				peak = max(peak, used.memory)
			}
			r, a := slices.Min(read), slices.Min(assess)
			b.ReportMetric(float64(r)/1e6, "read-ms")
			b.ReportMetric(float64(a)/1e6, "assess-ms")
			b.ReportMetric(float64(slices.Min(start))/1e6, "start-ms")
			b.ReportMetric(float64(a)/float64(r), "times")
			b.ReportMetric(float64(slices.Min(cpu))/1e6, "cpu-ms")
			b.ReportMetric(float64(slices.Min(sys))/1e6, "sys-ms")
			b.ReportMetric(float64(peak-50e6)/float64(fixes), "B/fix")
			b.ReportMetric(0, "ns/op") // the sum of all three means nothing
		})
	}
}

// buildLapwing builds the program and returns its path.
func buildLapwing(tb testing.TB) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "lapwing")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	require.NoError(tb, err, "%s", out)
	return path
}

// writeScene writes job.yaml, field.geojson and day.csv of a scene's one
// machine, and returns how many fixes there are.
func writeScene(tb testing.TB, dir string, s *covertest.Scene) int {
	tb.Helper()
	require.Len(tb, s.Machines, 1)
	m := s.Machines[0]
	write := func(name string, to func(io.Writer) error) {
		var text bytes.Buffer
		require.NoError(tb, to(&text))
		require.NoError(tb, os.WriteFile(filepath.Join(dir, name), text.Bytes(), 0o644))
	}
	write("field.geojson", func(w io.Writer) error { return covertest.WriteBoundary(w, s.Field, 50) })
	write("day.csv", func(w io.Writer) error { return covertest.WriteTrack(w, m.Tracks[0], m.Implement, 8) })
	write("job.yaml", func(w io.Writer) error {
		_, err := io.WriteString(w, jobOf(m.Implement))
		return err
	})
	return len(m.Tracks[0].Fixes)
}

// jobOf is the job file of one mounted machine with day.csv, and of products
// so that everything a page can hold is there.
func jobOf(im machine.Implement) string {
	return strings.Join([]string{
		"field: quarter",
		"boundary: field.geojson",
		"machines:",
		"  - name: drill",
		"    implement: {width: " + strconv.FormatFloat(im.Width.Metres(), 'f', -1, 64) + " m, antenna_to_hitch: " +
			strconv.FormatFloat(im.AntennaToHitch.Metres(), 'f', -1, 64) + " m, sections: " + strconv.Itoa(len(im.Sections)) + "}",
		"    tracks: [day.csv]",
		"products:",
		"  - {name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}",
		"",
	}, "\n")
}

// forgetPeak gives back what this process needs no more and has Linux forget how
// much it had: until it runs a program of its own, a child counts as its memory
// that of the process which started it, and this one held the whole scene.
func forgetPeak() {
	debug.FreeOSMemory()
	_ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) // elsewhere there is none
}

// What a process used.
type usage struct {
	memory   int64 // bytes, at most
	cpu, sys time.Duration
}

// runIn runs a command in dir and returns what it used.
func runIn(tb testing.TB, dir, name string, args ...string) usage {
	tb.Helper()
	c := exec.Command(name, args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	require.NoError(tb, err, "%s", out)
	sys := c.ProcessState.SystemTime()
	return usage{memory: peakOf(c), cpu: c.ProcessState.UserTime() + sys, sys: sys}
}

// plainRead reads a log as anybody would with the standard library: every
// time, place, speed and heading of it. It returns the number of fixes.
func plainRead(tb testing.TB, path string) int {
	tb.Helper()
	f, err := os.Open(path)
	require.NoError(tb, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.ReuseRecord = true
	names, err := r.Read()
	require.NoError(tb, err)
	type fix struct {
		at     time.Time
		values [4]float64
	}
	require.Equal(tb, []string{"time", "lat", "lon", "speed_mps", "heading"}, names[:5])
	var fixes []fix
	for {
		row, err := r.Read()
		if err == io.EOF {
			return len(fixes)
		}
		require.NoError(tb, err)
		var one fix
		if one.at, err = time.Parse(time.RFC3339Nano, row[0]); err != nil {
			tb.Fatal(err)
		}
		for i := range one.values {
			if one.values[i], err = strconv.ParseFloat(row[1+i], 64); err != nil {
				tb.Fatal(err)
			}
		}
		fixes = append(fixes, one)
	}
}

// The answer does not depend on the number of processors, to the byte.
func TestProcessors(t *testing.T) {
	dir := t.TempDir()
	writeScene(t, dir, covertest.QuarterSection(1, 0.02, 1))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	first := map[string][]byte{}
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		out := filepath.Join(dir, strconv.Itoa(n))
		var errs bytes.Buffer
		require.Equal(t, done, run(t.Context(), []string{"assess", filepath.Join(dir, "job.yaml"), "--out", out},
			strings.NewReader(""), io.Discard, &errs), errs.String())
		for _, name := range []string{fieldreport.SummaryFile, fieldreport.GeoJSONFile, fieldreport.PageFile} {
			text, err := os.ReadFile(filepath.Join(out, name))
			require.NoError(t, err)
			if first[name] == nil {
				first[name] = text
			}
			require.True(t, bytes.Equal(first[name], text), "%s of %d processors is another", name, n)
		}
	}
}

// BenchmarkAssess is lapwing assess in this process, to be looked into with
// -cpuprofile and -memprofile.
func BenchmarkAssess(b *testing.B) {
	dir := b.TempDir()
	b.ReportMetric(float64(writeScene(b, dir, covertest.QuarterSection(12, 0.02, 1))), "fixes")
	for b.Loop() {
		var errs bytes.Buffer
		require.Equal(b, done, run(b.Context(), []string{"assess", filepath.Join(dir, "job.yaml"), "--out", filepath.Join(dir, "assessment")},
			strings.NewReader(""), io.Discard, &errs), errs.String())
	}
}
