//go:build linux

package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/cab"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
)

// sentenceOf is a sentence with its checksum.
func sentenceOf(body string) string {
	sum := byte(0)
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}

// minutes is an angle as sentences have it: degrees of so many digits, minutes to a
// fifth of a millimetre.
func minutes(v float64, digits int) string {
	whole, part := math.Modf(math.Abs(v))
	text := fmt.Sprintf("%010.7f", part*60)
	if text == "60.0000000" {
		whole, text = whole+1, "00.0000000"
	}
	return fmt.Sprintf("%0*d%s", digits, int(whole), text)
}

// hemisphere is the letter of a sign.
func hemisphere(v float64, letters string) string {
	if v < 0 {
		return letters[1:]
	}
	return letters[:1]
}

// epochOf is a fix as a receiver sends it: GGA and RMC.
func epochOf(f *geo.Fix) string {
	at := f.Time.Time()
	place := minutes(f.At.Lat, 2) + "," + hemisphere(f.At.Lat, "NS") + "," + minutes(f.At.Lon, 3) + "," + hemisphere(f.At.Lon, "EW")
	var speed, course string
	if !math.IsNaN(f.Speed) {
		speed = fmt.Sprintf("%.3f", f.Speed*3600/1852)
	}
	if f.Heading.Known() {
		course = fmt.Sprintf("%.2f", float64(f.Heading))
	}
	quality := f.Quality
	if quality == geo.QualityUnknown || quality == geo.NoFix {
		quality = geo.Single
	}
	return sentenceOf(fmt.Sprintf("GNGGA,%s,%s,%d,20,0.6,12.0,M,45.0,M,1.0,0001", at.Format("150405.000"), place, quality)) +
		sentenceOf(fmt.Sprintf("GNRMC,%s,A,%s,%s,%s,%s,,,A", at.Format("150405.000"), place, speed, course, at.Format("020106")))
}

// A replay is a log that receivers are made to send, and the job of its field.
type replay struct {
	name   string
	epochs []string  // each all sentences of one moment
	want   []geo.Fix // that the reader of whole files gives of them
	job    string
	bounds []byte // boundary.geojson; none for a field that is the worked ground
}

func newReplay(t *testing.T, name string, epochs []string, width string, bounds []byte) replay {
	t.Helper()
	log, err := gnsslog.ReadNMEA(name, gnsslog.TextOf([]byte(strings.Join(epochs, ""))), gnsslog.Options{})
	require.NoError(t, err)
	r := replay{name: name, epochs: epochs, want: log.Fixes, bounds: bounds}
	boundary := "worked"
	if bounds != nil {
		boundary = "boundary.geojson"
	}
	r.job = fmt.Sprintf("field: %s\nboundary: %s\ntime_zone: UTC\nmachines:\n  - name: drill\n    implement: {width: %s}\n", name, boundary, width)
	return r
}

// ofFixes is the replay of a log of any kind.
func ofFixes(t *testing.T, name string, fixes []geo.Fix, width string, bounds []byte) replay {
	t.Helper()
	var epochs []string
	for i := range fixes {
		if i > 0 && fixes[i].Time <= fixes[i-1].Time {
			continue // which no receiver says
		}
		epochs = append(epochs, epochOf(&fixes[i]))
	}
	return newReplay(t, name, epochs, width, bounds)
}

// folder is a new folder with the job.
func (r *replay) folder(t *testing.T) string {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "job.yaml"), r.job)
	if r.bounds != nil {
		put(t, filepath.Join(dir, "boundary.geojson"), string(r.bounds))
	}
	return dir
}

// heardIn are the fixes of the journals in a folder, in order of time.
func heardIn(t *testing.T, dir string) []geo.Fix {
	t.Helper()
	fixes := appended(t, dir)
	slices.SortStableFunc(fixes, func(a, b geo.Fix) int { return int(max(-1, min(1, a.Time-b.Time))) })
	return fixes
}

