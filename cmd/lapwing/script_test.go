package main

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"lapwing/coverage/covertest"
	"lapwing/geo"
)

var update = flag.Bool("update", false, "write what the program says now into the stories' golden files")

func TestMain(m *testing.M) {
	// These tests wait for other processes most of the time: so more of them go on at a
	// time than there are processors, unless the call says how many.
	if err := flag.Set("test.parallel", strconv.Itoa(2*runtime.GOMAXPROCS(0))); err != nil {
		panic(err)
	}
	var tests testscript.TestingM = m
	for _, run := range around {
		tests = nested{tests, run}
	}
	testscript.Main(tests, map[string]func(){"lapwing": main})
}

// around are the functions that run all tests and then end what these shared.
var around []func(tests interface{ Run() int }) int

// nested are tests that a function runs.
type nested struct {
	tests testscript.TestingM
	run   func(tests interface{ Run() int }) int
}

func (n nested) Run() int { return n.run(n.tests) }

// TestStories runs the stories in testdata/script. Beside the usual commands
// they have
//
//	exits N COMMAND ...      the command ends with exit status N
//	wrong 'LINE' ARG ...     lapwing ARG ... ends with status 2, says LINE and
//	                         nothing else, and leaves every file as it was
//	box FILE X0 Y0 X1 Y1     writes a boundary: a rectangle, in metres
//	drive FILE HH:MM:SS PASS ...
//	                         writes a log of passes X0,Y0:X1,Y1 in metres, at
//	                         2 m/s with a fix a second, lifted between them, on
//	                         2 April 2025 or on the day of YYYY-MM-DDTHH:MM:SS
//	tasks DIR [NAME]         writes a task set of ISO 11783-10: the field small,
//	                         worked by a drill of 6 m; or "neighbours",
//	                         "operations" or "combine", as package covertest
//	                         has them
//	pack FILE.zip DIR        packs a folder
//	within FILE KEY LOW HIGH the number at a key such as ground.skip_m2
//	holds DIR NAME ...       the names in a directory, all of them
//	many FILE HEADER N LINE [TEXT TIMES]
//	                         writes a header and N lines; %d in LINE is the
//	                         number of the line, TEXT stands behind so many times
//	fields FILE N            writes N boundaries, 110 m apart
func TestStories(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       *update,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits": exits, "wrong": wrong, "box": box, "drive": drive, "tasks": tasks, "pack": pack, "within": within, "holds": holdsNames,
			"many": many, "fields": fields,
		},
	})
}

func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits N COMMAND ...")
	}
	if got := status(ts, args[1:]); strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit status %d, want %s", got, args[0])
	}
}

// status runs a command and returns its exit status.
func status(ts *testscript.TestScript, args []string) int {
	err := ts.Exec(args[0], args[1:]...)
	var failed *exec.ExitError
	switch {
	case errors.As(err, &failed):
		return failed.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	return 0
}

func wrong(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: wrong 'LINE' ARG ...")
	}
	before := snapshot(ts)
	got := status(ts, append([]string{"lapwing"}, args[1:]...))
	out, said := ts.ReadFile("stdout"), ts.ReadFile("stderr")
	said = strings.ReplaceAll(said, ts.Getenv("WORK")+string(filepath.Separator), "")
	if want := "lapwing: " + args[0] + "\n"; said != want {
		ts.Fatalf("said %swant %s", said, want)
	}
	if got != wrongInput || out != "" {
		ts.Fatalf("exit status %d with %q on standard output, want %d and nothing", got, out, wrongInput)
	}
	if after := snapshot(ts); after != before {
		ts.Fatalf("files were\n%sand are\n%s", before, after)
	}
}

// snapshot names every file of the story with its content's sum.
func snapshot(ts *testscript.TestScript) string {
	var b strings.Builder
	root := ts.Getenv("WORK")
	ts.Check(filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == filepath.Join(root, ".tmp") {
			return err
		}
		var content []byte
		if d.Type().IsRegular() {
			if content, err = os.ReadFile(path); err != nil {
				return err
			}
		}
		fmt.Fprintf(&b, "%s %s %x\n", d.Type(), path, sha256.Sum256(content))
		return nil
	}))
	return b.String()
}

// The stories' fields lie here; nobody farms the Skagerrak.
var origin = geo.LonLat{Lon: 9.5, Lat: 58}

