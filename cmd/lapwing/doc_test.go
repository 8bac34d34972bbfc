package main

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
)

// repository is where README.md and DEVELOPERS.md stand, as seen from here.
const repository = "../.."

// fenced matches a block of a page between fences, and says its language.
var fenced = regexp.MustCompile("(?ms)^```(\\w*)\n(.*?)^```$")

// blocks returns the fenced blocks of a page in a language; "" are commands.
func blocks(t *testing.T, page, language string) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(repository, page))
	require.NoError(t, err)
	var found []string
	for _, b := range fenced.FindAllStringSubmatch(string(text), -1) {
		if b[1] == language {
			found = append(found, b[2])
		}
	}
	return found
}

// commands returns the commands of a page, each as its words. A block without
// a language whose first line is no command is a drawing.
func commands(t *testing.T, page string) [][]string {
	t.Helper()
	var found [][]string
	for _, block := range blocks(t, page, "") {
		if !strings.HasPrefix(block, "go ") && !strings.HasPrefix(block, "lapwing ") {
			continue
		}
		for line := range strings.Lines(block) {
			found = append(found, fieldsOf(line))
		}
	}
	return found
}

// words takes a command apart as a shell does, as far as the pages go.
func fieldsOf(line string) []string {
	var found []string
	for _, w := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1) {
		found = append(found, strings.Trim(w, `"`))
	}
	return found
}

// workplace is a folder with the samples and the files that the README's
// calls and its job file name; the test stands in it.
func workplace(t *testing.T) {
	t.Helper()
	samples, err := filepath.Abs(filepath.Join(repository, "samples"))
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	require.NoError(t, os.Symlink(samples, "samples"))
	require.NoError(t, os.CopyFS("stick", os.DirFS(samples)))
	for name, from := range map[string]string{
		"field.geojson": "boundary.geojson", "boundary.geojson": "boundary.geojson",
		"day1.csv": "drill.csv", "a-day1.csv": "drill.csv",
	} {
		data, err := os.ReadFile(filepath.Join(samples, "tern-bank", from))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(name, data, 0o644))
	}
	const nextDay = `<gpx version="1.1"><trk><trkseg>
<trkpt lat="54.7100" lon="2.3080"><time>2025-09-19T07:00:00Z</time></trkpt>
<trkpt lat="54.7100" lon="2.3081"><time>2025-09-19T07:00:02Z</time></trkpt>
<trkpt lat="54.7100" lon="2.3082"><time>2025-09-19T07:00:04Z</time></trkpt>
</trkseg></trk></gpx>
`
	require.NoError(t, os.WriteFile("a-day2.gpx", []byte(nextDay), 0o644))
	set, small := t.TempDir(), covertest.Small(0.02, 7)
	require.NoError(t, covertest.WriteTaskSet(set, small.Field, small.Machines))
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	require.NoError(t, z.AddFS(os.DirFS(set)))
	require.NoError(t, z.Close())
	require.NoError(t, os.WriteFile("TASKDATA.zip", packed.Bytes(), 0o644))
}

// assertRuns runs lapwing and expects it to be done, without a word of error.
func assertRuns(t *testing.T, args []string) (stdout string) {
	t.Helper()
	var out, errs bytes.Buffer
	got := run(context.Background(), args, strings.NewReader(""), &out, &errs)
	assert.Equal(t, done, got, "lapwing %q: %s", args, errs.String())
	return out.String()
}

// The README's first command runs the main job on the sample, and its second
// passes the tests.
func TestReadmeBeginsWithTheTwoCommands(t *testing.T) {
	all := commands(t, "README.md")
	require.GreaterOrEqual(t, len(all), 2)
	assert.Equal(t, "go run ./cmd/lapwing assess samples/tern-bank/job.yaml", strings.Join(all[0], " "))
	assert.Equal(t, "go test ./...", strings.Join(all[1], " "))
}

// Every command on the pages works: those of lapwing are run, those of Go
// must name packages, tests and benchmarks that are there.
func TestPagesCommands(t *testing.T) {
	for _, page := range []string{"README.md", "DEVELOPERS.md"} {
		all := commands(t, page)
		assert.NotEmpty(t, all, page)
		for _, c := range all {
			t.Run(page+" "+strings.Join(c, " "), func(t *testing.T) {
				switch strings.Join(c[:min(3, len(c))], " ") {
				case "go run ./cmd/lapwing":
					workplace(t)
					assert.Contains(t, assertRuns(t, c[3:]), "Headland open")
					assert.FileExists(t, "assessment/report.html")
					assert.FileExists(t, "assessment/summary.json")
					assert.FileExists(t, "assessment/coverage.geojson")
				default:
					if c[0] == "lapwing" {
						workplace(t)
						assertRuns(t, c[1:])
						return
					}
					assertGoCommand(t, c)
				}
			})
		}
	}
}

// assertGoCommand checks what a go command names without running it: its
// packages, and what -run and -bench ask for.
func assertGoCommand(t *testing.T, c []string) {
	t.Helper()
	require.Equal(t, "go", c[0])
	require.Contains(t, []string{"build", "test", "run"}, c[1])
	var dirs []string
	for i := 2; i < len(c); i++ {
		if strings.HasPrefix(c[i], "./") {
			list := exec.Command("go", "list", "-f", "{{.Dir}}", c[i])
			list.Dir = repository
			out, err := list.CombinedOutput()
			require.NoError(t, err, "%s", out)
			dirs = append(dirs, strings.Fields(string(out))...)
		}
	}
	require.NotEmpty(t, dirs, "%q names no package", c)
	for i, word := range c[:len(c)-1] {
		switch {
		case word == "-bench":
			assertFunction(t, dirs, "Benchmark", c[i+1])
		case word == "-run" && c[i+1] != "XXX": // which is no test's name, on purpose
			assertFunction(t, dirs, "Test", c[i+1])
		}
	}
}

// assertFunction looks for a test or benchmark that a pattern matches.
func assertFunction(t *testing.T, dirs []string, kind, pattern string) {
	t.Helper()
	declared := regexp.MustCompile(fmt.Sprintf(`(?m)^func %s(\w+)\(`, kind))
	asked := regexp.MustCompile(strings.TrimPrefix(pattern, kind))
	for _, dir := range dirs {
		files, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
		require.NoError(t, err)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, f := range declared.FindAllStringSubmatch(string(text), -1) {
				if asked.MatchString(f[1]) {
					return
				}
			}
		}
	}
	t.Errorf("no %s matches %q in %q", kind, pattern, dirs)
}

// The README's job file is one that lapwing takes.
func TestReadmeJob(t *testing.T) {
	jobs := blocks(t, "README.md", "yaml")
	require.Len(t, jobs, 1)
	workplace(t)
	require.NoError(t, os.WriteFile("job.yaml", []byte(jobs[0]), 0o644))
	assert.Contains(t, assertRuns(t, []string{"assess", "job.yaml"}), "Home Quarter")
}

// The pictures and pages that the README points to are in the repository.
func TestReadmeLinks(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(repository, "README.md"))
	require.NoError(t, err)
	links := regexp.MustCompile(`\]\(([^)]+)\)`).FindAllStringSubmatch(string(text), -1)
	require.NotEmpty(t, links)
	for _, link := range links {
		info, err := os.Stat(filepath.Join(repository, link[1]))
		if assert.NoError(t, err) {
			assert.Less(t, info.Size(), int64(150_000), "%s is too large for a page on the road", link[1])
		}
	}
}