// appended are the fixes of the journals in a folder, as they stand there.
func appended(t *testing.T, dir string) (fixes []geo.Fix) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	require.NoError(t, err)
	for _, name := range names {
		f, err := os.Open(name)
		require.NoError(t, err)
		_, err = journal.Read(f, func(r journal.Record) { fixes = append(fixes, r.Fix) })
		require.NoError(t, err)
		f.Close()
	}
	return fixes
}

// heardAll waits until a cab in a folder has as many fixes as were sent.
func (r *replay) heardAll(t *testing.T, dir string, count int) {
	t.Helper()
	came := 0
	for end := time.Now().Add(60 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if came = len(heardIn(t, filepath.Join(dir, "journal"))); came >= count {
			return
		}
	}
	require.Fail(t, "fixes are missing", "%d of %d came", came, count)
}

// toldBy is cab.json.
func toldBy(t *testing.T, dir string) (told cab.Summary) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, "assessment", cab.SummaryFile))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &told))
	return told
}

// holds fails unless a cab that has ended heard what was sent, and says what assess
// says of it.
func (r *replay) holds(t *testing.T, dir string) {
	t.Helper()
	told := toldBy(t, dir)
	assert.Equal(t, len(r.want), told.Fixes)
	got := heardIn(t, filepath.Join(dir, "journal"))
	require.Equal(t, len(r.want), len(got))
	want := slices.Clone(r.want)
	slices.SortStableFunc(want, func(a, b geo.Fix) int { return int(max(-1, min(1, a.Time-b.Time))) })
	for i := range got {
		want[i].Row = 0
		require.Equal(t, fmt.Sprint(want[i]), fmt.Sprint(got[i]), "fix %d", i) // so that NaN equals itself
	}
	holdsItsLaw(t, dir)
}

// slowly sends a replay sentence by sentence, never farther ahead of the cab than the
// socket of datagrams holds: 200 kB here, of which each takes nearly one.
func (r *replay) slowly(t *testing.T, dir string, send func(sentence string)) {
	t.Helper()
	const ahead = 100
	text := strings.Join(r.epochs, "")
	sent, count := 0, 0
	for s := range strings.SplitAfterSeq(text, "\n") {
		if s == "" {
			continue
		}
		send(s)
		sent += len(s)
		if count++; count%ahead == 0 {
			log, err := gnsslog.ReadNMEA(r.name, gnsslog.TextOf([]byte(text[:sent])), gnsslog.Options{})
			if err == nil { // else there is no position in it yet
				r.heardAll(t, dir, len(asDatagrams(log.Fixes))-2)
			}
		}
	}
}

// asDatagrams are the fixes that a source of datagrams tells: a moment that comes again, as in
// a leap second, does not.
func asDatagrams(fixes []geo.Fix) (kept []geo.Fix) {
	for _, f := range fixes {
		if n := len(kept); n == 0 || f.Time > kept[n-1].Time || kept[n-1].Time.Sub(f.Time) > 2*time.Second {
			kept = append(kept, f)
		}
	}
	return kept
}

// opens waits until the source of a cab is open.
func (p *cabProcess) opens(t *testing.T) {
	t.Helper()
	require.Eventually(t, func() bool { s := p.signal(t); return s == "" || strings.HasSuffix(s, "no bytes come") }, 10*time.Second, 5*time.Millisecond)
}

// freePort is a port of this machine on which nothing listens, of those below the ones
// that Linux gives to whoever asks for any: no connection of another test takes it before
// it is listened to.
func freePort(t *testing.T) string {
	t.Helper()
	for range 1000 {
		place := fmt.Sprintf("127.0.0.1:%d", 20_000+rand.IntN(12_000))
		if _, had := portsGiven.LoadOrStore(place, true); had {
			continue
		}
		if l, err := net.Listen("tcp", place); err == nil {
			l.Close()
			return place
		}
	}
	require.Fail(t, "no port is free")
	return ""
}

// portsGiven are those that freePort has given to a test.
var portsGiven sync.Map

