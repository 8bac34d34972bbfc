//go:build linux

package main

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"lapwing/geo"
)

// A cable is a serial line by a name, whose far end the test holds.
type cable struct {
	t         *testing.T
	name      string
	far, near *os.File
}

func plugIn(t *testing.T, name string) *cable {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err)
	require.NoError(t, os.Symlink(near.Name(), name))
	c := &cable{t, name, far, near}
	t.Cleanup(func() { far.Close(); near.Close() })
	return c
}

// pull takes the cable out.
func (c *cable) pull() {
	require.NoError(c.t, os.Remove(c.name))
	c.far.Close()
	c.near.Close()
}

// send sends text as a receiver set to a rate does: who listens at another hears as many
// wrong bytes.
func (c *cable) send(text string, rate uint32) {
	raw, err := c.far.SyscallConn()
	require.NoError(c.t, err)
	var set *unix.Termios
	require.NoError(c.t, raw.Control(func(fd uintptr) { set, err = unix.IoctlGetTermios(int(fd), unix.TCGETS) }))
	require.NoError(c.t, err)
	data := []byte(text)
	if set.Cflag&unix.CBAUD != rate {
		for i := range data {
			data[i] = data[i]*37 | 0x80
		}
	}
	_, err = c.far.Write(data)
	require.NoError(c.t, err)
}

// fixesIn is how many fixes are in the journals of a folder.
func fixesIn(t *testing.T, dir string) int {
	t.Helper()
	if _, err := os.Stat(filepath.Join(dir, "journal")); err != nil {
		return 0
	}
	return len(heardIn(t, filepath.Join(dir, "journal")))
}

// pageSays is the first that a page is told.
func (p *cabProcess) pageSays(t *testing.T) string {
	t.Helper()
	r, err := http.NewRequest("GET", p.address+"events", nil)
	require.NoError(t, err)
	r.Header.Set("Authorization", "Bearer "+p.key)
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
		if data, is := strings.CutPrefix(lines.Text(), "data: "); is {
			return data
		}
	}
	require.Fail(t, "the page is told nothing")
	return ""
}

// saysSilence fails unless a cab says within three seconds of the last fix that there is
// no signal for as long, in answer.json and to a page, and says nothing of it before.
func (p *cabProcess) saysSilence(t *testing.T, last time.Time) {
	t.Helper()
	for time.Since(last) < 1500*time.Millisecond {
		require.NotContains(t, p.signal(t), "no signal")
		time.Sleep(50 * time.Millisecond)
	}
	require.Eventually(t, func() bool { return strings.HasPrefix(p.signal(t), "no signal for 3 s: ") }, 5*time.Second, 5*time.Millisecond)
	said := time.Since(last)
	t.Logf("said %v after the last fix", said.Round(10*time.Millisecond))
	assert.Less(t, said, 3*time.Second)
	assert.GreaterOrEqual(t, *p.answer(t).Now["drill"].Age, 2.5)
	assert.Contains(t, p.pageSays(t), `"signal":"no signal for `)
}

// A serial line whose rate is not given: the receiver sends wrong and half sentences, its
// cable is drawn and put back, and it starts anew in the middle of a sentence. The cab
// says what is wrong while it is, goes on by itself, and counts.
func TestCabSerialFaults(t *testing.T) {
	dir := cabJob(t)
	name := filepath.Join(t.TempDir(), "gps")
	var d tractor
	c := plugIn(t, name)
	p := startCab(t, dir, "--receiver", "serial:"+name)
	n := 0
	var last time.Time
	drive := func(fixes int, more func(i int) string) {
		for i := range fixes {
			text := d.fix(n)
			if more != nil {
				text = more(i) + text
			}
			c.send(text, unix.B38400)
			last = time.Now()
			n++
			time.Sleep(10 * time.Millisecond)
		}
	}
	clean := func() { // until its rate is known and fixes come
		had := fixesIn(t, dir)
		for range 1000 {
			drive(5, nil)
			if fixesIn(t, dir) > had+5 && p.signal(t) == "" {
				return
			}
		}
		require.Fail(t, "no fix comes")
	}
	clean()
	refused := 0
	drive(60, func(i int) string {
		switch i % 12 {
		case 3: // a wrong checksum
			refused++
			return "$GPRMC,080000.00,A,5442.7,N,00218.7,E,4.86,,040526,,,R*00\r\n"
		case 6: // half a sentence
			refused++
			return d.fix(n)[:40]
		case 9: // fields that are none
			refused++
			return sentenceOf("GPGGA,080000.00,5442.7,N,00218.7,E,four,20,0.6,12.0,M,45.0,M,1.0,0001")
		}
		return ""
	})
	heard := fixesIn(t, dir)
	c.send(d.fix(n)[:50], unix.B38400) // the cable goes in the middle of a sentence
	c.pull()
	p.saysSilence(t, last)
	require.GreaterOrEqual(t, fixesIn(t, dir), heard)
	c = plugIn(t, name)
	clean()
	// The receiver starts anew in the middle of a sentence, and for a while has no position.
	c.send(d.fix(n)[:50], unix.B38400)
	refused++ // that half
	for range 40 {
		c.send("\r\n"+sentenceOf("GPTXT,01,01,02,start")+sentenceOf("GPGGA,,,,,,0,00,99.9,,,,,,")+sentenceOf("GPRMC,,V,,,,,,,,,,N"), unix.B38400)
		time.Sleep(50 * time.Millisecond)
	}
	before := fixesIn(t, dir)
	drive(50, nil)
	require.Eventually(t, func() bool { return fixesIn(t, dir) >= before+49 }, 10*time.Second, 20*time.Millisecond)
	p.end(t, syscall.SIGTERM)
	told := toldBy(t, dir)
	assert.Equal(t, refused, told.Refused)
	assert.Equal(t, fixesIn(t, dir), told.Fixes)
	sent := map[geo.Instant]bool{}
	for i := range n {
		sent[geo.InstantOf(time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC).Add(time.Duration(i)*tenth))] = true
	}
	for _, f := range heardIn(t, filepath.Join(dir, "journal")) {
		require.True(t, sent[f.Time], "%v was never sent", f.Time.Time())
	}
	holdsItsLaw(t, dir)
}

