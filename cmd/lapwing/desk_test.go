//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A runningDesk is a desk that another process serves.
type runningDesk struct {
	*exec.Cmd
	link, address, key string
	said               *bytes.Buffer // its standard error; read it when the process has ended
}

// startDesk starts a desk and waits for its first line.
func startDesk(t *testing.T, args ...string) *runningDesk {
	t.Helper()
	d := &runningDesk{Cmd: exec.Command("lapwing", append([]string{"desk"}, args...)...), said: &bytes.Buffer{}}
	d.Stderr = d.said
	out, err := d.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, d.Start())
	t.Cleanup(func() {
		_ = d.Process.Kill() // it may have ended
		_ = d.Wait()
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, d.said)
	var found bool
	d.link, found = strings.CutPrefix(strings.TrimSpace(line), "desk ")
	require.True(t, found, line)
	d.address, d.key, found = strings.Cut(d.link, "#")
	require.True(t, found, line)
	return d
}

// do asks the desk for something with its key.
func (d *runningDesk) do(method, path string, body io.Reader) (status int, text string, err error) {
	r, err := http.NewRequest(method, d.address+path, body)
	if err != nil {
		return 0, "", err
	}
	r.Header.Set("Authorization", "Bearer "+d.key)
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, "", err
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	return got.StatusCode, string(data), err
}

// ask asks the desk a question that it answers.
func (d *runningDesk) ask(t *testing.T, message string) string {
	t.Helper()
	status, text, err := d.do("POST", "ask", strings.NewReader(message))
	require.NoError(t, err)
	require.Equal(t, 200, status, text)
	return text
}

func (d *runningDesk) drop(t *testing.T, name, path string) {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	status, text, err := d.do("POST", "files?name="+url.QueryEscape(name), f)
	require.NoError(t, err)
	require.Equal(t, 200, status, text)
}

// end ends the desk by a signal and returns its status.
func (d *runningDesk) end(t *testing.T, by os.Signal) int {
	t.Helper()
	require.NoError(t, d.Process.Signal(by))
	began := time.Now()
	_ = d.Wait() // the status says it
	assert.Less(t, time.Since(began), 10*time.Second)
	return d.ProcessState.ExitCode()
}

// jobsOf are the paths of the jobs in a state.
func jobsOf(t *testing.T, state string) (paths []string) {
	t.Helper()
	var s struct {
		Jobs []struct {
			Job string `json:"job"`
		} `json:"jobs"`
	}
	require.NoError(t, json.Unmarshal([]byte(state), &s))
	for _, j := range s.Jobs {
		paths = append(paths, j.Job)
	}
	return paths
}

// The desk takes files, makes a job that the commands read, and answers it as assess
// does, to the byte; it is all there the next time.
func TestDesk(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	dir := filepath.Join(work, "desk")
	d := startDesk(t, dir, "--no-open")
	assert.Regexp(t, `^http://127\.0\.0\.1:[0-9]+/#[A-Z2-7]{26,}$`, d.link)
	sample := filepath.Join(repository, "samples", "tern-bank")
	for _, name := range []string{"boundary.geojson", "drill.csv"} {
		d.drop(t, name, filepath.Join(sample, name))
	}
	state := d.ask(t, `{"do": "look"}`)
	jobs := jobsOf(t, state)
	require.Len(t, jobs, 1)
	var tells struct{ Units string }
	require.NoError(t, json.Unmarshal([]byte(state), &tells))
	var found struct{ Files []string }
	require.NoError(t, json.Unmarshal([]byte(d.ask(t, fmt.Sprintf(`{"do": "assess", "job": %q}`, jobs[0]))), &found))
	require.NotEmpty(t, found.Files)
	var at string
	for _, name := range found.Files {
		name = "pages/" + name
		status, text, err := d.do("GET", name, nil)
		require.NoError(t, err)
		assert.Equal(t, 200, status, name)
		onDisk, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		require.NoError(t, err)
		assert.True(t, text == string(onDisk), name)
		if strings.HasSuffix(name, "/summary.json") {
			at = name
		}
	}
	assertRuns(t, []string{"assess", filepath.Join(dir, jobs[0]), "--out", filepath.Join(work, "out"), "--units", tells.Units})
	want, err := os.ReadFile(filepath.Join(work, "out", "summary.json"))
	require.NoError(t, err)
	got, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(at)))
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))

	assert.Equal(t, done, d.end(t, os.Interrupt), d.said)
	again := startDesk(t, dir, "--no-open")
	assert.Equal(t, jobs, jobsOf(t, again.ask(t, `{"do": "look"}`)))
	assert.NotEqual(t, d.key, again.key)
	assert.Equal(t, done, again.end(t, syscall.SIGTERM), again.said)
	assert.Empty(t, temporaries(t, dir))
}