// A way is one in which a cab hears a replay until its end.
type way struct {
	name string
	hear func(t *testing.T, r *replay, dir string)
}

// ways are all of them, but gpsd, which others wrote.
var ways = []way{
	{"serial", func(t *testing.T, r *replay, dir string) {
		far, near, err := pty.Open()
		require.NoError(t, err)
		defer far.Close()
		defer near.Close() // the line is there before and after it is listened to
		p := startCab(t, dir, "--receiver", "serial:"+near.Name()+"?baud=115200")
		p.opens(t)
		for _, e := range r.epochs { // a line holds 4096 bytes, and the writer waits for room
			_, err := io.WriteString(far, e)
			require.NoError(t, err)
		}
		r.heardAll(t, dir, len(r.want))
		p.end(t, syscall.SIGTERM)
	}},
	{"tcp", func(t *testing.T, r *replay, dir string) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		defer l.Close()
		go func() {
			if c, err := l.Accept(); err == nil {
				io.WriteString(c, strings.Join(r.epochs, ""))
				io.Copy(io.Discard, c) // until the cab ends
				c.Close()
			}
		}()
		p := startCab(t, dir, "--receiver", "tcp:"+l.Addr().String())
		r.heardAll(t, dir, len(r.want))
		p.end(t, syscall.SIGINT)
	}},
	{"udp", func(t *testing.T, r *replay, dir string) {
		place := freePort(t)
		p := startCab(t, dir, "--receiver", "udp:"+place)
		p.opens(t)
		c, err := net.Dial("udp", place)
		require.NoError(t, err)
		defer c.Close()
		r.slowly(t, dir, func(sentence string) {
			_, err := io.WriteString(c, sentence)
			require.NoError(t, err)
		})
		r.heardAll(t, dir, len(r.want))
		p.end(t, syscall.SIGTERM)
	}},
	{"standard input", func(t *testing.T, r *replay, dir string) {
		c := exec.Command("lapwing", "cab", "job.yaml", "--receiver", "-", "--no-page")
		c.Dir, c.Stdin = dir, strings.NewReader(strings.Join(r.epochs, ""))
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}},
	{"file", func(t *testing.T, r *replay, dir string) {
		put(t, filepath.Join(dir, "log.nmea"), strings.Join(r.epochs, ""))
		c := exec.Command("lapwing", "cab", "job.yaml", "--receiver", "file:log.nmea?speed=0", "--no-page")
		c.Dir = dir
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}},
}

// A log that a receiver sends by any way is in the journal to the last bit, and the
// answer is that of assess. The sample and the hard clock drive by all ways; logs of public
// data sets, some of which real receivers sent, by one way each in turn, and by all with
// LAPWING_LONG.
func TestCabReplays(t *testing.T) {
	t.Parallel()
	for i, r := range replays(t) {
		by := ways
		if i >= made && os.Getenv("LAPWING_LONG") == "" {
			by = ways[i%len(ways) : i%len(ways)+1]
		}
		for _, w := range by {
			t.Run(r.name+" by "+w.name, func(t *testing.T) {
				t.Parallel()
				r, dir := r, r.folder(t)
				if w.name == "udp" {
					r.want = asDatagrams(r.want)
				}
				w.hear(t, &r, dir)
				r.holds(t, dir)
			})
		}
	}
}

// made is how many of the replays are of no public data set.
const made = 2

