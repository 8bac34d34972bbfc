package receiver_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"runtime"
	"runtime/pprof"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/receiver"
)

// No source leaves a goroutine behind: when all tests are done there are as
// many as before.
func TestMain(m *testing.M) {
	before := runtime.NumGoroutine()
	code := m.Run()
	if flag.Lookup("test.fuzz").Value.String() != "" {
		os.Exit(code) // the fuzzer's own go on
	}
	for range 300 {
		if runtime.NumGoroutine() <= before {
			os.Exit(code)
		}
		time.Sleep(10 * time.Millisecond)
	}
	fmt.Fprintf(os.Stderr, "%d goroutines are left behind:\n", runtime.NumGoroutine()-before)
	pprof.Lookup("goroutine").WriteTo(os.Stderr, 1)
	os.Exit(1)
}

// A listening is a source that runs until its test ends.
type listening struct {
	t      *testing.T
	cancel context.CancelFunc
	done   chan error

	mu       sync.Mutex
	epochs   []receiver.Epoch
	statuses []receiver.Status
	changed  chan struct{} // closed and made anew with each epoch or status
}

// listenTo starts a source; opt may be zero.
func listenTo(t *testing.T, address string, opt receiver.Options) *listening {
	t.Helper()
	at, err := receiver.ParseAddress(address)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	l := &listening{t: t, cancel: cancel, done: make(chan error, 1), changed: make(chan struct{})}
	note := func(change func()) {
		l.mu.Lock()
		defer l.mu.Unlock()
		change()
		close(l.changed)
		l.changed = make(chan struct{})
	}
	go func() {
		l.done <- receiver.Run(ctx, at, opt, receiver.Listener{
			Epoch:  func(e receiver.Epoch) { note(func() { l.epochs = append(l.epochs, e) }) },
			Status: func(s receiver.Status) { note(func() { l.statuses = append(l.statuses, s) }) },
		})
	}()
	t.Cleanup(cancel)
	return l
}

// stop ends the source by its context, and how long that takes.
func (l *listening) stop() {
	l.t.Helper()
	at := time.Now()
	l.cancel()
	require.NoError(l.t, l.wait())
	require.Less(l.t, time.Since(at), 500*time.Millisecond)
	require.True(l.t, l.last().Ended)
}

func (l *listening) wait() error {
	l.t.Helper()
	select {
	case err := <-l.done:
		return err
	case <-time.After(30 * time.Second):
		l.t.Fatal("the source does not end")
		return nil
	}
}

// until waits for something to be so.
func (l *listening) until(what string, so func(*listening) bool) {
	l.t.Helper()
	for deadline := time.After(40 * time.Second); ; {
		l.mu.Lock()
		is, changed := so(l), l.changed
		l.mu.Unlock()
		if is {
			return
		}
		select {
		case <-changed:
		case <-deadline:
			l.t.Fatalf("never came: %s; have %d epochs and %v", what, len(l.epochs), l.statuses)
		}
	}
}

func (l *listening) untilEpochs(n int) {
	l.t.Helper()
	l.until(fmt.Sprint(n, " epochs"), func(l *listening) bool { return len(l.epochs) >= n })
}

// untilSays waits for a status with these words.
func (l *listening) untilSays(words string) {
	l.t.Helper()
	l.until(words, func(l *listening) bool {
		for _, s := range l.statuses {
			if strings.Contains(s.String(), words) {
				return true
			}
		}
		return false
	})
}

// last is the newest status; the zero one before the first.
func (l *listening) last() receiver.Status {
	if len(l.statuses) == 0 {
		return receiver.Status{}
	}
	return l.statuses[len(l.statuses)-1]
}

// fixes are those of the epochs.
func (l *listening) fixes() []geo.Fix {
	l.mu.Lock()
	defer l.mu.Unlock()
	var fixes []geo.Fix
	for _, e := range l.epochs {
		fixes = append(fixes, e.Fix)
	}
	return fixes
}

// server takes connections on loopback until its test ends.
func server(t *testing.T, serve func(n int, c net.Conn)) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		for n := 0; ; n++ {
			c, err := l.Accept()
			if err != nil {
				return
			}
			serve(n, c)
		}
	}()
	return l.Addr().String()
}

