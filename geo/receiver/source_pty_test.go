//go:build linux

package receiver_test

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"lapwing/geo"
	"lapwing/geo/receiver"
)

// A cable is a serial line whose far end the test holds.
type cable struct {
	t    *testing.T
	far  *os.File
	near *os.File // kept open: the line is there before and after it is listened to
	Name string
}

// plug lays a line and, with a name, makes that name lead to it.
func plug(t *testing.T, name string) *cable {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err)
	c := &cable{t: t, far: far, near: near, Name: near.Name()}
	if name != "" {
		os.Remove(name)
		require.NoError(t, os.Symlink(near.Name(), name))
		c.Name = name
	}
	t.Cleanup(c.unplug)
	return c
}

func (c *cable) unplug() {
	c.far.Close()
	c.near.Close()
}

func (c *cable) send(data []byte) {
	for len(data) > 0 { // a line holds 4096 bytes
		n, err := c.far.Write(data[:min(len(data), 1000)])
		require.NoError(c.t, err)
		data = data[n:]
	}
}

// baud is the rate at which the near end is set.
func (c *cable) baud() int {
	raw, err := c.far.SyscallConn()
	require.NoError(c.t, err)
	var settings *unix.Termios
	require.NoError(c.t, raw.Control(func(fd uintptr) { settings, err = unix.IoctlGetTermios(int(fd), unix.TCGETS) }))
	require.NoError(c.t, err)
	return map[uint32]int{unix.B4800: 4800, unix.B9600: 9600, unix.B19200: 19200, unix.B38400: 38400, unix.B57600: 57600,
		unix.B115200: 115200, unix.B230400: 230400, unix.B460800: 460800}[settings.Cflag&unix.CBAUD]
}

// speak sends one epoch every interval, at a rate: whoever listens at another
// gets as many wrong bytes.
func (c *cable) speak(baud func() int, cycle string, every time.Duration) (stop func()) {
	end, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for i := 0; ; i++ {
			data := drive(cycle, noon.Add(time.Duration(i)*every), every, 1)
			if c.baud() != baud() {
				for i := range data {
					data[i] = data[i]*37 | 0x80
				}
			}
			c.send(data)
			select {
			case <-end:
				return
			case <-time.After(every):
			}
		}
	}()
	return func() { close(end); <-done }
}

func TestSerial(t *testing.T) {
	t.Parallel()
	c := plug(t, "")
	l := listenTo(t, "serial:"+c.Name+"?baud=38400", receiver.Options{})
	l.until("open", func(l *listening) bool { return l.last().Open })
	require.Equal(t, 38400, c.baud())
	data := drive("GNGGA GNRMC GNVTG", noon, tenth, 200)
	c.send(data)
	l.untilEpochs(200)
	l.stop()
	requireSame(t, batch(t, data), l.epochs)
}

// The cable is drawn and put back: the receiver's ground from before and after
// is there, and the time between was told.
func TestSerialCableOut(t *testing.T) {
	t.Parallel()
	name := filepath.Join(t.TempDir(), "gps")
	l := listenTo(t, "serial:"+name+"?baud=9600", receiver.Options{})
	l.untilSays("no signal for 2 s: " + name + ": ")
	for round := range 2 {
		c := plug(t, name)
		before := len(l.fixes())
		l.until("open", func(l *listening) bool { return l.last().Open })
		data := drive("GNGGA GNRMC", noon.Add(time.Duration(round)*time.Minute), tenth, 30)
		c.send(data)
		l.untilEpochs(before + 30)
		c.send(data[:50]) // the cable goes in the middle of a sentence
		c.unplug()
		os.Remove(name)
		l.until("not open", func(l *listening) bool { return !l.last().Open })
	}
	l.stop()
	require.Len(t, l.epochs, 60)
}

// No rate is given: it is found, and found again when the receiver has been
// set to another.
func TestSerialFindsBaud(t *testing.T) {
	t.Parallel()
	c := plug(t, "")
	rate := make(chan int, 1)
	at := 38400
	stop := c.speak(func() int {
		select {
		case at = <-rate:
		default:
		}
		return at
	}, "GNGGA GNRMC", tenth)
	defer stop()
	l := listenTo(t, "serial:"+c.Name, receiver.Options{})
	l.untilEpochs(3)
	l.until("38400 baud", func(l *listening) bool { return l.last().Baud == 38400 })
	rate <- 4800
	l.untilSays("bytes come, but no sentence any more")
	l.until("4800 baud", func(l *listening) bool { return l.last().Baud == 4800 })
	l.untilEpochs(len(l.fixes()) + 3)
	l.stop()
}

// A receiver that sends once a second is found at the rate that is tried first: the try
// lasts until it has sent. Otherwise that rate would come again after all the others.
func TestSerialFindsBaudOfASlowReceiver(t *testing.T) {
	t.Parallel()
	c := plug(t, "")
	defer c.speak(func() int { return 115200 }, "GNGGA GNRMC", time.Second)()
	time.Sleep(100 * time.Millisecond) // what was just sent is not heard, and the next is a second away
	begun := time.Now()
	l := listenTo(t, "serial:"+c.Name, receiver.Options{})
	l.until("115200 baud", func(l *listening) bool { return l.last().Baud == 115200 })
	require.Less(t, time.Since(begun), 4*time.Second)
	l.stop()
}