// replays are the sample, the hard clock and the logs of public data sets, which need not
// be here.
func replays(t *testing.T) []replay {
	t.Helper()
	all := append(make([]replay, 0, made), tern(t), hardClock(t))
	data := filepath.Join("..", "..", "..", "shared", "data")
	if _, err := os.Stat(data); err != nil {
		t.Logf("no %s: its logs were not replayed", data)
		return all
	}
	harvest := filepath.Join(data, "barley-harvest-2015")
	packed, err := os.ReadFile(filepath.Join(harvest, "yield.csv.gz"))
	require.NoError(t, err)
	unpacked, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(t, err)
	text, err := io.ReadAll(unpacked)
	require.NoError(t, err)
	bounds, err := os.ReadFile(filepath.Join(harvest, "boundary.geojson"))
	require.NoError(t, err)
	log, err := gnsslog.ReadCSV("yield.csv", gnsslog.TextOf(text), gnsslog.Options{})
	require.NoError(t, err)
	all = append(all, ofFixes(t, "barley", log.Fixes[:3000], "40 ft", bounds))
	for _, name := range []string{"rtk-and-3d", "moving-with-dropouts", "multi-gnss", "week-rollover"} {
		text, err := os.ReadFile(filepath.Join(data, "nmea-logs-a", name+".nmea"))
		require.NoError(t, err)
		all = append(all, newReplay(t, name, strings.SplitAfter(string(text), "\n"), "12 m", nil))
	}
	return all
}

// tern is the sample of one drill.
func tern(t *testing.T) replay {
	t.Helper()
	sample := filepath.Join("..", "..", "samples", "tern-bank")
	text, err := os.ReadFile(filepath.Join(sample, "drill.csv"))
	require.NoError(t, err)
	bounds, err := os.ReadFile(filepath.Join(sample, "boundary.geojson"))
	require.NoError(t, err)
	log, err := gnsslog.ReadCSV("drill.csv", gnsslog.TextOf(text), gnsslog.Options{})
	require.NoError(t, err)
	return ofFixes(t, "tern bank", log.Fixes, "9 m", bounds)
}

// The samples' logs, played with where their bars worked and which sections, leave the
// ground that their own jobs have: of one machine, of two that are heard at once, and of
// one beside ground that another has worked, whose log stays in the job.
func TestCabPlaysTheSamples(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, sample, without, with string }{
		{"one drill", "tern-bank", "drill.csv", ""},
		{"two drills", "long-meadow", "wide.csv=wide drill, narrow.csv=narrow drill", ""},
		{"one drill after another", "long-meadow", "narrow.csv=narrow drill", "wide.csv"},
	} {
		t.Run(c.name, func(t *testing.T) {
			sample, err := filepath.Abs(filepath.Join("..", "..", "samples", c.sample))
			require.NoError(t, err)
			dir := t.TempDir()
			data, err := os.ReadFile(filepath.Join(sample, "job.yaml"))
			require.NoError(t, err)
			text := strings.ReplaceAll(string(data), "boundary: boundary.geojson", "boundary: "+filepath.Join(sample, "boundary.geojson"))
			args := []string{"cab", "job.yaml", "--no-page"}
			for _, heard := range strings.Split(c.without, ", ") {
				file, machine, named := strings.Cut(heard, "=")
				bare := strings.ReplaceAll(text, "    tracks: ["+file+"]\n", "")
				require.NotEqual(t, text, bare)
				text = bare
				source := "file:" + filepath.Join(sample, file) + "?speed=0"
				if named {
					source += "&machine=" + strings.ReplaceAll(machine, " ", "%20")
				}
				args = append(args, "--receiver", source)
			}
			if c.with != "" {
				text = strings.ReplaceAll(text, "tracks: ["+c.with, "tracks: ["+filepath.Join(sample, c.with))
			}
			put(t, filepath.Join(dir, "job.yaml"), text)
			for _, args := range [][]string{args, {"assess", filepath.Join(sample, "job.yaml"), "--out", "batch"}} {
				p := exec.Command("lapwing", args...)
				p.Dir = dir
				out, err := p.CombinedOutput()
				require.NoError(t, err, string(out))
			}
			holdsItsLaw(t, dir)
			answers := make([]map[string]any, 2)
			for i, of := range []string{"assessment", "batch"} {
				text, err := os.ReadFile(filepath.Join(dir, of, "summary.json"))
				require.NoError(t, err)
				require.NoError(t, json.Unmarshal(text, &answers[i]))
			}
			for _, key := range []string{"field", "ground", "headland", "passes", "skips", "overlaps", "products"} {
				assert.Equal(t, answers[1][key], answers[0][key], key)
			}
		})
	}
}

