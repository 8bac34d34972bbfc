//go:build unix

package main

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/metrics"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a command may cost on a job of some 10,000 bytes, in processor time and
// memory (MB) of a process of its own: a few times what the worst of testdata/hard
// takes, since the build that is fuzzed counts what it runs through.
const (
	fuzzSeconds   = 10
	fuzzWhatIf    = 60 // with --what-if, and where a field is measured again and again
	fuzzMemory    = 400
	fuzzLines     = 40     // on standard error
	fuzzLine      = 4_000  // bytes of one of them
	fuzzBytes     = 10_000 // of a file, unless it is a database
	fuzzDatabase  = 200_000
	fuzzPatience  = 5 * time.Minute // until a run counts as one that does not end
	looksSlow     = 2 * time.Second // a run that takes less, and
	looksWasteful = 200 << 20       // allocates less in all, is not measured any closer
)

// A fuzzCall is a command on a job.
type fuzzCall struct {
	words   string
	seconds float64
	// keeps says that where the input is wrong the command changes nothing. A season
	// and waste do the fields that are right, and list the others.
	keeps bool
}

// In a call JOB is the job file, DIR its folder, FILE the file that is fuzzed.
var fuzzCalls = []fuzzCall{
	{"assess JOB --out OUT", fuzzSeconds, true},
	{"inspect FILE", fuzzSeconds, true},
	{"last JOB --out OUT --units metric", fuzzSeconds, true},
	{"mend JOB --out OUT --json", fuzzSeconds, true},
	{"assess JOB --csv --what-if --json --out OUT", fuzzWhatIf, true},
	{"waste DIR --runs 5 --out OUT", fuzzWhatIf, false},
	{"season DIR --jobs 1 --out OUT", fuzzWhatIf, false},
	{"new FILE --out OUT/new.yaml", fuzzSeconds, true},
	{"assess --boundary worked --track FILE --width 6m --out OUT", fuzzSeconds, true},
}

// A fuzzFile is a file of a small job, and what else than itself it is written as.
type fuzzFile struct {
	path string
	as   func(job map[string][]byte, data []byte) []byte // nil: as it is
}

var fuzzFiles = []fuzzFile{
	{"plain/log", nil},
	{"plain/field", nil},
	{"plain/job.yaml", nil},
	{"plain/implement.yaml", nil},
	{"shapes/day.shp", nil},
	{"shapes/day.dbf", nil},
	{"shapes/field.shp", nil},
	{"shapes/field.dbf", nil},
	{"shapes/field.prj", nil},
	{"tasks/USB/TASKDATA.XML", nil},
	{"tasks/USB/TLG00001.XML", nil},
	{"tasks/USB/TLG00001.BIN", nil},
	{"plain/log", func(_ map[string][]byte, data []byte) []byte { return gzipped(data) }},
	{"plain/field", func(_ map[string][]byte, data []byte) []byte { return archived(map[string][]byte{"doc.kml": data}) }},
	{"tasks/USB", func(job map[string][]byte, data []byte) []byte {
		return archived(map[string][]byte{"TASKDATA/TASKDATA.XML": data,
			"TASKDATA/TLG00001.XML": job["tasks/USB/TLG00001.XML"], "TASKDATA/TLG00001.BIN": job["tasks/USB/TLG00001.BIN"]})
	}},
}

// FuzzCommands runs whole commands on a small job of which one file is any bytes. The
// exit status is 0 or 2; standard error says little, and of an error one clear line;
// what is wrong changes no file; nothing that is made only on the way stays; and it
// costs no more than so small a job should.
func FuzzCommands(f *testing.F) {
	land := newSmallLand()
	job := land.job(f)
	for i, from := range land.seeds(f, job) {
		f.Add(byte(0), byte(from.file), from.data)
		f.Add(byte(1+i%(len(fuzzCalls)-1)), byte(from.file), from.data)
	}
	f.Fuzz(func(t *testing.T, call, file byte, data []byte) {
		c, in := fuzzCalls[int(call)%len(fuzzCalls)], fuzzFiles[int(file)%len(fuzzFiles)]
		if len(data) > fuzzBytes && !(bytes.HasPrefix(data, []byte("SQLite format 3")) && len(data) <= fuzzDatabase) {
			t.Skipf("%d bytes", len(data))
		}
		fuzzCommand(t, job, c, in, data)
	})
}