// A desk that ends tells those who wait and those who send, and puts back what they
// had in hand.
func TestDeskEndsInOrder(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	d := startDesk(t, dir, "--no-open")
	in, out := io.Pipe()
	sent := make(chan error, 1)
	go func() {
		_, _, err := d.do("POST", "files?name=half.csv", in)
		sent <- err
	}()
	heard := make(chan error, 1)
	go func() {
		_, _, err := d.do("GET", "events", nil)
		heard <- err
	}()
	_, err := out.Write([]byte(strings.Repeat("half\n", 1<<16)))
	require.NoError(t, err)
	require.Eventually(t, func() bool { return len(temporaries(t, dir)) > 0 }, 10*time.Second, time.Millisecond)
	assert.Equal(t, done, d.end(t, syscall.SIGTERM), d.said)
	require.NoError(t, out.CloseWithError(io.ErrUnexpectedEOF))
	<-sent
	<-heard
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

// The browser is called with a file of this user's that leads on, and goes with the
// desk; the key is in no list of processes.
func TestDeskOpensTheBrowser(t *testing.T) {
	bin, dir := t.TempDir(), t.TempDir()
	called := filepath.Join(bin, "called")
	put(t, filepath.Join(bin, "xdg-open"), "#!/bin/sh\necho \"$@\" > "+called+".new\ncat \"$1\" >> "+called+".new\nstat -c %a \"$1\" >> "+called+".new\nmv "+called+".new "+called+"\n")
	require.NoError(t, os.Chmod(filepath.Join(bin, "xdg-open"), 0o755))
	t.Setenv("PATH", bin+":"+os.Getenv("PATH"))
	t.Setenv("DISPLAY", ":0")
	d := startDesk(t, dir)
	require.Eventually(t, func() bool { return disk.Exists(called) }, 10*time.Second, time.Millisecond)
	text, err := os.ReadFile(called)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	assert.Equal(t, filepath.Join(dir, leadOnFile), lines[0])
	assert.Contains(t, string(text), d.link)
	assert.Equal(t, "600", lines[len(lines)-1])
	list, err := exec.Command("ps", "axww", "-o", "args").Output()
	require.NoError(t, err)
	assert.Contains(t, string(list), "lapwing desk "+dir)
	assert.NotContains(t, string(list), d.key)
	assert.Equal(t, done, d.end(t, os.Interrupt))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

// Every GET that tells something, and every POST, wants the key; what another name
// leads here gets nothing at all.
func TestDeskWantsTheKey(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	put(t, filepath.Join(dir, "pages", "a", "summary.json"), "secret")
	put(t, filepath.Join(dir, "files", "a.csv"), "secret")
	d := startDesk(t, dir, "--no-open")
	for _, c := range []struct{ method, path string }{
		{"GET", "pages/a/summary.json"}, {"GET", "files/a.csv"}, {"GET", "events"}, {"HEAD", "files/a.csv"}, {"GET", "none"},
		{"POST", "ask"}, {"POST", "files?name=b.csv"}, {"PUT", "files/a.csv"}, {"OPTIONS", "ask"},
	} {
		for host, want := range map[string]int{"": 401, "evil.example": 403} {
			r, err := http.NewRequest(c.method, d.address+c.path, nil)
			require.NoError(t, err)
			if host != "" {
				r.Host = host + ":" + r.URL.Port()
				r.Header.Set("Authorization", "Bearer "+d.key)
			}
			got, err := http.DefaultClient.Do(r)
			require.NoError(t, err)
			text, err := io.ReadAll(got.Body)
			require.NoError(t, err)
			require.NoError(t, got.Body.Close())
			assert.Equal(t, want, got.StatusCode, c.method+" "+c.path)
			assert.NotContains(t, string(text), "secret")
		}
	}
	r, err := http.Get(d.address)
	require.NoError(t, err)
	page, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Equal(t, 200, r.StatusCode)
	assert.NotContains(t, string(page), d.key)
	assert.NotContains(t, r.Header.Get("Content-Security-Policy"), "unsafe-inline")
	_, text, err := d.do("GET", "files/a.csv", nil)
	require.NoError(t, err)
	assert.Equal(t, "secret", text)
}

// A desk that is killed at any moment, while files come and jobs are made and
// assessed, leaves whole files only: each job is read by the commands, no page is
// half there, and the next desk goes on.
func TestDeskKilled(t *testing.T) {
	t.Parallel()
	rounds := 6
	if os.Getenv("LAPWING_LONG") != "" {
		rounds = 200
	}
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "stick"), 3)
	dir := filepath.Join(work, "desk")
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 5))
	var length time.Duration
	for i := range rounds {
		d := startDesk(t, dir, "--no-open")
		began, over := time.Now(), make(chan struct{})
		go func() {
			defer close(over)
			fillDesk(d, filepath.Join(work, "stick"))
		}()
		if i == 0 {
			<-over
			length = time.Since(began)
			require.NoError(t, os.RemoveAll(filepath.Join(dir, "pages"))) // to be made again, killed or not
		} else {
			time.Sleep(time.Duration(rng.Float64() * float64(length)))
		}
		require.NoError(t, d.Process.Kill())
		_ = d.Wait() // it was killed
		<-over
		checkKilledDesk(t, dir, filepath.Join(work, "stick"))
		if i%3 == 2 { // another beginning
			require.NoError(t, os.RemoveAll(dir))
		}
	}
}