func TestTCP(t *testing.T) {
	t.Parallel()
	data := drive("GNGGA GNRMC GNVTG", noon, tenth, 50)
	place := server(t, func(n int, c net.Conn) {
		c.Write(data)
		c.Close()
	})
	l := listenTo(t, "tcp:"+place, receiver.Options{})
	l.untilEpochs(50)
	requireSame(t, batch(t, data), l.epochs[:50])
	l.untilSays("the other side closed the connection")
	l.untilEpochs(100)
	l.stop()
}

// A connection that breaks in the middle of a sentence is opened again, and no
// more is lost than that sentence.
func TestTCPBreaks(t *testing.T) {
	t.Parallel()
	var parts [][]byte
	for i := range 5 {
		part := drive("GNGGA GNRMC GNVTG", noon.Add(time.Duration(i)*time.Second), tenth, 10)
		parts = append(parts, part[:len(part)-20]) // the last VTG is cut short
	}
	place := server(t, func(n int, c net.Conn) {
		if n < len(parts) {
			c.Write(parts[n])
			c.Close()
			return
		}
		t.Cleanup(func() { c.Close() })
	})
	l := listenTo(t, "tcp:"+place+"?machine=drill%20A", receiver.Options{})
	l.untilEpochs(50)
	l.stop()
	for i, f := range l.fixes() {
		require.Equal(t, noon.Add(time.Duration(i)*tenth), f.Time.Time())
	}
	require.Zero(t, l.last().Counts.Refused(), "half a sentence at the end of a connection is none")
}

// Silence is told with its reason: "no signal for 3 s" within 3 s.
func TestSilence(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, sends, says string }{
		{"nothing", "", "no signal for 3 s: no bytes come"},
		{"noise", "\x00\x01\x02\x03", "no signal for 3 s: bytes come, but no sentence"},
		{"no fix", summed("GNGGA,120001.00,,,,,0,00,99.9,,M,,M,,"), "no signal for 3 s: the receiver has no position"},
		{"satellites only", sentence("GPGSV", noon, 0), "no signal for 3 s: no sentence with a position comes: switch on GGA or RMC"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			first := drive("GNRMC", noon, tenth, 1)
			again := make(chan bool)
			place := server(t, func(n int, c net.Conn) {
				c.Write(first)
				for range 35 {
					time.Sleep(tenth)
					c.Write([]byte(tt.sends))
				}
				<-again
				c.Write(drive("GNRMC", noon.Add(time.Minute), tenth, 2))
				t.Cleanup(func() { c.Close() })
			})
			l := listenTo(t, "tcp:"+place, receiver.Options{})
			l.untilEpochs(1)
			last := time.Now()
			l.untilSays(tt.says)
			require.Less(t, time.Since(last), 3*time.Second)
			again <- true
			l.untilEpochs(2)
			l.until("an end of the silence", func(l *listening) bool { return l.last().String() == "open" })
			l.stop()
		})
	}
}

func TestNobodyThere(t *testing.T) {
	t.Parallel()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	place := listener.Addr().String()
	listener.Close()
	l := listenTo(t, "tcp:"+place, receiver.Options{})
	l.untilSays("no signal for 2 s: dial tcp " + place + ": connect: connection refused")
	l.until("told once", func(l *listening) bool { return l.statuses[0].Silence == 0 && l.statuses[0].Err != nil })
	listener, err = net.Listen("tcp", place)
	require.NoError(t, err)
	defer listener.Close()
	c, err := listener.Accept()
	require.NoError(t, err)
	defer c.Close()
	c.Write(drive("GNRMC", noon, tenth, 2))
	l.untilEpochs(2)
	l.stop()
}

func TestUDP(t *testing.T) {
	t.Parallel()
	place := freeSocket(t)
	l := listenTo(t, "udp:"+place, receiver.Options{})
	l.until("open", func(l *listening) bool { return l.last().Open })
	c, err := net.Dial("udp", place)
	require.NoError(t, err)
	defer c.Close()
	data := drive("GNGGA GNRMC GNVTG", noon, tenth, 30)
	for i, line := range strings.SplitAfter(string(data), "\n") {
		if i%2 == 0 { // some senders leave the line's end out, some split sentences
			line = strings.TrimSpace(line)
		}
		c.Write([]byte(line[:len(line)/2]))
		c.Write([]byte(line[len(line)/2:]))
	}
	l.untilEpochs(30)
	l.stop()
	requireSame(t, batch(t, data), l.epochs)
}

