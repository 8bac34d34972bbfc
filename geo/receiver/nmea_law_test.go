package receiver_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/receiver"
)

// A pace says when each line of a log comes.
type pace struct {
	name  string
	chunk func(r *rand.Rand) int // bytes at a time
	lag   time.Duration          // from one epoch to the next; 0: all at once
}

var paces = []pace{
	{"all at once", func(*rand.Rand) int { return 1 << 20 }, 0},
	{"byte by byte", func(*rand.Rand) int { return 1 }, 0},
	{"in pieces", func(r *rand.Rand) int { return 1 + r.IntN(200) }, 0},
	{"as it was sent", func(r *rand.Rand) int { return 1 + r.IntN(40) }, time.Second},
}

// epochs plays a log into a push machine. With a lag, the first sentence of
// each moment comes that much after the one before, and the rest of the moment
// within 100 ms, while the clock ticks every millisecond.
func epochs(data []byte, p pace, now time.Time) ([]receiver.Epoch, receiver.Counts) {
	r := rand.New(rand.NewPCG(1, uint64(len(data))))
	n := receiver.NewNMEA()
	var all []receiver.Epoch
	moment := ""
	for _, line := range bytes.SplitAfter(data, []byte("\n")) {
		if at := momentOf(line); p.lag > 0 && at != "" && at != moment {
			for later := now.Truncate(p.lag).Add(p.lag); now.Before(later); now = now.Add(time.Millisecond) {
				all = append(all, n.Tick(now)...)
			}
			moment = at
		}
		for len(line) > 0 {
			size := min(len(line), p.chunk(r))
			all = append(all, n.Feed(line[:size], now)...)
			line = line[size:]
			if p.lag > 0 {
				now = now.Add(200 * time.Microsecond)
			}
		}
	}
	return append(all, n.Break()...), n.Counts()
}

// momentOf is the time of day in a sentence that has one first.
func momentOf(line []byte) string {
	f := strings.Split(string(line), ",")
	if len(f) > 1 && len(f[0]) == 6 && strings.Contains("GGA RMC ZDA GST GNS", f[0][3:]) {
		return f[1]
	}
	return ""
}

// requireSame compares what is told live with what the reader of whole files
// says, to the last bit.
func requireSame(t *testing.T, want []geo.Fix, got []receiver.Epoch) {
	t.Helper()
	show := func(f geo.Fix) string {
		return fmt.Sprintf("%s %x %x heading %x speed %x %s", f.Time.Time().Format(time.RFC3339Nano), math.Float64bits(f.At.Lon),
			math.Float64bits(f.At.Lat), math.Float64bits(float64(f.Heading)), math.Float64bits(f.Speed), f.Quality)
	}
	var a, b []string
	for _, f := range want {
		a = append(a, show(f))
	}
	for _, e := range got {
		b = append(b, show(e.Fix))
	}
	require.Equal(t, a, b)
}

// batch is what package gnsslog reads.
func batch(t *testing.T, data []byte) []geo.Fix {
	t.Helper()
	log, err := gnsslog.ReadNMEA("a.nmea", gnsslog.TextOf(data), gnsslog.Options{})
	require.NoError(t, err)
	return log.Fixes
}

// Law: the epochs of real receivers are those of the reader of whole files,
// however their bytes come.
func TestSameEpochsAsTheBatchReader(t *testing.T) {
	for name, data := range realLogs(t) {
		want := batch(t, data)
		for _, p := range paces {
			t.Run(name+"/"+p.name, func(t *testing.T) {
				got, counts := epochs(data, p, want[0].Time.Time())
				requireSame(t, want, got)
				require.Zero(t, counts.Late)
				require.Equal(t, len(want), counts.Epochs)
			})
		}
	}
}

// realLogs are the logs beside the repository; the test is skipped where they
// are not there.
func realLogs(t *testing.T) map[string][]byte {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for range 8 {
		files, _ := filepath.Glob(filepath.Join(dir, "shared", "data", "nmea-logs-a", "*.nmea"))
		logs := map[string][]byte{}
		for _, file := range files {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			logs[filepath.Base(file)] = data
		}
		if len(logs) > 0 {
			return logs
		}
		dir = filepath.Dir(dir)
	}
	t.Skip("the collection of real logs is not beside the repository")
	return nil
}
