//go:build unix

package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/cab"
	"lapwing/geo"
	"lapwing/geo/journal"
)

// A tractor sends sentences of NMEA 0183 over TCP, ten times a second of its clock, of
// passes to and fro 10 m apart, 300 m long, with 12 m of turn between them.
type tractor struct {
	listener net.Listener
	every    time.Duration // on the wall, between two fixes
	east     float64       // m, that all of it lies farther east

	mu      sync.Mutex
	next    int         // fix
	sent    []time.Time // when each was
	begins  []int       // the first fix of each connection
	stopped bool
	ended   bool // with its test
}

var tractorFrame = geo.NewFrame(geo.LonLat{Lon: 2.3125, Lat: 54.7125})

func newTractor(t *testing.T, every time.Duration) *tractor { return newTractorAt(t, every, 0) }

// newTractorAt is a tractor so many metres farther east.
func newTractorAt(t *testing.T, every time.Duration, east float64) *tractor {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	d := &tractor{listener: l, every: every, east: east}
	t.Cleanup(func() {
		l.Close()
		d.mu.Lock()
		defer d.mu.Unlock()
		d.ended = true
	})
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			d.mu.Lock()
			d.begins = append(d.begins, d.next)
			d.mu.Unlock()
			d.drive(c)
		}
	}()
	return d
}

// drive goes on driving for whoever listens.
func (d *tractor) drive(c net.Conn) {
	defer c.Close()
	for {
		d.mu.Lock()
		n, stopped, ended, every := d.next, d.stopped, d.ended, d.every
		d.mu.Unlock()
		if ended {
			return
		}
		if stopped {
			time.Sleep(max(every, time.Millisecond))
			continue
		}
		if _, err := io.WriteString(c, d.fix(n)); err != nil {
			return
		}
		d.mu.Lock()
		d.next++
		d.sent = append(d.sent, time.Now())
		d.mu.Unlock()
		time.Sleep(every)
	}
}

// stop has it send nothing more; it goes on where it was.
func (d *tractor) stop(stopped bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.stopped = stopped
}

// at is where the tractor is at fix n, in metres.
func (d *tractor) at(n int) (x, y float64) {
	const length, turn = 300.0, 31.4 // m; the turn is half a circle of 10 m across
	way := float64(n) * 0.25
	pass, along := int(way/(length+turn)), math.Mod(way, length+turn)
	x = d.east + 5 + 10*float64(pass)
	switch {
	case along <= length:
		y = along
	default:
		angle := (along - length) / 10 * 2 / 2
		x, y = x+5-5*math.Cos(angle), length+5*math.Sin(angle)
	}
	if pass%2 == 1 {
		y = length - y
	}
	return x, y
}

// fix is fix n as sentences.
func (d *tractor) fix(n int) string {
	x, y := d.at(n)
	at := tractorFrame.FromMetres(x, y)
	begin := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC).Add(time.Duration(n) * 100 * time.Millisecond)
	degrees := func(v float64, digits int) string {
		whole, part := math.Modf(math.Abs(v))
		return fmt.Sprintf("%0*d%010.7f", digits, int(whole), part*60)
	}
	clock := begin.Format("150405.00")
	gga := fmt.Sprintf("GPGGA,%s,%s,N,%s,E,4,20,0.6,12.0,M,45.0,M,1.0,0001", clock, degrees(at.Lat, 2), degrees(at.Lon, 3))
	rmc := fmt.Sprintf("GPRMC,%s,A,%s,N,%s,E,4.86,,%s,,,R", clock, degrees(at.Lat, 2), degrees(at.Lon, 3), begin.Format("020106"))
	var out strings.Builder
	for _, s := range []string{gga, rmc} {
		sum := byte(0)
		for i := range len(s) {
			sum ^= s[i]
		}
		fmt.Fprintf(&out, "$%s*%02X\r\n", s, sum)
	}
	return out.String()
}

// connections are how many there were, and the first fix of the last one.
func (d *tractor) connections() (count, begins int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if count = len(d.begins); count > 0 {
		begins = d.begins[count-1]
	}
	return count, begins
}

// fixes is how many fixes were sent by a time.
func (d *tractor) fixes(by time.Time) (n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, at := range d.sent {
		if !at.After(by) {
			n++
		}
	}
	return n
}

// cabJob is a folder with a job for the tractor.
func cabJob(t *testing.T) string {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "job.yaml"), "field: Pit Field\nboundary: field.geojson\ntime_zone: UTC\nmachines:\n  - name: drill\n    implement: {width: 10 m, sections: 4}\n")
	put(t, filepath.Join(dir, "field.geojson"), tractorField(400))
	return dir
}

// tractorField is the boundary of a field that reaches so many metres east, 300 m deep.
func tractorField(across float64) string {
	var corners []string
	for _, c := range [][2]float64{{0, 0}, {across, 0}, {across, 300}, {0, 300}, {0, 0}} {
		at := tractorFrame.FromMetres(c[0], c[1])
		corners = append(corners, fmt.Sprintf("[%.9f,%.9f]", at.Lon, at.Lat))
	}
	return `{"type":"Polygon","coordinates":[[` + strings.Join(corners, ",") + `]]}`
}