// A port that nothing speaks on is tried on, and ends by its context in the
// middle of a try.
func TestSerialSilent(t *testing.T) {
	t.Parallel()
	c := plug(t, "")
	l := listenTo(t, "serial:"+c.Name, receiver.Options{})
	l.untilSays("no signal for 3 s: finding the baud rate")
	l.stop()
}

// Standard input as a shell gives it has no deadlines. It is waited for all the
// same: no read is left behind.
func TestStdinWithoutDeadline(t *testing.T) {
	var ends [2]int
	require.NoError(t, syscall.Pipe(ends[:]))
	r, w := os.NewFile(uintptr(ends[0]), "stdin"), os.NewFile(uintptr(ends[1]), "writer")
	defer r.Close()
	defer w.Close()
	require.Error(t, r.SetReadDeadline(time.Time{}))
	l := listenTo(t, "-", receiver.Options{Stdin: r})
	data := drive("GNGGA GNRMC", noon, tenth, 30)
	w.Write(data)
	l.untilEpochs(30)
	l.stop()
	requireSame(t, batch(t, data), l.epochs)
	stacks := make([]byte, 1<<20)
	require.NotContains(t, string(stacks[:runtime.Stack(stacks, true)]), "asideLink")
}

func TestLook(t *testing.T) {
	t.Parallel()
	talking, silent, noise := plug(t, ""), plug(t, ""), plug(t, "")
	defer talking.speak(func() int { return 9600 }, "GNGGA GNRMC GPGSV/2", tenth)()
	defer noise.speak(func() int { return -1 }, "GNGGA", tenth)()
	ports := receiver.LookAt(t.Context(), []string{talking.Name, silent.Name, noise.Name, "/dev/none"})
	require.Equal(t, 9600, ports[0].Baud)
	require.InDelta(t, 10, ports[0].Rate, 0.1)
	require.Equal(t, geo.Fixed, ports[0].Quality)
	require.Regexp(t, "^"+talking.Name+": 9600 baud, G[NP].* a second, fixed$", ports[0].String())
	require.Equal(t, silent.Name+": silent", ports[1].String())
	require.Equal(t, noise.Name+": bytes, but no sentence of NMEA 0183 at any baud rate", ports[2].String())
	require.Equal(t, "/dev/none: no such file or directory", ports[3].String())
}

// stranger finds a program that others wrote. With LAPWING_STRANGERS=all, as
// the checks before a change lands have it, none may stay away.
func stranger(t *testing.T, name, pkg string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if path = filepath.Join("/usr/sbin", name); exec.Command(path, "-V").Run() == nil {
			return path
		}
		if os.Getenv("LAPWING_STRANGERS") == "all" {
			t.Fatalf("no %s: install %s", name, pkg)
		}
		t.Skipf("no %s (Debian's %s): it was not asked", name, pkg)
	}
	return path
}

// gpsd starts a gpsd that listens to a cable, and gives its address.
func gpsd(t *testing.T, device string) string {
	t.Helper()
	path := stranger(t, "gpsd", "gpsd")
	place := freePort(t)
	_, port, _ := strings.Cut(place, ":")
	c := exec.Command(path, "-N", "-n", "-b", "-S", port, device)
	var said strings.Builder
	c.Stderr = &said
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		c.Process.Signal(syscall.SIGTERM)
		c.Wait()
		if t.Failed() {
			t.Log(said.String())
		}
	})
	return place
}

// A real gpsd gives the fixes of the sentences it is fed, as far as its digits
// go: nine decimals of a degree, and millimetres a second.
func TestGpsd(t *testing.T) {
	t.Parallel()
	c := plug(t, "")
	place := gpsd(t, c.Name)
	l := listenTo(t, "gpsd:"+place, receiver.Options{})
	l.until("open", func(l *listening) bool { return l.last().Open })
	cycle, n := "GNGGA GNGST GNRMC", 0
	for len(l.fixes()) < 30 { // gpsd looks for the receiver's rate first
		require.Less(t, n, 300, "gpsd hears nothing")
		for _, address := range strings.Fields(cycle) {
			c.send([]byte(sentence(address, noon.Add(time.Duration(n)*tenth), n)))
		}
		n++
		time.Sleep(tenth)
	}
	l.stop()
	sent := map[geo.Instant]geo.Fix{}
	for _, f := range batch(t, drive("GNGGA GNRMC", noon, tenth, n)) {
		sent[f.Time] = f
	}
	estimates := 0
	for _, e := range l.epochs {
		want, ok := sent[e.Time]
		require.True(t, ok, "gpsd told %v, which was not sent", e.Time.Time())
		require.InDelta(t, want.At.Lon, e.At.Lon, 0.6e-9)
		require.InDelta(t, want.At.Lat, e.At.Lat, 0.6e-9)
		require.InDelta(t, want.Speed, e.Speed, 0.6e-3)
		require.InDelta(t, float64(want.Heading), float64(e.Heading), 0.6e-4)
		require.Equal(t, geo.Fixed, e.Quality)
		if e.Error > 0 {
			estimates++
		}
	}
	require.Greater(t, estimates, 20)
	require.Zero(t, l.last().Counts.Refused())
	for i := range l.epochs[1:] {
		require.Less(t, l.epochs[i].Time, l.epochs[i+1].Time, "each moment once, in order")
	}
}

// freePort is a port of this machine on which nothing listens.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}