// A connection is cut in the middle of a sentence and refused for a while; then it comes
// back from a receiver whose week number began again, so that it tells dates 1024 weeks
// ago. Every fix is heard, on its day.
func TestCabConnectionCut(t *testing.T) {
	t.Parallel()
	dir := cabJob(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	place := l.Addr().String()
	begin := time.Now().UTC().Truncate(time.Second)
	if h := begin.Hour(); h == 23 { // over midnight is tried elsewhere
		begin = begin.Add(-time.Hour)
	}
	var d tractor
	fix := func(n int, turned bool) string {
		x, y := d.at(n)
		f := geo.Fix{Time: geo.InstantOf(begin.Add(time.Duration(n) * tenth)), At: tractorFrame.FromMetres(x, y), Quality: geo.Fixed, Speed: 2.5, Heading: 0}
		if turned {
			turn := f
			turn.Time -= geo.Instant(1024 * 7 * 24 * time.Hour)
			return epochOf(&turn)
		}
		return epochOf(&f)
	}
	const before, after = 150, 150
	var cut time.Time
	var gone sync.WaitGroup
	gone.Go(func() {
		c, err := l.Accept()
		if err != nil {
			return
		}
		for n := range before {
			io.WriteString(c, fix(n, false))
			time.Sleep(5 * time.Millisecond)
		}
		cut = time.Now()
		io.WriteString(c, fix(before, false)[:30])
		c.Close()
		l.Close()
	})
	p := startCab(t, dir, "--receiver", "tcp:"+place)
	gone.Wait()
	p.saysSilence(t, cut)
	assert.Contains(t, p.signal(t), "connection refused")
	l, err = net.Listen("tcp", place)
	require.NoError(t, err)
	defer l.Close()
	c, err := l.Accept()
	require.NoError(t, err)
	defer c.Close()
	for n := before; n < before+after; n++ {
		io.WriteString(c, fix(n, true))
		time.Sleep(5 * time.Millisecond)
	}
	require.Eventually(t, func() bool { return fixesIn(t, dir) == before+after }, 10*time.Second, 20*time.Millisecond)
	assert.Empty(t, p.signal(t))
	p.end(t, syscall.SIGINT)
	for n, f := range heardIn(t, filepath.Join(dir, "journal")) {
		require.Equal(t, begin.Add(time.Duration(n)*tenth), f.Time.Time(), "fix %d", n)
	}
	told := toldBy(t, dir)
	assert.Equal(t, before+after, told.Fixes)
	assert.Zero(t, told.Refused, "half a sentence at the end of a connection is none")
	holdsItsLaw(t, dir)
}

// hardClock is a drive to the east by two talkers at 20 Hz over the midnight of a leap
// second, and then at 1 Hz.
func hardClock(t *testing.T) replay {
	var epochs []string
	frame := geo.NewFrame(geo.LonLat{Lon: -117.2, Lat: 46.7})
	add := func(clock, date string, seconds float64) {
		at := frame.FromMetres(3*seconds, 0)
		place := minutes(at.Lat, 2) + ",N," + minutes(at.Lon, 3) + ",W"
		both := ""
		for _, talker := range []string{"GP", "GL"} {
			both += sentenceOf(fmt.Sprintf("%sGGA,%s,%s,4,20,0.6,12.0,M,45.0,M,1.0,0001", talker, clock, place)) +
				sentenceOf(fmt.Sprintf("%sRMC,%s,A,%s,5.83,90.0,%s,,,R", talker, clock, place, date))
		}
		epochs = append(epochs, both)
	}
	for i := range 20 * 30 {
		s := float64(i) / 20
		switch {
		case s < 21: // of which the last is the second 60
			add(fmt.Sprintf("2359%05.2f", 40+s), "311216", s)
		default:
			add(fmt.Sprintf("0000%05.2f", s-21), "010117", s)
		}
	}
	for s := 30; s < 90; s++ {
		add(fmt.Sprintf("00%02d%02d.00", (s-21)/60, (s-21)%60), "010117", float64(s))
	}
	return newReplay(t, "hard clock", epochs, "12 m", nil)
}