// seeded is a source of random numbers, whose seed the test tells.
func seeded(t *testing.T) *rand.Rand {
	seed := rand.Uint64()
	t.Log("seed", seed)
	return rand.New(rand.NewPCG(seed, 0))
}

// A cabProcess is lapwing cab, running.
type cabProcess struct {
	*exec.Cmd
	address, key string
	stderr       *lockedText
	started      time.Time
}

// startCab starts lapwing cab in a folder, and waits until it says its address.
func startCab(t *testing.T, dir string, args ...string) *cabProcess {
	t.Helper()
	p := &cabProcess{Cmd: exec.Command("lapwing", append([]string{"cab", "job.yaml"}, args...)...), stderr: &lockedText{}, started: time.Now()}
	p.Dir, p.Stderr = dir, p.stderr
	out, err := p.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, p.Start())
	t.Cleanup(func() { _ = p.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, p.stderr)
	link, said := strings.CutPrefix(strings.TrimSpace(line), "cab ")
	require.True(t, said, line)
	p.address, p.key, _ = strings.Cut(link, "#")
	return p
}

// ask asks a cab with a key, and returns the status and what it said.
func (p *cabProcess) ask(t *testing.T, method, path, key, body string) (int, string) {
	t.Helper()
	r, err := http.NewRequest(method, p.address+path, strings.NewReader(body))
	require.NoError(t, err)
	if key != "" {
		r.Header.Set("Authorization", "Bearer "+key)
	}
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(data)
}

// A cabAnswer is what the tests look at in answer.json.
type cabAnswer struct {
	Passes []struct {
		ID int `json:"id"`
	} `json:"passes"`
	Now  map[string]cab.BesideNow `json:"now"`
	Last map[string]struct {
		ID int `json:"id"`
	} `json:"last"`
}

func (p *cabProcess) answer(t *testing.T) (a cabAnswer) {
	t.Helper()
	status, body := p.ask(t, "GET", "answer.json", p.key, "")
	require.Equal(t, http.StatusOK, status, body)
	require.NoError(t, json.Unmarshal([]byte(body), &a))
	return a
}

// signal is what a cab says is wrong with what it hears of its drill; "" while all is well.
func (p *cabProcess) signal(t *testing.T) string {
	t.Helper()
	return p.answer(t).Now["drill"].Signal
}

// end stops a cab and waits for its answer.
func (p *cabProcess) end(t *testing.T, signal syscall.Signal) {
	t.Helper()
	began := time.Now()
	require.NoError(t, p.Process.Signal(signal))
	require.NoError(t, p.Wait(), p.stderr)
	require.Less(t, time.Since(began), 10*time.Second)
}

// steer switches the bar of a tractor's cab, which is down or not, as its driver would,
// until the tractor has gone so far.
func (p *cabProcess) steer(t *testing.T, d *tractor, down bool, metres float64, within time.Duration) {
	t.Helper()
	require.Eventually(t, func() bool {
		d.mu.Lock()
		n := d.next
		d.mu.Unlock()
		if on := math.Mod(float64(n)*0.25, 331.4) < 300; on != down {
			down = on
			status, _ := p.ask(t, "POST", "bar", p.key, fmt.Sprintf(`{"down": %v}`, down))
			assert.Equal(t, 204, status)
		}
		return float64(n)*0.25 > metres
	}, within, time.Millisecond)
}

// holdsItsLaw fails unless what a cab wrote is what assess says of its job.
func holdsItsLaw(t *testing.T, dir string) {
	t.Helper()
	again := exec.Command("lapwing", "assess", "assessment/cab-job.yaml", "--out", "again")
	again.Dir = dir
	out, err := again.CombinedOutput()
	require.NoError(t, err, string(out))
	for _, name := range []string{"summary.json", "coverage.geojson", "report.html"} {
		live, err := os.ReadFile(filepath.Join(dir, "assessment", name))
		require.NoError(t, err)
		said, err := os.ReadFile(filepath.Join(dir, "again", name))
		require.NoError(t, err)
		require.Equal(t, string(said), string(live), name)
	}
}