// FuzzEdited is FuzzCommands on files that are edited: numbers and words are taken for
// others, lines are left out, doubled and exchanged. So it gets past the readers more
// often than any bytes do.
func FuzzEdited(f *testing.F) {
	land := newSmallLand()
	job := land.job(f)
	from := land.seeds(f, job)
	for i := range from {
		for k := range 3 {
			f.Add(byte(i+k), byte(i), []byte{byte(i * k), byte(37 * i), byte(i + 3*k), byte(7*i + k)})
		}
	}
	f.Fuzz(func(t *testing.T, call, seed byte, edits []byte) {
		if len(edits) > 64 {
			t.Skip()
		}
		s := from[int(seed)%len(from)]
		data := s.data
		for ; len(edits) >= 4; edits = edits[4:] {
			data = edited(data, int(binary.LittleEndian.Uint16(edits)), edits[2], int(edits[3]))
		}
		fuzzCommand(t, job, fuzzCalls[int(call)%len(fuzzCalls)], fuzzFiles[s.file], data)
	})
}

// word is a number, a word, or what stands between two.
var word = regexp.MustCompile(`[-+]?[0-9][0-9.]*([eE][-+]?[0-9]+)?|[A-Za-z_]+|[^-+A-Za-z0-9_]`)

// oddWords are what a word is taken for.
var oddWords = []string{"", "0", "-0", "1", "-1", "0.1", "90", "-90", "180", "-180", "360", "1e-300", "1e9", "-1e9", "1e308", "1e999", "NaN", "inf", "49000",
	"9223372036854775807", "-9223372036854775808", "4294967295", "65535", "58.0001", "9.5001", "1970-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z",
	"\"", "'", ",", ";", "\t", "\n", "\r\n", "\x00", "\xff", "\u202e", "<", ">", "&", "{", "}", "[", "]", "#", "*", "&a", "*a", "=1+1", "..", "/", "-", "|", ":",
	"worked", "inferred", "logged", "ft", "m", "1000000 m", "1e9 ft", "1 mm", "lat", "lon", "time", "working", "machine", "sections", "swath_width_ft", "section",
	"Point", "LineString", "MultiPolygon", "GeometryCollection", "POLYGON", "EMPTY", "trkpt", "TSK", "PFD", "PTN", "DLV"}

// edited is data with one edit, of a kind: at a word, counted round and round, or at a
// byte of what is no text.
func edited(data []byte, at int, kind byte, odd int) []byte {
	if !utf8.Valid(data) {
		out := bytes.Clone(data)
		if len(out) == 0 {
			return out
		}
		at = (at*256 + int(kind)) % len(out)
		switch kind % 4 {
		case 0:
			out[at] = byte(odd)
		case 1:
			copy(out[at:], binary.LittleEndian.AppendUint64(nil, math.Float64bits([]float64{0, 1, 1e-300, 1e308, math.NaN(), math.Inf(1), 180, -90, 58.0001}[odd%9])))
		case 2:
			copy(out[at:], [][]byte{{0, 0, 0, 0}, {255, 255, 255, 255}, {0, 0, 0, 128}, {255, 255, 255, 127}, {1, 0, 0, 0}, {0, 0, 0, 1}}[odd%6])
		default:
			out = slices.Insert(out, at, out[at:min(at+odd, len(out))]...)
		}
		return out
	}
	if kind%8 < 5 {
		words := word.FindAllIndex(data, -1)
		if len(words) == 0 {
			return []byte(oddWords[odd%len(oddWords)])
		}
		span := words[at%len(words)]
		with := []byte(oddWords[odd%len(oddWords)])
		if kind%8 == 4 { // a word from elsewhere
			other := words[(at+odd)%len(words)]
			with = data[other[0]:other[1]]
		}
		return slices.Concat(data[:span[0]], with, data[span[1]:])
	}
	lines := bytes.SplitAfter(data, []byte("\n"))
	i, k := at%len(lines), (at+1+odd)%len(lines)
	switch kind % 8 {
	case 5: // left out
		lines = slices.Delete(lines, i, min(i+1+odd%4, len(lines)))
	case 6: // doubled, elsewhere
		lines = slices.Insert(lines, k, lines[i])
	default:
		lines[i], lines[k] = lines[k], lines[i]
	}
	return bytes.Join(lines, nil)
}