// cab --look ends in order and says of each port of this computer what speaks on it.
func TestCabLooks(t *testing.T) {
	t.Parallel()
	out, err := exec.Command("lapwing", "cab", "--look").CombinedOutput()
	require.NoError(t, err, string(out))
	for line := range strings.Lines(string(out)) {
		assert.Regexp(t, `^(no serial port|\S+: .+)\n$`, line)
	}
}

// gpsdOn starts a gpsd that listens to a line, and gives its address.
func gpsdOn(t *testing.T, device string) string {
	t.Helper()
	path, err := exec.LookPath("gpsd")
	if err != nil {
		path, err = exec.LookPath("/usr/sbin/gpsd")
	}
	if err != nil {
		require.NotEqual(t, "all", os.Getenv("LAPWING_STRANGERS"), "no gpsd: install Debian's gpsd")
		t.Skip("no gpsd (Debian's gpsd): it was not heard")
	}
	place := freePort(t)
	_, port, _ := strings.Cut(place, ":")
	c := exec.Command(path, "-N", "-n", "-b", "-S", port, device)
	said := &lockedText{}
	c.Stderr = said
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		_ = c.Process.Signal(syscall.SIGTERM)
		_ = c.Wait() // it was told to end
		if t.Failed() {
			t.Log(said.String())
		}
	})
	return place
}

// A real gpsd hands on what a receiver sends it: each fix once, as far as its digits go,
// nine decimals of a degree; and the answer is that of assess.
func TestCabReplaysByGpsd(t *testing.T) {
	t.Parallel()
	far, near, err := pty.Open()
	require.NoError(t, err)
	defer far.Close()
	defer near.Close()
	place := gpsdOn(t, near.Name())
	r := tern(t)
	r.epochs, r.want = r.epochs[:1500], r.want[:1500]
	dir := r.folder(t)
	p := startCab(t, dir, "--receiver", "gpsd:"+place)
	send := func(text string) {
		_, err := io.WriteString(far, text)
		require.NoError(t, err)
		time.Sleep(4 * time.Millisecond) // gpsd tells a cycle's end by a silence
	}
	// gpsd first looks for the receiver's rate: it hears the place of the first fix from
	// the minute before until the cab has heard of it.
	waits := r.want[0]
	waits.Time -= geo.Instant(time.Minute)
	came := false
	for n := 0; n < 600 && !came; n++ {
		waits.Time += geo.Instant(tenth)
		send(epochOf(&waits))
		time.Sleep(tenth)
		came = len(heardIn(t, filepath.Join(dir, "journal"))) > 3
	}
	require.True(t, came, "gpsd hands nothing on")
	for _, e := range r.epochs {
		send(e)
	}
	sent := map[geo.Instant]geo.Fix{}
	for _, f := range r.want {
		sent[f.Time] = f
	}
	heard := func() (n int) {
		for _, f := range heardIn(t, filepath.Join(dir, "journal")) {
			if _, of := sent[f.Time]; of {
				n++
			}
		}
		return n
	}
	require.Eventually(t, func() bool { return heard() >= len(r.want)-1 }, 30*time.Second, 100*time.Millisecond) // the last one has no end
	p.end(t, syscall.SIGTERM)
	times := map[geo.Instant]bool{}
	for _, f := range heardIn(t, filepath.Join(dir, "journal")) {
		require.False(t, times[f.Time], "each moment once")
		times[f.Time] = true
		want, of := sent[f.Time]
		if !of {
			continue
		}
		require.InDelta(t, want.At.Lon, f.At.Lon, 0.6e-9)
		require.InDelta(t, want.At.Lat, f.At.Lat, 0.6e-9)
		require.Equal(t, geo.Fixed, f.Quality)
	}
	told := toldBy(t, dir)
	assert.Equal(t, len(times), told.Fixes)
	assert.Zero(t, told.Refused)
	holdsItsLaw(t, dir)
}

const tenth = 100 * time.Millisecond