// fillDesk drops a season and has it assessed, as far as the desk lives.
func fillDesk(d *runningDesk, stick string) {
	_ = filepath.WalkDir(stick, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || filepath.Ext(path) == ".yaml" {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		name, _ := filepath.Rel(stick, path)
		_, _, err = d.do("POST", "files?name="+url.QueryEscape(filepath.ToSlash(name)), f)
		return err
	})
	_, state, err := d.do("POST", "ask", strings.NewReader(`{"do": "look"}`))
	if err != nil {
		return
	}
	var s struct{ Jobs []struct{ Job string } }
	if json.Unmarshal([]byte(state), &s) != nil {
		return
	}
	for _, j := range s.Jobs {
		_, _, _ = d.do("POST", "ask", strings.NewReader(fmt.Sprintf(`{"do": "assess", "job": %q}`, j.Job))) // it may be dead
	}
}

// checkKilledDesk looks at what a killed desk left, once the next has opened it.
func checkKilledDesk(t *testing.T, dir, stick string) {
	t.Helper()
	folder, err := output.OpenDeskFolder(dir)
	require.NoError(t, err)
	require.NoError(t, folder.Close())
	assert.Empty(t, temporaries(t, dir))
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		switch below, dropped := strings.CutPrefix(filepath.ToSlash(name), "files/"); {
		case dropped:
			want, err := os.ReadFile(filepath.Join(stick, below))
			require.NoError(t, err)
			assert.True(t, bytes.Equal(want, text), "%s is not what was dropped", name)
		case strings.HasSuffix(name, ".html"):
			assert.True(t, bytes.HasSuffix(bytes.TrimSpace(text), []byte("</html>")), name)
		case strings.HasSuffix(name, "json"):
			assert.True(t, json.Valid(text), name)
		case strings.HasSuffix(name, ".yaml") && !strings.Contains(name, string(filepath.Separator)):
			var out, errs bytes.Buffer
			status := run(context.Background(), []string{"assess", path, "--out", filepath.Join(t.TempDir(), "out"), "--json"}, strings.NewReader(""), &out, &errs)
			assert.Equal(t, done, status, "%s: %s", name, errs.String())
		}
		return nil
	}))
	for _, page := range []string{"report.html", "summary.json", "coverage.geojson"} { // of one run, or none
		reports, err := filepath.Glob(filepath.Join(dir, "pages", "*", page))
		require.NoError(t, err)
		for _, r := range reports {
			for _, other := range []string{"report.html", "summary.json", "coverage.geojson"} {
				assert.FileExists(t, filepath.Join(filepath.Dir(r), other))
			}
		}
	}
}