func fuzzCommand(t *testing.T, job map[string][]byte, c fuzzCall, in fuzzFile, data []byte) {
	root := quickFolder(t)
	if in.as != nil {
		data = in.as(job, data)
	}
	folder, _, _ := strings.Cut(in.path, "/")
	written := map[string][]byte{in.path: data}
	for path, content := range job {
		if strings.HasPrefix(path, folder+"/") && !strings.HasPrefix(path+"/", in.path+"/") {
			written[path] = content
		}
	}
	// What an earlier run left, and what is the user's.
	for _, name := range []string{"summary.json", "report.html", "last.json", "waste.csv"} {
		written["out/"+name] = []byte("lapwing wrote this before\n")
	}
	written["out/notes.txt"] = []byte("wet corner\n")
	for path, content := range written {
		at := filepath.Join(root, filepath.FromSlash(path))
		require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
		require.NoError(t, os.WriteFile(at, content, 0o644))
	}
	tmp := filepath.Join(root, "tmp")
	require.NoError(t, os.Mkdir(tmp, 0o755))
	t.Setenv("TMPDIR", tmp)
	words := map[string]string{"JOB": filepath.Join(root, folder, "job.yaml"), "DIR": filepath.Join(root, folder),
		"FILE": filepath.Join(root, filepath.FromSlash(in.path)), "OUT": filepath.Join(root, "out"), "OUT/new.yaml": filepath.Join(root, "out", "new.yaml")}
	args := strings.Fields(c.words)
	for i, word := range args {
		if path, is := words[word]; is {
			args[i] = path
		}
	}
	before := snapshotOf(t, root)

	// Fuzzing waits for a run that does not end, and does not call it a failure: a
	// panic does.
	late := time.AfterFunc(fuzzPatience, func() { panic("still at work after " + fuzzPatience.String()) })
	defer late.Stop()
	began, allocated := time.Now(), allocatedBytes()
	var stdout, stderr bytes.Buffer
	status := run(t.Context(), args, strings.NewReader(""), &stdout, &stderr)
	slow, wasteful := time.Since(began) > looksSlow, allocatedBytes()-allocated > looksWasteful

	said := strings.Split(strings.TrimSuffix(stderr.String(), "\n"), "\n")
	last := said[len(said)-1]
	assert.LessOrEqual(t, len(said), fuzzLines, "lines on standard error:\n%s", &stderr)
	for i, line := range said {
		assert.LessOrEqual(t, len(line), fuzzLine, "bytes of a line on standard error")
		if line != "" && (status == done || i < len(said)-1) && c.keeps {
			assert.True(t, strings.HasPrefix(line, "warning: "), "%q", line)
		}
	}
	after := snapshotOf(t, root)
	switch status {
	case done:
		for path, sum := range before {
			if !strings.HasPrefix(path, "out/") || path == "out/notes.txt" {
				assert.Equal(t, sum, after[path], path)
			}
		}
	case wrongInput:
		assert.True(t, strings.HasPrefix(last, "lapwing: "), "%q", last)
		// A job that lapwing new cannot finish stands there with the line to fill.
		toFill := c.words == "new FILE --out OUT/new.yaml" && strings.Contains(last, " on this line")
		if c.keeps && !toFill {
			assert.Equal(t, before, after, "files, with status 2 and %q", last)
			assert.Zero(t, stdout.Len(), "bytes on standard output, with status 2 and %q", last)
		}
	default:
		assert.Fail(t, "neither done nor the input's fault", "status %d and %q", status, last)
	}
	for path := range after {
		if before[path] == "" {
			assert.True(t, strings.HasPrefix(path, "out/"), "%s was written", path)
			assert.NotContains(t, path, "/.lapwing-", "left behind")
		}
	}
	if slow || wasteful {
		weigh(t, c, args)
	}
}

// quickFolder is a folder in memory where Linux has one: a command waits until what it
// writes is on the disk, which is half the time that it takes.
func quickFolder(t *testing.T) string {
	dir, err := os.MkdirTemp("/dev/shm", "lapwing-fuzz")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(dir)) })
	return dir
}

// weigh runs a call again as a process of its own, whose processor time and memory
// no other work on the machine changes.
func weigh(t *testing.T, c fuzzCall, args []string) {
	forgetPeak()
	p := exec.Command("lapwing", args...)
	_ = p.Run() // its status has been looked at
	took := (p.ProcessState.UserTime() + p.ProcessState.SystemTime()).Seconds()
	held := float64(peakOf(p)) / 1e6
	t.Logf("%.2f s of processor time, %.0f MB", took, held)
	assert.Less(t, took, c.seconds, "seconds of processor time")
	assert.Less(t, held, float64(fuzzMemory), "MB")
}

// allocatedBytes is how many bytes this process has ever allocated.
func allocatedBytes() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// snapshotOf names every file and folder below root, by its path, with its content's
// sum.
func snapshotOf(t *testing.T, root string) map[string]string {
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		var content []byte
		if d.Type().IsRegular() {
			if content, err = os.ReadFile(path); err != nil {
				return err
			}
		}
		name, err := filepath.Rel(root, path)
		files[filepath.ToSlash(name)] = fmt.Sprintf("%s %x", d.Type(), sha256.Sum256(content))
		return err
	}))
	return files
}

func gzipped(b []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, _ = w.Write(b) // into memory
	_ = w.Close()
	return out.Bytes()
}

func archived(files map[string][]byte) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, content := range files {
		w, _ := z.Create(name) // into memory, all of it
		_, _ = w.Write(content)
	}
	_ = z.Close()
	return out.Bytes()
}
