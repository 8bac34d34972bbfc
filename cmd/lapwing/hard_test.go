//go:build unix

package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// A hardInput is a job that takes far more than its size lets one think. The limits
// are many times what it takes, so that a busy machine does not fail it, and a
// fraction of what it took before the cost of a field was bounded.
type hardInput struct {
	name    string
	what    string // "assess", and further words of the call
	make    func(t *testing.T, dir string)
	seconds float64 // of processor time, at most
	memory  float64 // MB, at most
	refused string  // what the line says that refuses it; "" for an answer
	warned  string  // what a warning says; "" for none looked for
}

// hardInputs are the jobs of testdata/hard, none over 10,000 bytes with all its
// files, and larger ones that are made here.
//
// In brackets what they took and take, in seconds of processor time and MB.
var hardInputs = []hardInput{
	// Position noise of a metre with a bar of 24 m: each edge of the swath crosses most others.
	{name: "noise-on-a-small-field", what: "assess", seconds: 1.5, memory: 100}, // 3.2 s, 230; 0.06 s, 20
	{name: "noise-past-a-small-field", what: "assess", seconds: 3, memory: 150,
		refused: `field "noise-past-a-small-field": found swaths of "drill", 24 m wide`}, // 6.9 s, 440; 0.2 s, 40
	{name: "stand-without-a-boundary", what: "assess", seconds: 5, memory: 200,
		refused: `field "stand-without-a-boundary": found swaths of "drill", 24 m wide`}, // minutes, 2,100; 0.3 s, 40
	// The boundary's corners are rounded to a metre at the pole; found by chance.
	{name: "noise-at-the-pole", what: "assess", seconds: 10, memory: 200}, // 2.5 s, 310; 1.4 s, 95
	// Working is found out on a bitmap; found by chance, and near the bound before it was mended.
	{name: "stand-of-a-wide-bar", what: "assess", seconds: 6, memory: 200}, // 2.7 s, 107; 1.3 s, 107

	{name: "noise-on-holes", what: "assess", make: noiseOnHoles, seconds: 6, memory: 200}, // 22 s, 1,260; 0.3 s, 21
	{name: "spiral", what: "assess", make: spiral(501, 0.35, 100, -0.15), seconds: 3, memory: 200,
		refused: `field "hard": found swaths of "drill", 60 m wide`}, // 7.5 s; 0.2 s, 38
	{name: "walk-among-holes", what: "assess", make: walkAmongHoles, seconds: 12, memory: 500,
		refused: `field "hard": found swaths of "drill", 24 m wide`}, // 32 s, 1,600; 2.2 s, 150

	// Boundaries of parts that overlap.
	{name: "discs-that-overlap", what: "assess", make: discs, seconds: 8, memory: 400,
		warned: "polygons of one boundary overlap; their ground counts once"}, // refused after 3.8 s; 0.6 s, 54
	{name: "weave", what: "assess", make: weave, seconds: 4, memory: 200,
		refused: "field.geojson:1: coordinates[0][0]: 3000 polygons whose edges cross one another over 700000 times, want the ground of a field"}, // refused too, after 3 s; 0.4 s, 56

	{name: "noise-on-a-small-field", what: "assess --what-if", seconds: 3, memory: 100},
	{name: "spiral-round-a-point", what: "assess", seconds: 8, memory: 200}, // 2 s, 90; 1 s, 46
	// 26 s, 98; 4 s, 88
	{name: "spiral-round-a-point", what: "assess --what-if", seconds: 20, memory: 200,
		warned: "swaths cross one another too often to measure the field again 200 times: how sure the figures are is told from 26"},
}