// A network doubles datagrams and changes their order: each moment is told once, in the
// order of time, as it was sent, and what came too late is counted. Here a datagram is a
// whole epoch; what must be told follows from the order in which they go out.
func TestUDPOutOfOrder(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(7, 7))
	midnight := time.Date(2026, 5, 4, 23, 59, 57, 0, time.UTC)
	const count = 80
	var order []int
	for n := range count {
		order = append(order, n)
		switch rnd.IntN(5) {
		case 0:
			order = append(order, n) // doubled at once
		case 1:
			order = append(order, max(0, n-1-rnd.IntN(5))) // or late
		}
	}
	for i := range count / 8 { // neighbours change places
		at := 4 + 9*i
		order[at], order[at+1] = order[at+1], order[at]
	}
	epoch := func(n int) []byte {
		return []byte(sentence("GNGGA", midnight.Add(time.Duration(n)*tenth), n) + sentence("GNRMC", midnight.Add(time.Duration(n)*tenth), n))
	}
	var due []geo.Fix
	all := batch(t, func() (data []byte) {
		for n := range count {
			data = append(data, epoch(n)...)
		}
		return data
	}())
	newest, again := -1, 0
	for i, n := range order {
		switch {
		case n > newest:
			newest = n
			due = append(due, all[n])
		case n != order[i-1]: // the one before has not been told when it comes a second time
			again++
		}
	}
	require.Greater(t, again, 10)
	place := freeSocket(t)
	l := listenTo(t, "udp:"+place, receiver.Options{})
	l.until("open", func(l *listening) bool { return l.last().Open })
	c, err := net.Dial("udp", place)
	require.NoError(t, err)
	defer c.Close()
	for _, n := range order {
		c.Write(epoch(n))
		time.Sleep(5 * time.Millisecond)
	}
	l.untilEpochs(len(due))
	l.stop()
	for i := range l.epochs {
		l.epochs[i].Arrived = time.Time{}
	}
	requireSame(t, due, l.epochs)
	require.Equal(t, again, l.last().Counts.OutOfOrder)
	require.Equal(t, l.last().Counts.OutOfOrder, l.last().Counts.Refused())
}

// Sentences that change places on their way make no moment told twice, and none that
// was not sent.
func TestUDPSentencesOutOfOrder(t *testing.T) {
	t.Parallel()
	place := freeSocket(t)
	l := listenTo(t, "udp:"+place, receiver.Options{})
	l.until("open", func(l *listening) bool { return l.last().Open })
	c, err := net.Dial("udp", place)
	require.NoError(t, err)
	defer c.Close()
	data := drive("GNGGA GNRMC", noon, tenth, 60)
	lines := strings.SplitAfter(strings.TrimSpace(string(data)), "\n")
	for i := 1; i+1 < len(lines); i += 5 {
		lines[i], lines[i+1] = lines[i+1], lines[i]
	}
	for _, line := range lines {
		c.Write([]byte(line))
		time.Sleep(2 * time.Millisecond)
	}
	l.untilEpochs(60)
	l.stop()
	require.Len(t, l.epochs, 60)
	for i, want := range batch(t, data) {
		require.Equal(t, want.Time, l.epochs[i].Time)
		require.Equal(t, want.At, l.epochs[i].At)
	}
}

// freeSocket is a port of this machine at which no datagrams are taken.
func freeSocket(t *testing.T) string {
	t.Helper()
	free, err := net.ListenPacket("udp", "127.0.0.1:0")
	require.NoError(t, err)
	defer free.Close()
	return free.LocalAddr().String()
}

// Two sources for one port: the second waits until the first has gone.
func TestUDPPortTaken(t *testing.T) {
	t.Parallel()
	taken, err := net.ListenPacket("udp", "127.0.0.1:0")
	require.NoError(t, err)
	l := listenTo(t, "udp:"+taken.LocalAddr().String(), receiver.Options{})
	l.untilSays("address already in use")
	taken.Close()
	l.until("open", func(l *listening) bool { return l.last().Open })
	l.stop()
}