// An upload of any size takes the memory of a small one. With LAPWING_LONG it is of
// 2 GiB less a byte, what a desk takes at most.
func TestDeskMemory(t *testing.T) {
	size := int64(192 << 20)
	if os.Getenv("LAPWING_LONG") != "" {
		size = 2<<30 - 1
	}
	dir := t.TempDir()
	d := startDesk(t, dir, "--no-open")
	before := peakMemory(t, d)
	status, text, err := d.do("POST", "files?name=big.bin", io.LimitReader(endless{}, size))
	require.NoError(t, err)
	require.Equal(t, 200, status, text)
	info, err := os.Stat(filepath.Join(dir, "files", "big.bin"))
	require.NoError(t, err)
	assert.Equal(t, size, info.Size())
	grown := peakMemory(t, d) - before
	t.Logf("%d MB came, the process grew by %d MB to %d MB", size>>20, grown>>20, (before+grown)>>20)
	assert.Less(t, grown, int64(32<<20))
	if os.Getenv("LAPWING_LONG") == "" {
		return
	}
	status, text, err = d.do("POST", "files?name=more.bin", io.LimitReader(endless{}, 2<<30+1))
	require.NoError(t, err)
	assert.Equal(t, 422, status)
	assert.Contains(t, text, "at most 2 GiB")
}

// peakMemory is the most memory that a process has had, in bytes.
func peakMemory(t *testing.T, d *runningDesk) int64 {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", d.Process.Pid))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("only Linux tells it")
	}
	require.NoError(t, err)
	_, rest, _ := strings.Cut(string(text), "VmHWM:")
	kB, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
	require.NoError(t, err)
	return kB << 10
}

// endless are lines without end.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = "0,1,2,3\n"[i%8]
	}
	return len(p), nil
}

// What appears in a watched folder is taken, and told in the pages.
func TestDeskWatches(t *testing.T) {
	t.Parallel()
	dir, stick := t.TempDir(), t.TempDir()
	d := startDesk(t, dir, "--no-open", "--watch", stick)
	data, err := os.ReadFile(filepath.Join(repository, "samples", "tern-bank", "drill.csv"))
	require.NoError(t, err)
	put(t, filepath.Join(stick, "logs", "day1.csv"), string(data))
	at := filepath.Join(dir, "files", "logs", "day1.csv")
	require.Eventually(t, func() bool { return disk.Exists(at) }, 30*time.Second, 10*time.Millisecond)
	got, err := os.ReadFile(at)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(data, got))
	assert.Equal(t, done, d.end(t, os.Interrupt))
}

// A log that grows in a watched folder stays one log, in a desk that is begun anew too.
func TestDeskWatchesALogGrow(t *testing.T) {
	t.Parallel()
	dir, stick := t.TempDir(), t.TempDir()
	whole, err := os.ReadFile(filepath.Join(repository, "samples", "tern-bank", "drill.csv"))
	require.NoError(t, err)
	for _, until := range []int{len(whole) / 2, len(whole) * 3 / 4, len(whole)} {
		d := startDesk(t, dir, "--no-open", "--watch", stick)
		put(t, filepath.Join(stick, "day1.csv"), string(whole[:until]))
		require.Eventually(t, func() bool {
			got, err := os.ReadFile(filepath.Join(dir, "files", "day1.csv"))
			return err == nil && bytes.Equal(got, whole[:until])
		}, 30*time.Second, 10*time.Millisecond)
		var s struct{ Jobs []struct{ Logs []string } }
		require.NoError(t, json.Unmarshal([]byte(d.ask(t, `{"do": "look"}`)), &s))
		require.Len(t, s.Jobs, 1)
		assert.Equal(t, []string{"files/day1.csv"}, s.Jobs[0].Logs)
		files, err := os.ReadDir(filepath.Join(dir, "files"))
		require.NoError(t, err)
		assert.Len(t, files, 1)
		assert.Equal(t, done, d.end(t, os.Interrupt))
	}
}
