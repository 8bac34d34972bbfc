package format_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/gnsslog"
)

// Logs of receivers as the gpsd project collected them, with what a bad serial line
// adds: zeros and bytes of noise between sentences and in them, and bytes lost. A
// sentence that was hit is left out and counted; no place is another than it was.
func TestNoiseOnRealLogs(t *testing.T) {
	for _, name := range []string{"rtk-and-3d.nmea", "multi-gnss.nmea", "mt3339.nmea"} {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(outside(t, "nmea-logs-a", name))
			require.NoError(t, err)
			clean, err := read(name, data, gnsslog.Options{})
			require.NoError(t, err)
			places := map[geo.LonLat]bool{}
			for _, f := range clean.Fixes {
				places[f.At] = true
			}
			rng := rand.New(rand.NewPCG(11, 13))
			noise := func(n int) []byte {
				out := make([]byte, n)
				for i := range out {
					out[i] = byte(rng.Uint32()) | 0x80 // no letter of a sentence
				}
				return out
			}
			var zeros, noisy bytes.Buffer
			hit := 0
			for line := range bytes.Lines(data) {
				zeros.Write(make([]byte, rng.IntN(4)))
				noisy.Write(noise(rng.IntN(12)))
				cut := rng.IntN(len(line))
				zeros.Write(line[:cut])
				zeros.Write(make([]byte, rng.IntN(3)))
				zeros.Write(line[cut:])
				if line[0] == '$' && rng.IntN(20) == 0 { // a byte is lost, or another comes
					line = append(bytes.Clone(line[:cut]), append(noise(rng.IntN(2)), line[min(cut+1, len(line)):]...)...)
					hit++
				}
				noisy.Write(line)
			}
			log, err := read(name, zeros.Bytes(), gnsslog.Options{})
			require.NoError(t, err)
			sameFixes(t, clean.Fixes, log.Fixes)
			log, err = read(name, noisy.Bytes(), gnsslog.Options{})
			require.NoError(t, err)
			require.Positive(t, hit)
			assert.GreaterOrEqual(t, len(log.Fixes), len(clean.Fixes)-hit)
			for _, f := range log.Fixes {
				assert.True(t, places[f.At], "a place that is none of the log's")
			}
			requireNote(t, log, "want a sentence such as $GPGGA,...*47; skipped")
		})
	}
}

// sameFixes requires fixes to be equal; a speed or heading that is not known is
// equal to another.
func sameFixes(t *testing.T, want, got []geo.Fix) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, fmt.Sprint(want[i]), fmt.Sprint(got[i]), "fix %d", i)
	}
}

// A yield monitor's CSV in UTF-16 as GNU's iconv writes it, with a byte-order mark
// and in both orders without.
func TestUTF16OfIconv(t *testing.T) {
	tool, err := exec.LookPath("iconv")
	if err != nil {
		t.Skip("iconv is not on this machine")
	}
	at := outside(t, "corn-harvest-gartner", "yield.csv")
	keep := gnsslog.Options{Keep: func(name string) bool { return name == "loadname" }}
	data, err := os.ReadFile(at)
	require.NoError(t, err)
	want, err := read("yield.csv", data, keep)
	require.NoError(t, err)
	for _, code := range []string{"UTF-16", "UTF-16LE", "UTF-16BE"} {
		wide, err := exec.Command(tool, "-f", "UTF-8", "-t", code, at).Output()
		require.NoError(t, err)
		for _, lines := range []int{4950, 20} { // both read as it comes and whole
			text := wide
			if lines == 20 {
				text = wide[:len(wide)/200&^1]
			}
			got, err := read("yield.csv", text, keep)
			require.NoError(t, err, fmt.Sprint(code, lines))
			n := len(got.Fixes)
			if lines == 4950 {
				require.Len(t, got.Fixes, len(want.Fixes))
			}
			require.Greater(t, n, 15)
			sameFixes(t, want.Fixes[:n-1], got.Fixes[:n-1]) // the last may be cut
			assert.Equal(t, want.Columns[0].Distinct[0], got.Columns[0].Distinct[0], strings.ToLower(code))
		}
	}
}