// Standard input: a pipe that can wait with a deadline, a reader that can only
// be read.
func TestStdin(t *testing.T) {
	t.Parallel()
	data := drive("GNGGA GNRMC", noon, tenth, 30)
	for _, name := range []string{"pipe", "reader"} {
		t.Run(name, func(t *testing.T) {
			r, w, err := os.Pipe()
			require.NoError(t, err)
			defer r.Close()
			var from io.Reader = r
			if name == "reader" {
				from = struct{ io.Reader }{r}
			}
			l := listenTo(t, "-", receiver.Options{Stdin: from})
			w.Write(data)
			l.untilEpochs(29)
			w.Close()
			require.NoError(t, l.wait())
			requireSame(t, batch(t, data), l.epochs)
		})
	}
	t.Run("ends by its context", func(t *testing.T) {
		r, w, err := os.Pipe()
		require.NoError(t, err)
		defer r.Close()
		defer w.Close()
		l := listenTo(t, "-", receiver.Options{Stdin: r})
		w.Write(data)
		l.untilEpochs(20)
		l.stop()
	})
	t.Run("fails", func(t *testing.T) {
		broken := errors.New("the disk is gone")
		l := listenTo(t, "-", receiver.Options{Stdin: io.MultiReader(strings.NewReader(string(data)), failing{broken})})
		require.ErrorIs(t, l.wait(), broken)
		require.Len(t, l.epochs, 30)
	})
	t.Run("none", func(t *testing.T) {
		require.EqualError(t, listenTo(t, "-", receiver.Options{}).wait(), "-: found no standard input, want one")
	})
}

type failing struct{ error }

func (f failing) Read([]byte) (int, error) { return 0, f.error }

// A list is a log in memory.
type list struct {
	epochs []receiver.Epoch
	err    error
	closed *bool
}

func (l *list) Next() (receiver.Epoch, error) {
	if len(l.epochs) == 0 {
		return receiver.Epoch{}, l.err
	}
	e := l.epochs[0]
	l.epochs = l.epochs[1:]
	return e, nil
}

func (l *list) Close() error {
	*l.closed = true
	return nil
}

func TestPlay(t *testing.T) {
	t.Parallel()
	var logged []receiver.Epoch
	for i := range 21 {
		at := geo.LonLat{Lon: -117 + float64(i)*1e-5, Lat: 46}
		logged = append(logged, receiver.Epoch{Fix: geo.Fix{Time: geo.InstantOf(noon.Add(time.Duration(i) * tenth)), At: at}, Working: "1", Sections: "110"})
	}
	logged[20].Time = logged[0].Time // a clock that was set back delays nothing
	play := func(address string, err error) (*listening, *bool) {
		closed := new(bool)
		return listenTo(t, address, receiver.Options{OpenLog: func(path string) (receiver.Log, error) {
			require.Equal(t, "day.nmea", path)
			return &list{logged, err, closed}, nil
		}}), closed
	}
	for _, tt := range []struct {
		address     string
		least, most time.Duration
	}{
		{"file:day.nmea?speed=20", 95 * time.Millisecond, time.Second},
		{"file:day.nmea?speed=0", 0, 1900 * time.Millisecond},
		{"file:day.nmea", 1900 * time.Millisecond, 3 * time.Second},
	} {
		begun := time.Now()
		l, closed := play(tt.address, io.EOF)
		require.NoError(t, l.wait())
		took := time.Since(begun)
		require.GreaterOrEqual(t, took, tt.least, tt.address)
		require.Less(t, took, tt.most, tt.address)
		require.True(t, *closed)
		require.Len(t, l.epochs, len(logged))
		for i, e := range l.epochs {
			require.False(t, e.Arrived.Before(begun))
			e.Arrived = time.Time{}
			require.Equal(t, logged[i], e)
		}
		require.Equal(t, 21, l.last().Counts.Epochs)
	}
	broken := errors.New("line 7 makes no sense")
	l, closed := play("file:day.nmea?speed=0", broken)
	require.ErrorIs(t, l.wait(), broken)
	require.True(t, *closed)
	l, _ = play("file:day.nmea?speed=0.001", io.EOF)
	l.untilEpochs(1)
	l.stop()
	require.EqualError(t, listenTo(t, "file:day.nmea", receiver.Options{}).wait(), "day.nmea: found no way to open a log, want one")
}