func box(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 5 {
		ts.Fatalf("usage: box FILE X0 Y0 X1 Y1")
	}
	var v [4]float64
	for i := range v {
		v[i] = number(ts, args[i+1])
	}
	frame := geo.NewFrame(origin)
	var ring []string
	for _, c := range [][2]float64{{v[0], v[1]}, {v[2], v[1]}, {v[2], v[3]}, {v[0], v[3]}, {v[0], v[1]}} {
		p := frame.FromMetres(c[0], c[1])
		ring = append(ring, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
	}
	text := `{"type":"Polygon","coordinates":[[` + strings.Join(ring, ",") + "]]}\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}

func drive(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: drive FILE HH:MM:SS X0,Y0:X1,Y1 ...")
	}
	clock := args[1]
	if !strings.Contains(clock, "T") {
		clock = "2025-04-02T" + clock
	}
	at, err := time.Parse("2006-01-02T15:04:05", clock)
	ts.Check(err)
	frame := geo.NewFrame(origin)
	var b strings.Builder
	b.WriteString("time,lat,lon,working\n")
	for _, pass := range args[2:] {
		var x0, y0, x1, y1 float64
		if _, err := fmt.Sscanf(pass, "%f,%f:%f,%f", &x0, &y0, &x1, &y1); err != nil {
			ts.Fatalf("pass %q: %v", pass, err)
		}
		steps := math.Round(math.Hypot(x1-x0, y1-y0) / 2)
		for i := range int(steps) + 1 {
			k := float64(i) / steps
			p := frame.FromMetres(x0+k*(x1-x0), y0+k*(y1-y0))
			fmt.Fprintf(&b, "%s,%.9f,%.9f,1\n", at.Format("2006-01-02T15:04:05Z"), p.Lat, p.Lon)
			at = at.Add(time.Second)
		}
		p := frame.FromMetres(x1+(x1-x0)/steps, y1+(y1-y0)/steps)
		fmt.Fprintf(&b, "%s,%.9f,%.9f,0\n", at.Format("2006-01-02T15:04:05Z"), p.Lat, p.Lon)
		at = at.Add(20 * time.Second)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}

func tasks(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 || len(args) > 2 {
		ts.Fatalf("usage: tasks DIR [neighbours | operations | combine]")
	}
	dir := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(dir, 0o755))
	if len(args) == 1 {
		s := covertest.Small(0.02, 7)
		ts.Check(covertest.WriteTaskSet(dir, s.Field, s.Machines))
		return
	}
	made := map[string]func() covertest.TaskSet{"neighbours": covertest.Neighbours, "operations": covertest.SeededAndSprayed, "combine": covertest.Combine}[args[1]]
	if made == nil {
		ts.Fatalf("no set called %q", args[1])
	}
	s := made()
	ts.Check(s.Write(dir))
}

func pack(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: pack FILE.zip DIR")
	}
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	z := zip.NewWriter(f)
	ts.Check(z.AddFS(os.DirFS(ts.MkAbs(args[1]))))
	ts.Check(z.Close())
	ts.Check(f.Close())
}

func number(ts *testscript.TestScript, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	ts.Check(err)
	return v
}

func within(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: within FILE KEY LOW HIGH")
	}
	var at any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &at))
	for _, key := range strings.Split(args[1], ".") {
		switch in := at.(type) {
		case map[string]any:
			at = in[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(in) {
				ts.Fatalf("%s: no element %s in a list of %d", args[1], key, len(in))
			}
			at = in[i]
		}
	}
	got, ok := at.(float64)
	if list, isList := at.([]any); isList {
		got, ok = float64(len(list)), true // a list is as much as it holds
	}
	if low, high := number(ts, args[2]), number(ts, args[3]); !ok || got < low || got > high {
		ts.Fatalf("%s is %v, want %v to %v", args[1], at, low, high)
	}
}

func holdsNames(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: holds DIR NAME ...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if got, want := strings.Join(names, " "), strings.Join(args[1:], " "); got != want {
		ts.Fatalf("%s holds %s, want %s", args[0], got, want)
	}
}

func many(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 && len(args) != 6 {
		ts.Fatalf("usage: many FILE HEADER N LINE [TEXT TIMES]")
	}
	tail := ""
	if len(args) == 6 {
		times, err := strconv.Atoi(args[5])
		ts.Check(err)
		tail = strings.Repeat(args[4], times)
	}
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	var b strings.Builder
	b.WriteString(args[1] + "\n")
	for i := range n {
		fmt.Fprintf(&b, args[3]+tail+"\n", i)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}

func fields(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: fields FILE N")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	var b strings.Builder
	b.WriteString(`{"type": "FeatureCollection", "features": [`)
	for i := range n {
		if i > 0 {
			b.WriteByte(',')
		}
		x, y := 9.5+float64(i%300)*0.001, 58+float64(i/300)*0.001
		fmt.Fprintf(&b, `{"type": "Feature", "properties": {"name": "f%d"}, "geometry": {"type": "Polygon", "coordinates": [[[%f, %f], [%f, %f], [%f, %f], [%f, %f]]]}}`,
			i, x, y, x+0.0009, y, x+0.0009, y+0.0009, x, y)
	}
	b.WriteString("]}")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}