// TestHard measures or refuses each within its limits, and leaves no file where it
// refuses.
func TestHard(t *testing.T) {
	lapwing := buildLapwing(t)
	for _, in := range hardInputs {
		t.Run(in.name+" "+in.what, func(t *testing.T) {
			dir := filepath.Join(repository, "testdata", "hard", in.name)
			if in.make != nil {
				dir = t.TempDir()
				in.make(t, dir)
			} else {
				assert.Less(t, bytesIn(t, dir), int64(10_000))
			}
			out := filepath.Join(t.TempDir(), "out")
			c := exec.Command(lapwing, append(strings.Fields(in.what), filepath.Join(dir, "job.yaml"), "--out", out)...)
			var said bytes.Buffer
			c.Stderr = &said
			forgetPeak()
			err := c.Run()
			var failed *exec.ExitError
			if in.refused != "" {
				require.ErrorAs(t, err, &failed, said.String())
				assert.Equal(t, wrongInput, failed.ExitCode())
				lines := strings.Split(strings.TrimSpace(said.String()), "\n")
				assert.Contains(t, lines[len(lines)-1], in.refused)
				assert.NoDirExists(t, out)
			} else {
				require.NoError(t, err, said.String())
				assert.FileExists(t, filepath.Join(out, "summary.json"))
			}
			assert.Contains(t, said.String(), in.warned)
			took := (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds()
			held := float64(peakOf(c)) / 1e6
			t.Logf("%.2f s of processor time, %.0f MB", took, held)
			assert.Less(t, took, in.seconds, "seconds of processor time")
			assert.Less(t, held, in.memory, "MB")
		})
	}
}

// peakOf is the most memory a process had that has ended, in bytes.
func peakOf(c *exec.Cmd) int64 {
	most := int64(c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
	if runtime.GOOS != "darwin" { // which alone counts bytes
		most *= 1024
	}
	return most
}

func bytesIn(t *testing.T, dir string) (sum int64) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		info, err := e.Info()
		require.NoError(t, err)
		if e.Name() != "about.md" {
			sum += info.Size()
		}
	}
	return sum
}

// A spot is a place in metres.
type spot struct{ x, y float64 }

func square(x, y, half float64) []spot {
	return []spot{{x - half, y - half}, {x + half, y - half}, {x + half, y + half}, {x - half, y + half}}
}

// writeHard writes a job with a boundary, its shell and then holes, and a log of
// places so many seconds apart.
func writeHard(t *testing.T, dir, implement string, boundary [][]spot, every time.Duration, places []spot) {
	writeHardParts(t, dir, implement, [][][]spot{boundary}, every, places)
}

// writeHardParts is writeHard with a boundary of several parts.
func writeHardParts(t *testing.T, dir, implement string, parts [][][]spot, every time.Duration, places []spot) {
	var polygons []string
	for _, p := range parts {
		polygons = append(polygons, ringsOf(p))
	}
	boundary := `{"type":"Polygon","coordinates":` + polygons[0] + "}\n"
	if len(parts) > 1 {
		boundary = `{"type":"MultiPolygon","coordinates":[` + strings.Join(polygons, ",") + "]}\n"
	}
	log := "time,lat,lon,working\n"
	at := time.Date(2026, 5, 4, 14, 0, 0, 0, time.UTC)
	frame := geo.NewFrame(origin)
	for i, s := range places {
		p := frame.FromMetres(s.x, s.y)
		log += fmt.Sprintf("%s,%.8f,%.8f,1\n", at.Add(time.Duration(i)*every).Format("2006-01-02T15:04:05.000Z"), p.Lat, p.Lon)
	}
	for name, text := range map[string]string{
		"field.geojson": boundary,
		"day.csv":       log,
		"job.yaml": "field: hard\nboundary: field.geojson\ntime_zone: UTC\nmachines:\n  - name: drill\n    implement: " +
			implement + "\n    tracks: [day.csv]\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
}

// ringsOf writes the rings of a polygon as GeoJSON does.
func ringsOf(boundary [][]spot) string {
	frame := geo.NewFrame(origin)
	var rings []string
	for _, ring := range boundary {
		var corners []string
		for _, c := range append(ring, ring[0]) {
			p := frame.FromMetres(c.x, c.y)
			corners = append(corners, fmt.Sprintf("[%.8f,%.8f]", p.Lon, p.Lat))
		}
		rings = append(rings, "["+strings.Join(corners, ",")+"]")
	}
	return "[" + strings.Join(rings, ",") + "]"
}

// discs is a field of 2,000 discs of 64 corners on a square of a kilometre, sixteen
// deep, and a pass over it.
func discs(t *testing.T, dir string) {
	r := rand.New(rand.NewPCG(15, 1))
	var parts [][][]spot
	for range 2000 {
		x, y := 1000*r.Float64(), 1000*r.Float64()
		ring := make([]spot, 64)
		for i := range ring {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 64)
			ring[i] = spot{x + 50*cos, y + 50*sin}
		}
		parts = append(parts, [][]spot{ring})
	}
	writeHardParts(t, dir, "{width: 24 m}", parts, time.Second, straightOn(400))
}