// A cab is asked while it hears, its bar is switched by who may, and it ends in order.
func TestCabAnswers(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	d := newTractor(t, 4*time.Millisecond)
	p := startCab(t, dir, "--receiver", "tcp:"+d.listener.Addr().String(), "--bar", "page")
	status, _ := p.ask(t, "GET", "answer.json", "", "")
	assert.Equal(t, http.StatusUnauthorized, status)
	for _, c := range []struct {
		body string
		want int
		says string
	}{
		{`{"down": true}`, 204, ""},
		{`{"down": true, "machine": "Drill"}`, 204, ""},
		{`{"down": true, "machine": "red"}`, 400, `found the machine "red", want one of drill`},
		{`{"down": 1}`, 400, "want"},
		{`{"up": true}`, 400, "want"},
		{`{}`, 400, "want"},
		{`{"down": true} {}`, 400, "found more than one order"},
		{`{"sections": "11"}`, 400, `found the sections "11", want 4 of 0 and 1`},
		{`{"sections": "1111"}`, 204, ""},
	} {
		status, body := p.ask(t, "POST", "bar", p.key, c.body)
		assert.Equal(t, c.want, status, c.body)
		assert.Contains(t, body, c.says)
	}
	// Three passes: the bar is lifted on the way, and each lift is answered.
	p.steer(t, d, true, 2*331.4+100, 60*time.Second)
	a := p.answer(t)
	require.Contains(t, a.Now, "drill")
	now := a.Now["drill"]
	require.NotNil(t, now.Left, "the pass before runs on the left")
	assert.InDelta(t, 0, *now.Left, 0.05, "passes are a width apart")
	assert.Nil(t, now.Right, "nothing is worked there yet")
	assert.Less(t, *now.Age, 1.0)
	require.Eventually(t, func() bool { a := p.answer(t); return len(a.Passes) >= 2 && a.Last["drill"].ID >= 2 }, 10*time.Second, 20*time.Millisecond)
	p.end(t, syscall.SIGTERM)
	holdsItsLaw(t, dir)
	var told cab.Summary
	data, err := os.ReadFile(filepath.Join(dir, "assessment", cab.SummaryFile))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &told))
	assert.Greater(t, told.Fixes, 2500)
	assert.Zero(t, told.Machines[0].Waiting+told.Machines[0].Lost)
}

// recordsIn counts the records of the journals in a folder, and returns the times of all.
func recordsIn(t *testing.T, dir string) map[geo.Instant]bool {
	t.Helper()
	out := map[geo.Instant]bool{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if filepath.Ext(e.Name()) != ".csv" {
			continue
		}
		f, err := os.Open(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		_, err = journal.Read(f, func(r journal.Record) { out[r.Time] = true })
		require.NoError(t, err)
		f.Close()
	}
	return out
}

// A cab that is killed at any moment has lost no fix that came a second before, goes on
// within two seconds, and says in the end what assess says of all its journals.
func TestCabKilled(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	d := newTractor(t, 5*time.Millisecond)
	rng := seeded(t)
	args := []string{"--receiver", "tcp:" + d.listener.Addr().String()}
	begin := geo.InstantOf(time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC))
	rounds := kills() / 3
	if kills() > 100 {
		rounds = kills()
	}
	var starts []time.Duration
	for range rounds {
		had, before := d.connections()
		p := startCab(t, dir, args...)
		starts = append(starts, time.Since(p.started))
		require.Eventually(t, func() bool {
			var count int
			count, before = d.connections() // a fix before that went to a cab that was dead
			return count > had && d.fixes(time.Now()) > before
		}, 20*time.Second, time.Millisecond)
		time.Sleep(time.Duration(rng.IntN(2500)) * time.Millisecond)
		require.NoError(t, p.Process.Kill())
		killed := time.Now()
		_ = p.Wait()
		if rng.IntN(2) == 0 {
			tear(t, filepath.Join(dir, "journal"), rng)
		}
		kept := recordsIn(t, filepath.Join(dir, "journal"))
		for n := before; n < d.fixes(killed.Add(-time.Second)); n++ {
			require.True(t, kept[begin+geo.Instant(n)*geo.Instant(100*time.Millisecond)], "fix %d of %d was lost, %v after it was sent", n, d.fixes(killed), killed.Sub(d.sent[n]))
		}
	}
	slices.Sort(starts)
	t.Logf("%d kills; it said its address within %v, nine times in ten within %v", rounds, starts[rounds-1], starts[rounds*9/10])
	assert.Less(t, starts[rounds*9/10], 2*time.Second, "nine times in ten, whatever else the computer does")
	p := startCab(t, dir, args...)
	require.Eventually(t, func() bool { a := p.answer(t); return len(a.Passes) > 0 }, 30*time.Second, 20*time.Millisecond)
	p.end(t, syscall.SIGINT)
	holdsItsLaw(t, dir)
}

// tear leaves a half of a record at the end of the newest journal, as a power cut does.
func tear(t *testing.T, dir string, rng *rand.Rand) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var name string
	for _, e := range entries {
		if filepath.Ext(e.Name()) == ".csv" {
			name = e.Name()
		}
	}
	f, err := os.OpenFile(filepath.Join(dir, name), os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	_, err = io.WriteString(f, "2026-05-04T08:00:00.1Z,54.7"[:1+rng.IntN(26)])
	require.NoError(t, err)
}

// A lockedText is what a process says, read while it goes on.
type lockedText struct {
	sync.Mutex
	strings.Builder
}

func (l *lockedText) Write(p []byte) (int, error) {
	l.Lock()
	defer l.Unlock()
	return l.Builder.Write(p)
}