// weave is a field of strips of 25 cm, every 50 cm one from south to north and one
// from west to east.
func weave(t *testing.T, dir string) {
	var parts [][][]spot
	const n = 1500
	for i := range n {
		a, l := 0.5*float64(i), 0.5*n
		parts = append(parts, [][]spot{{{a, 0}, {a + .25, 0}, {a + .25, l}, {a, l}}}, [][]spot{{{0, a}, {l, a}, {l, a + .25}, {0, a + .25}}})
	}
	writeHardParts(t, dir, "{width: 24 m}", parts, time.Second, straightOn(300))
}

// straightOn is a way east at 2 m/s.
func straightOn(fixes int) []spot {
	places := make([]spot, fixes)
	for i := range places {
		places[i] = spot{2 * float64(i), 300}
	}
	return places
}

// noiseOnHoles is a machine of 24 m that stands on a field of 2 m with 25 holes, and
// its position jumps about by a metre ten times a second.
func noiseOnHoles(t *testing.T, dir string) {
	r := rand.New(rand.NewPCG(14, 1))
	field := [][]spot{square(0, 0, 1)}
	for i := range 25 {
		field = append(field, square(-0.8+0.4*float64(i%5), -0.8+0.4*float64(i/5), 0.1))
	}
	places := make([]spot, 1000)
	for i := range places {
		places[i] = spot{r.NormFloat64(), r.NormFloat64()}
	}
	writeHard(t, dir, "{width: 24 m, mount: towed, antenna_to_hitch: 2 m, hitch_to_bar: 9 m}", field, 100*time.Millisecond, places)
}

// spiral is a machine of 60 m that goes round and round, each fix by an angle in
// radians, from a radius on that changes with each fix, in metres.
func spiral(fixes int, by, radius, in float64) func(t *testing.T, dir string) {
	return func(t *testing.T, dir string) {
		places := make([]spot, fixes)
		for i := range places {
			sin, cos := math.Sincos(by * float64(i))
			places[i] = spot{(radius + in*float64(i)) * sin, (radius + in*float64(i)) * cos}
		}
		writeHard(t, dir, "{width: 60 m}", [][]spot{square(0, 0, 120)}, time.Second, places)
	}
}

// walkAmongHoles is a bar of 24 m carried about at random, for 1,500 steps of 2 m, on
// a field with 784 holes.
func walkAmongHoles(t *testing.T, dir string) {
	r := rand.New(rand.NewPCG(14, 2))
	field := [][]spot{square(0, 0, 100)}
	const side = 28
	for i := range side * side {
		field = append(field, square(-95+190*float64(i%side)/(side-1), -95+190*float64(i/side)/(side-1), 1.5))
	}
	places := make([]spot, 1500)
	var at spot
	heading := 0.0
	for i := range places {
		heading += 0.5 * r.NormFloat64()
		sin, cos := math.Sincos(heading)
		at = spot{at.x + 2*sin, at.y + 2*cos}
		if math.Abs(at.x) > 90 {
			heading = -heading
		}
		if math.Abs(at.y) > 90 {
			heading = math.Pi - heading
		}
		at = spot{max(-95, min(95, at.x)), max(-95, min(95, at.y))}
		places[i] = at
	}
	writeHard(t, dir, "{width: 24 m}", field, time.Second, places)
}
