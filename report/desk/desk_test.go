package desk

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/format"
	"lapwing/report"
	"lapwing/report/desk/history"
	"lapwing/report/desk/pages"
	"lapwing/report/desk/store"
)

// A visitor drops files on a desk in memory and asks it things.
type visitor struct {
	t *testing.T
	*Desk
	store *store.Memory
}

func visit(t *testing.T) *visitor {
	t.Helper()
	at := time.Date(2026, 5, 6, 0, 0, 0, 0, time.UTC)
	files := store.NewMemory(func() time.Time {
		at = at.Add(time.Second)
		return at
	})
	return (&visitor{t: t, store: files}).again()
}

// again opens the same store anew, as after a restart.
func (v *visitor) again() *visitor {
	return &visitor{v.t, New(v.store, Options{Formats: format.Plain(), Program: "test"}), v.store}
}

// drop puts a file on the desk.
func (v *visitor) drop(name string, data []byte) string {
	v.t.Helper()
	at, err := v.NameFor(name)
	require.NoError(v.t, err)
	v.store.Set(at, data, time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC))
	return at
}

// dropFrom drops files of a folder of this computer, by their names from there.
func (v *visitor) dropFrom(dir string, names ...string) {
	v.t.Helper()
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(v.t, err)
		v.drop(name, data)
	}
}

type in = map[string]any

// get asks, wants an answer, and reads it.
func get[T any](v *visitor, m in) T {
	v.t.Helper()
	var out T
	r := v.send(m)
	require.False(v.t, r.Failed, "%v: %s", m, r.Body)
	require.NoError(v.t, json.Unmarshal(r.Body, &out))
	return out
}

// refused asks and wants an error.
func (v *visitor) refused(m in) Fault {
	v.t.Helper()
	r := v.send(m)
	require.True(v.t, r.Failed, "%v: %s", m, r.Body)
	var out struct{ Error Fault }
	require.NoError(v.t, json.Unmarshal(r.Body, &out))
	assert.NotContains(v.t, out.Error.Text, "\n")
	return out.Error
}

func (v *visitor) send(m in) Reply {
	v.t.Helper()
	text, err := json.Marshal(m)
	require.NoError(v.t, err)
	return v.Ask(context.Background(), text, nil)
}

func (v *visitor) look() State { v.t.Helper(); return get[State](v, in{"do": "look"}) }

func (v *visitor) assess(job string) Answer {
	v.t.Helper()
	return get[Answer](v, in{"do": "assess", "job": job})
}

func (v *visitor) text(name string) string {
	v.t.Helper()
	text, err := fs.ReadFile(v.store, name)
	require.NoError(v.t, err)
	return string(text)
}

// files are all files of the desk but pages and history, by their names.
func (v *visitor) files() map[string]string {
	out := map[string]string{}
	for _, name := range v.below(".") {
		if first, _, _ := cut(name); first != pages.Dir && first != history.Folder {
			if out[name] = v.text(name); first == filesDir || first == unpackedDir {
				out[name] = hashOf([]byte(out[name])) // logs are long to print
			}
		}
	}
	return out
}

const samples = "../../samples"

// A boundary and a log give a field, a machine and the questions that are open; the job
// goes by the guesses.
func TestFirstLook(t *testing.T) {
	v := visit(t)
	v.dropFrom(path.Join(samples, "tern-bank"), "boundary.geojson", "drill.csv")
	s := v.look()
	require.Len(t, s.Jobs, 1)
	j := s.Jobs[0]
	assert.Equal(t, "tern-bank-pit-field.yaml", j.Job)
	assert.Equal(t, "Tern Bank, Pit Field", j.Field)
	assert.Equal(t, [2]string{"2025-09-18", "2025-09-18"}, j.Days)
	assert.Equal(t, []string{"files/drill.csv"}, j.Logs)
	assert.Equal(t, []string{"files/boundary.geojson"}, j.Boundary)
	assert.Len(t, j.Rings, 2, "the marl pit is a hole")
	assert.True(t, j.Ready)
	assert.False(t, j.ByHand)
	require.NotNil(t, j.Sketch)
	assert.Equal(t, "boundary", j.Sketch.Shapes[0].Kind)
	assert.Equal(t, "way", j.Sketch.Shapes[1].Kind)
	assert.InDelta(t, 8.9, j.Sketch.Shapes[1].Width, 0.05)
	assert.Equal(t, "metric", s.Units, "by where the field lies")
	var keys []string
	for _, q := range s.Questions {
		keys = append(keys, q.Key+" "+q.Best)
	}
	assert.Equal(t, []string{"units metric", "width 8.89 m", "mount mounted", "antenna_to_hitch 0 m", "products "}, keys)
	require.Len(t, s.Finds, 2)
	assert.Equal(t, "A boundary file (GeoJSON): 1 field, 11.66 ha (Tern Bank, Pit Field).", s.Finds[0].Sentence)
	assert.Contains(t, s.Finds[1].Sentence, "A log: CSV, 6307 fixes, 2025-09-18 07:10 to 2025-09-18 08:55")
	for _, f := range s.Finds {
		require.NotNil(t, f.Drawing)
		assert.Equal(t, []string{j.Job}, f.Jobs)
	}
	before := v.files()
	assert.Equal(t, s, v.look(), "looking changes nothing")
	assert.Equal(t, before, v.files())
	assert.Equal(t, s, v.again().look(), "nor does a restart")
}

// An answer is a line of the file that the command reads; comments stay, the guess does
// not.
func TestAnswer(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	s := v.look()
	const drill = "machines/machine-1.yaml"
	s = get[State](v, in{"do": "answer", "machine": drill, "key": "width", "value": "12 m"})
	assert.Contains(t, v.text(drill), "\nwidth: 12 m\n# Said on the desk. It was 39.37 ft.\n")
	assert.Contains(t, v.text(drill), "# openers: 48 ")
	s = get[State](v, in{"do": "answer", "machine": drill, "key": "mount", "value": "towed"})
	assert.Contains(t, v.text(drill), "hitch_to_bar: 9 m\n# GUESS: ", "a towed bar needs one: it is guessed, and asked")
	var keys []string
	for _, q := range s.Questions {
		keys = append(keys, q.Key)
	}
	assert.Equal(t, []string{"units", "antenna_to_hitch", "hitch_to_bar", "products"}, keys)
	s = get[State](v, in{"do": "answer", "machine": drill, "set": map[string]string{"hitch_to_bar": "8 m", "antenna_to_hitch": "3 m"}})
	s = get[State](v, in{"do": "answer", "job": s.Jobs[0].Job, "key": "products", "value": "{name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}"})
	s = get[State](v, in{"do": "answer", "key": "units", "value": "us"})
	assert.Empty(t, s.Questions)
	assert.True(t, s.Jobs[0].Ready)
	text := v.text(s.Jobs[0].Job)
	assert.Contains(t, text, "\nproducts:\n  - {name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}\n")
	assert.Contains(t, text, "# A job file for lapwing, made from what the files themselves tell.")

	before := v.files()
	for _, m := range []in{
		{"do": "answer", "machine": drill, "key": "width", "value": "12"},
		{"do": "answer", "machine": drill, "key": "width", "value": "-3 m"},
		{"do": "answer", "machine": drill, "key": "widht", "value": "12 m"},
		{"do": "answer", "machine": drill, "key": "width", "value": "12 m\nname: x"},
		{"do": "answer", "machine": drill, "key": "mount", "value": "{a: b}"},
		{"do": "answer", "machine": "machines/none.yaml", "key": "width", "value": "12 m"},
		{"do": "answer", "machine": "../machine.yaml", "key": "width", "value": "12 m"},
		{"do": "answer", "machine": "/etc/passwd", "key": "width", "value": "12 m"},
		{"do": "answer", "machine": s.Jobs[0].Job, "key": "field", "value": "x"},
		{"do": "answer", "job": drill, "key": "width", "value": "x"},
		{"do": "answer", "job": s.Jobs[0].Job, "key": "products.0.rate", "value": "90"},
		{"do": "answer", "job": s.Jobs[0].Job, "key": "headland.rounds", "value": "none"},
		{"do": "answer", "job": s.Jobs[0].Job, "key": "boundary", "value": "../../etc/passwd"},
		{"do": "answer", "key": "units", "value": "furlongs"},
		{"do": "answer", "key": "width", "value": "12 m"},
	} {
		v.refused(m)
	}
	assert.Equal(t, before, v.files(), "what is refused changes nothing")
}

// A width that was said once is not asked again: not of the next day, nor of the next
// field of the same machine.
func TestKnownFromBefore(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	s := v.look()
	require.Len(t, s.Jobs, 1)
	home := s.Jobs[0].Job
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12.2 m"})
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "set": map[string]string{"mount": "mounted", "antenna_to_hitch": "1 m"}})

	v = v.again()
	v.drop("stick/day2.csv", dayTwo())
	s = v.look()
	require.Len(t, s.Jobs, 1, "the second day is of the same field")
	assert.Equal(t, []string{"files/day1.csv", "files/stick/day2.csv"}, s.Jobs[0].Logs)
	assert.False(t, s.Jobs[0].ByHand)
	require.Len(t, s.Machines, 1)
	assert.Equal(t, "12.2 m", s.Machines[0].Width)
	assert.Empty(t, s.Machines[0].Questions)
	assert.Contains(t, s.Undo, "day2.csv")

	v.drop("far.geojson", box("Far", 1000, 0, 1120, 200))
	v.drop("day3.csv", newDrive("2026-05-06T08:00:00Z", "").lines(10, 1006, 12, 0, 200, "").csv())
	s = v.look()
	require.Len(t, s.Jobs, 2)
	require.Len(t, s.Machines, 1, "the drill that the desk knows")
	assert.ElementsMatch(t, []string{"far.yaml", home}, s.Machines[0].Jobs)
	assert.Contains(t, v.text("far.yaml"), "implement: machines/machine-1.yaml")
	for _, q := range s.Questions {
		assert.Contains(t, []string{"units", "products"}, q.Key)
	}
	// One answer for all jobs that ask.
	s = get[State](v, in{"do": "answer", "all": true, "key": "products", "value": "{name: seed, rate: 90 lb/ac}"})
	assert.Contains(t, v.text(home), "rate: 90 lb/ac}")
	assert.Contains(t, v.text("far.yaml"), "rate: 90 lb/ac}")
	assert.Contains(t, s.Undo, "2 jobs")
}

// A machine that a log names is known by its name on fields and days far apart.
func TestNamedMachine(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", newDrive("2026-05-04T08:00:00Z", ",machine").lines(2, 6, 12, 0, 200, ",drill A").csv())
	s := v.look()
	require.Len(t, s.Machines, 1)
	assert.Equal(t, "unknown", s.Machines[0].Questions[0].Sure)
	assert.False(t, s.Jobs[0].Ready)
	assert.Nil(t, s.Jobs[0].Error, "it waits for a width: that is a question, not an error")
	get[State](v, in{"do": "answer", "machine": s.Machines[0].Machine, "key": "width", "value": "12 m"})
	v.drop("far.geojson", box("Far", 1000, 0, 1120, 200))
	v.drop("day2.csv", newDrive("2026-06-24T08:00:00Z", ",machine").lines(2, 1006, 12, 0, 200, ",drill A").csv())
	s = v.look()
	require.Len(t, s.Jobs, 2)
	require.Len(t, s.Machines, 1)
	assert.True(t, s.Jobs[0].Ready && s.Jobs[1].Ready)
}

// Only what a person wrote or changed is theirs: the desk adds nothing to it by itself.
func TestByHandIsLeftAlone(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	home := v.look().Jobs[0].Job
	mine := strings.Replace(v.text(home), "rounds: 1", "rounds: 2", 1) + "# mine\n"
	v.store.Set(home, []byte(mine), time.Now())
	v.drop("day2.csv", dayTwo())
	s := v.look()
	assert.Equal(t, mine, v.text(home))
	require.Len(t, s.Jobs, 1)
	assert.True(t, s.Jobs[0].ByHand)
	i := slices.IndexFunc(s.Left, func(l Left) bool { return l.Path == "files/day2.csv" })
	require.GreaterOrEqual(t, i, 0, "%+v", s.Left)
	assert.Equal(t, home, s.Left[i].Job)
	s = get[State](v, in{"do": "place", "log": "files/day2.csv", "job": home})
	assert.Equal(t, []string{"files/day1.csv", "files/day2.csv"}, s.Jobs[0].Logs)
	assert.Contains(t, v.text(home), "# mine\n")
	assert.Contains(t, v.text(home), "rounds: 2")
	assert.True(t, s.Jobs[0].ByHand, "it stays theirs")
}

// A log goes where a person puts it, and stays there.
func TestPlace(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.drop("day2.csv", dayTwo())
	s := v.look()
	home := s.Jobs[0].Job
	s = get[State](v, in{"do": "place", "log": "files/day2.csv", "job": ""})
	assert.Equal(t, []string{"files/day1.csv"}, s.Jobs[0].Logs)
	s = v.again().look()
	require.Len(t, s.Jobs, 1)
	assert.Equal(t, []string{"files/day1.csv"}, s.Jobs[0].Logs)
	s = get[State](v, in{"do": "place", "log": "files/day1.csv", "job": ""})
	assert.Empty(t, s.Jobs, "a job without a log is none")
	s = get[State](v, in{"do": "undo"})
	s = get[State](v, in{"do": "undo"})
	assert.Equal(t, []string{"files/day1.csv", "files/day2.csv"}, s.Jobs[0].Logs)
	v.refused(in{"do": "place", "log": "files/none.csv", "job": home})
	v.refused(in{"do": "place", "log": "files/day1.csv", "job": "none.yaml"})
}

// A boundary that comes after its log is given to the job.
func TestBoundaryComesLater(t *testing.T) {
	v := visit(t)
	v.drop("day1.csv", dayOne())
	s := v.look()
	require.Len(t, s.Jobs, 1)
	assert.Empty(t, s.Jobs[0].Boundary)
	assert.Equal(t, "boundary", s.Jobs[0].Questions[0].Key)
	job := s.Jobs[0].Job
	v.drop("home.geojson", homeField())
	s = v.look()
	require.Len(t, s.Jobs, 1)
	assert.Equal(t, job, s.Jobs[0].Job)
	assert.Equal(t, []string{"files/home.geojson"}, s.Jobs[0].Boundary)
	assert.Equal(t, "Home", s.Jobs[0].Field)
}

// Every change can be taken back, the last first, also after a restart; and each step
// back gives the files as they were, to the byte.
func TestUndo(t *testing.T) {
	v := visit(t)
	start := v.files()
	var states []map[string]string
	do := func(f func()) {
		f()
		states = append(states, v.files())
	}
	var home string
	do(func() {
		v.drop("home.geojson", homeField())
		v.drop("day1.csv", dayOne())
		home = v.look().Jobs[0].Job
	})
	do(func() { v.drop("day2.csv", dayTwo()); v.look() })
	for _, m := range []in{
		{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12 m"},
		{"do": "answer", "machine": "machines/machine-1.yaml", "key": "mount", "value": "towed"},
		{"do": "answer", "key": "units", "value": "metric"},
		{"do": "boundary", "job": home, "shift": in{"east_m": 1.25, "north_m": -0.5}},
		{"do": "boundary", "job": home, "hole": ringOf(40, 40, 60, 60)},
		{"do": "boundary", "job": home, "ring": ringOf(-5, -5, 125, 205)},
		{"do": "boundary", "job": home, "worked": true},
		{"do": "answer", "job": home, "key": "products", "value": "none"},
		{"do": "place", "log": "files/day2.csv", "job": ""},
		{"do": "remove", "files": []string{"files/day1.csv"}},
	} {
		do(func() { assert.NotEmpty(t, get[State](v, m).Undo, "%v", m) })
	}
	for i := len(states) - 1; i >= 0; i-- {
		assert.Equal(t, states[i], v.files(), "step %d", i)
		v = v.again()
		s := get[State](v, in{"do": "undo"})
		if i == 0 {
			assert.Empty(t, s.Undo)
		}
	}
	assert.Equal(t, start, v.files())
	v.refused(in{"do": "undo"})
	kept := strings.Join(v.below(history.Folder+"/undone"), " ")
	assert.Contains(t, kept, "day1.csv", "what was dropped is kept even so")
}

// ringOf is a rectangle as a message has it.
func ringOf(x0, y0, x1, y1 float64) (ring [][2]float64) {
	for _, c := range [][2]float64{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}} { // clockwise, as hands draw too
		at := placeAt(c[0], c[1])
		ring = append(ring, [2]float64{at.Lon, at.Lat})
	}
	return ring
}

// fieldArea is the field's area in an answer's summary, m².
func fieldArea(t *testing.T, a Answer) float64 {
	t.Helper()
	var s struct {
		Field struct {
			Area float64 `json:"area_m2"`
		}
	}
	require.NoError(t, json.Unmarshal(a.Summary, &s))
	return s.Field.Area
}

// A verdict that rests on guesses says on which; what a person has said is none.
func TestGuesses(t *testing.T) {
	v := visit(t)
	v.drop("day1.csv", newDrive("2026-05-04T08:00:00Z", "").lines(10, 6, 12, 0, 200, "").csv())
	j := v.look().Jobs[0]
	assert.Equal(t, []string{"a guessed width: 39.37 ft", "a guessed mount: mounted", "the edge of the worked ground for a boundary"}, j.Guesses)
	j = get[State](v, in{"do": "boundary", "job": j.Job, "worked": true, "keep": true}).Jobs[0]
	require.NotEmpty(t, j.Boundary)
	assert.Contains(t, j.Guesses, "the edge of the worked ground for a boundary", "a file of it tells no more")
	j = get[State](v, in{"do": "boundary", "job": j.Job, "hole": ringOf(40, 60, 60, 90)}).Jobs[0]
	assert.Contains(t, j.Guesses, "the edge of the worked ground for a boundary")
	get[State](v, in{"do": "answer", "machine": j.Machines[0].File, "key": "width", "value": "12 m"})
	j = get[State](v, in{"do": "boundary", "job": j.Job, "ring": ringOf(0, 0, 120, 200)}).Jobs[0]
	assert.Equal(t, []string{"a guessed mount: mounted"}, j.Guesses)
	j = get[State](v, in{"do": "answer", "machine": j.Machines[0].File, "key": "mount", "value": "mounted"}).Jobs[0]
	assert.Empty(t, j.Guesses)

	// Logs of two machines, one of which does not say when it works.
	v = visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", newDrive("2026-05-04T08:00:00Z", ",machine").lines(5, 6, 12, 0, 200, ",drill A").csv())
	silent := newDrive("2026-05-04T10:00:00Z", ",machine").lines(5, 66, 12, 0, 200, ",drill B").csv()
	silent = regexp.MustCompile(`(?m)^([^,]*,[^,]*,[^,]*),[^,]*`).ReplaceAll(silent, []byte("$1"))
	v.drop("day2.csv", silent)
	j = v.look().Jobs[0]
	require.Len(t, j.Machines, 2)
	assert.Contains(t, j.Guesses, "a guessed width of drill A: 39.37 ft")
	assert.Contains(t, j.Guesses, "working stretches of drill B worked out from the motion")
	assert.NotContains(t, j.Guesses, "working stretches of drill A worked out from the motion")
}

// A boundary is drawn, and ground taken out of it; areas are those of the rectangles, by
// hand. The originals stay.
func TestBoundary(t *testing.T) {
	v := visit(t)
	original := homeField()
	at := v.drop("home.geojson", original)
	v.drop("day1.csv", dayOne())
	home := v.look().Jobs[0].Job
	for _, c := range []struct {
		name string
		m    in
		want float64
	}{
		{"a yard", in{"hole": ringOf(40, 40, 60, 60)}, 120*200 - 20*20},
		{"another, over its edge", in{"hole": ringOf(50, 50, 70, 70)}, 120*200 - 700},
		{"a strip along the west", in{"hole": ringOf(-50, -50, 10, 250)}, 110*200 - 700},
		{"drawn anew", in{"ring": ringOf(10, 10, 110, 190)}, 100 * 180},
	} {
		c.m["do"], c.m["job"] = "boundary", home
		s := get[State](v, c.m)
		assert.True(t, s.Jobs[0].Ready, c.name)
		assert.Contains(t, s.Jobs[0].Boundary[0], "boundaries/", c.name)
		assert.InDelta(t, c.want, fieldArea(t, v.assess(home)), 0.5, c.name)
	}
	assert.Equal(t, string(original), v.text(at))
	s := v.look()
	require.Len(t, s.Jobs, 1, "another boundary makes no other job")
	for _, m := range []in{
		{"hole": ringOf(-500, -500, 500, 500)}, // leaves nothing
		{"hole": ringOf(500, 500, 510, 510)},   // beside it
		{"hole": [][2]float64{{-105, 40}, {-105, 40.0001}}},
		{"ring": [][2]float64{}}, {"ring": [][2]float64{{-105, 40}, {-105.001, 40}, {-105.002, 40}}},
		{"ring": [][2]float64{{500, 40}, {0, 0}, {1, 1}}},
		{"ring": [][2]float64{{-105, 40}, {105, 40}, {0, 0}}}, // around the Earth
		{},
	} {
		m["do"], m["job"] = "boundary", home
		v.refused(m)
	}
	s = get[State](v, in{"do": "boundary", "job": home, "worked": true})
	assert.Empty(t, s.Jobs[0].Boundary)
	s = get[State](v, in{"do": "boundary", "job": home, "worked": true, "keep": true})
	require.Len(t, s.Jobs[0].Boundary, 1, "the worked ground as a boundary that can be changed")
	assert.InDelta(t, 72*198, fieldArea(t, v.assess(home)), 20, "each of the six passes ends a fix, 2 m, before its line")
}

// The shift that the program suspects is offered, and once taken is in the job.
func TestShift(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", box("Home", -2, 1.5, 118, 201.5)) // the tracks lie 2 m east and 1.5 m south of it
	v.drop("rounds.csv", newDrive("2026-05-04T08:00:00Z", "").lines(10, 6, 12, 0, 200, "").csv())
	home := v.look().Jobs[0].Job
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12 m"})
	assert.Nil(t, v.look().Jobs[0].Suspects)
	v.assess(home)
	s := v.look()
	require.NotNil(t, s.Jobs[0].Suspects, "%+v", s.Jobs[0].Assessed)
	assert.InDelta(t, -2, s.Jobs[0].Suspects.East, 0.15)
	assert.InDelta(t, 1.5, s.Jobs[0].Suspects.North, 0.15)
	assert.InDelta(t, 2.5, s.Jobs[0].Suspects.By, 0.15)
	assert.Equal(t, "south-east", s.Jobs[0].Suspects.Towards)
	assert.Contains(t, s.Jobs[0].Suspects.Text, "the tracks seem to lie")
	s = get[State](v, in{"do": "boundary", "job": home, "shift": in{"east_m": -2, "north_m": 1.5}})
	assert.Contains(t, v.text(home), "shift: {east: -2 m, north: 1.5 m}")
	assert.Equal(t, &shift{-2, 1.5}, s.Jobs[0].Shift)
	assert.True(t, s.Jobs[0].Assessed.Stale)
	assert.Nil(t, s.Jobs[0].Suspects)
	v.assess(home)
	assert.Nil(t, v.look().Jobs[0].Suspects)
	s = get[State](v, in{"do": "boundary", "job": home, "shift": in{"east_m": 0, "north_m": 0}})
	assert.NotContains(t, v.text(home), "shift")
	assert.Nil(t, s.Jobs[0].Shift)
}

// A boundary that the passes keep evenly off on one side is told of, with the figures.
func TestOutlineTooWide(t *testing.T) {
	v := visit(t)
	for _, name := range []string{"boundary.geojson", "job.yaml", "log.csv"} {
		data, err := os.ReadFile(filepath.Join("../../testdata/cases/outline-too-wide", name))
		require.NoError(t, err)
		v.drop("wide/"+name, data)
	}
	job := v.look().Jobs[0].Job
	v.assess(job)
	j := v.look().Jobs[0]
	require.NotNil(t, j.Assessed)
	require.NotEmpty(t, j.Assessed.Outline)
	t.Log(j.Assessed.Outline)
}

// A job whose files have not changed is not measured again; one of which anything has is.
func TestKept(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	home := v.look().Jobs[0].Job
	first := v.assess(home)
	assert.False(t, first.Kept)
	again := v.again().assess(home)
	assert.True(t, again.Kept)
	again.Kept = false
	assert.Equal(t, first, again)
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "11 m"})
	assert.True(t, v.look().Jobs[0].Assessed.Stale)
	other := v.assess(home)
	assert.False(t, other.Kept)
	assert.NotEqual(t, first.Summary, other.Summary)
	v.store.Set("pages/home/record.json", []byte("broken"), time.Now())
	assert.Equal(t, other.Summary, v.assess(home).Summary, "what is not whole is reckoned again")
	for _, name := range v.below(pages.Dir) {
		require.NoError(t, v.store.Remove(name))
	}
	assert.Equal(t, other.Summary, v.assess(home).Summary, "and so is one that has gone")
	v.Desk = New(v.store, Options{Formats: format.Plain(), Program: "another"})
	assert.False(t, v.assess(home).Kept, "another program reckons itself")
}

// What the desk keeps of itself may be lost, torn or wrong: no file goes, and it opens.
func TestNotesAreLost(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.look()
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12 m"})
	before := v.files()
	delete(before, notesFile)
	for _, notes := range []string{"", "{", "null", `{"generator": "other"}`, `{"generator": "lapwing", "seen": 5}`, `{"generator":"lapwing","wrote":null}`} {
		v.store.Set(notesFile, []byte(notes), time.Now())
		v = v.again()
		s := v.look()
		require.Len(t, s.Jobs, 1, notes)
		assert.NotContains(t, s.Undo, "came last", "files that were there are not what undo takes away")
		after := v.files()
		delete(after, notesFile)
		assert.Equal(t, before, after, notes)
	}
	require.NoError(t, v.store.Remove(notesFile))
	v = v.again()
	s := v.look()
	require.Len(t, s.Jobs, 1)
	for _, broken := range []string{"{", "[]", `{"was": ["../../x"], "made": ["../home.yaml", "pages/x", "history/1/change.json"]}`} {
		v.store.Set("history/999/change.json", []byte(broken), time.Now())
		v.send(in{"do": "undo"})
		require.NoError(t, v.store.Remove("history/999/change.json"))
		after := v.files()
		for name, text := range before {
			if first, _, _ := cut(name); first == filesDir {
				_, there := after[name]
				assert.True(t, there || strings.Contains(strings.Join(v.below(history.Folder+"/undone"), " "), name), "%s: %s", broken, text[:10])
			}
		}
	}
}

// A store that fails leaves the desk as it was.
type failing struct {
	*store.Memory
	puts int // that still work
}

func (f *failing) Put(ctx context.Context, files []report.File) error {
	if f.puts--; f.puts < 0 {
		return errors.New("the disk is full")
	}
	return f.Memory.Put(ctx, files)
}

func TestStoreFails(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.look()
	before := v.files()
	full := &failing{Memory: v.store}
	v.Desk = New(full, Options{Formats: format.Plain()})
	f := v.refused(in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12 m"})
	assert.Contains(t, f.Text, "the disk is full")
	v.refused(in{"do": "assess", "job": "home.yaml"})
	v.refused(in{"do": "undo"})
	assert.Equal(t, before, v.files())
}

// An ask ends when nobody waits for it any more, and the next is answered.
func TestCancel(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	before := v.files()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r := v.Ask(ctx, []byte(`{"do": "look"}`), nil)
	assert.True(t, r.Failed)
	assert.Equal(t, before, v.files())
	ctx, cancel = context.WithCancel(context.Background())
	r = v.Ask(ctx, []byte(`{"do": "look"}`), func(text string, share float64) {
		if text == "putting logs to fields" {
			cancel()
		}
	})
	assert.True(t, r.Failed)
	require.Len(t, v.look().Jobs, 1)
	assert.Len(t, v.look().Finds, 2, "what was not read is not said to be broken")
	ctx, cancel = context.WithCancel(context.Background())
	r = v.Ask(ctx, []byte(`{"do": "assess", "job": "home.yaml"}`), func(text string, share float64) { cancel() })
	assert.True(t, r.Failed)
	assert.Empty(t, v.below(pages.Dir))
	assert.NotEmpty(t, v.assess("home.yaml").Verdict)
}

// What no page sends is refused in one line.
func TestMessages(t *testing.T) {
	v := visit(t)
	deep := strings.Repeat(`{"a":`, 100_000) + "1" + strings.Repeat("}", 100_000)
	many, err := json.Marshal(in{"do": "boundary", "ring": make([][2]float64, mostCorners+1)})
	require.NoError(t, err)
	for _, text := range []string{"", "x", "[]", "null", `{"do": 1}`, `{"do": "fly"}`, deep, strings.Repeat(" ", mostMessage+1), string(many),
		`{"do": "assess"}`, `{"do": "assess", "job": "none.yaml"}`, `{"do": "assess", "job": "../x.yaml"}`, `{"do": "season"}`, `{"do": "waste", "runs": -1}`,
		`{"do": "compare", "jobs": ["a"]}`, `{"do": "file", "name": "/etc/passwd"}`, `{"do": "file", "name": "../x"}`, `{"do": "file"}`,
		`{"do": "remove", "files": ["desk.json"]}`, `{"do": "remove", "files": ["history/1/change.json"]}`, `{"do": "remove", "files": ["."]}`} {
		r := v.Ask(context.Background(), []byte(text), nil)
		assert.True(t, r.Failed, "%.60s", text)
		var out struct{ Error Fault }
		require.NoError(t, json.Unmarshal(r.Body, &out), "%.60s", text)
		assert.NotEmpty(t, out.Error.Text)
		assert.Less(t, len(r.Body), 1000)
	}
}

func TestNameFor(t *testing.T) {
	for dropped, want := range map[string]string{
		"day1.csv": "files/day1.csv", "stick/logs/day 1.csv": "files/stick/logs/day 1.csv", `C:\stick\day1.csv`: "files/C_/stick/day1.csv",
		"/etc/passwd": "files/etc/passwd", "../../x.csv": "files/x.csv", "a/../../x.csv": "files/a/x.csv", "a/./b": "files/a/b",
		"con.csv": "files/_con.csv", "a/NUL": "files/a/_NUL", ".hidden": "files/_.hidden", "a\x00b\nc.csv": "files/a_b_c.csv",
		"a#b?.csv": "files/a_b_.csv", "end. ": "files/end", "name\u202egpj.csv": "files/name_gpj.csv", strings.Repeat("ä", 200) + ".csv": "files/" + strings.Repeat("ä", 58) + ".csv",
	} {
		got, err := visit(t).NameFor(dropped)
		require.NoError(t, err, dropped)
		assert.Equal(t, want, got, dropped)
		assert.True(t, fs.ValidPath(got))
	}
	for _, dropped := range []string{"", "/", "..", "../..", ". /  "} {
		_, err := visit(t).NameFor(dropped)
		assert.Error(t, err, dropped)
	}
	v := visit(t)
	assert.Equal(t, "files/a.csv", v.drop("a.csv", []byte("1")))
	assert.Equal(t, "files/a (2).csv", v.drop("a.csv", []byte("2")))
	other, err := v.NameFor("b.csv")
	require.NoError(t, err)
	again, err := v.NameFor("B.csv")
	require.NoError(t, err)
	assert.NotEqual(t, strings.ToLower(other), strings.ToLower(again), "names that are on their way are taken, also where disks take capitals for the same")
}

// The same content under the same name is kept once.
func TestDroppedTwice(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.look()
	v.drop("day1.csv", dayOne())
	v.drop("home.geojson", box("Other", 0, 0, 50, 50))
	v.look()
	var names []string
	for name := range maps.Keys(v.files()) {
		names = append(names, name)
	}
	assert.Contains(t, names, "files/home (2).geojson")
	assert.NotContains(t, names, "files/day1 (2).csv")
	get[State](v, in{"do": "undo"})
	assert.Equal(t, "files/home (2).geojson", v.drop("home.geojson", homeField()), "a name is free when its file has gone")
	get[State](v, in{"do": "remove", "files": []string{"files/home.geojson"}})
	assert.Equal(t, "files/home.geojson", v.drop("home.geojson", homeField()))
}

// A broken file is told of beside the good ones.
func TestBrokenBesideGood(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.drop("torn.gpx", []byte("<gpx><trk><trkseg><trkpt lat=\"1\""))
	v.drop("photo.jpg", []byte("\xff\xd8\xff\xe0 no field"))
	v.drop("notes.txt", []byte("call the agronomist"))
	s := v.look()
	require.Len(t, s.Jobs, 1)
	assert.True(t, s.Jobs[0].Ready)
	why := map[string]Left{}
	for _, l := range s.Left {
		why[l.Path] = l
	}
	assert.Len(t, why, 3)
	assert.False(t, why["files/torn.gpx"].Other)
	assert.NotEmpty(t, why["files/torn.gpx"].Why)
	assert.True(t, why["files/photo.jpg"].Other)
}

// Ten fields of one drill are a season: bound into a book, told what they wasted, and
// done again only where something has changed.
func TestSeasonOfTenFields(t *testing.T) {
	v := visit(t)
	day := newDrive("2026-05-04T08:00:00Z", ",machine")
	for i := range 10 {
		x := float64(i) * 300
		v.drop(fmt.Sprintf("fields/%d.geojson", i), box(fmt.Sprintf("Field %d", i), x, 0, x+120, 100))
		day.lines(10, x+6, 11.9, 0, 100, ",drill A")
	}
	v.drop("day.csv", day.csv())
	s := v.look()
	require.Len(t, s.Jobs, 10)
	require.Len(t, s.Machines, 1)
	get[State](v, in{"do": "answer", "machine": s.Machines[0].Machine, "key": "width", "value": "12 m"})
	get[State](v, in{"do": "answer", "all": true, "key": "products", "value": "{name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}"})
	var shares []float64
	text, err := json.Marshal(in{"do": "season"})
	require.NoError(t, err)
	r := v.Ask(context.Background(), text, func(text string, share float64) { shares = append(shares, share) })
	require.False(t, r.Failed, "%s", r.Body)
	assert.True(t, slices.IsSorted(shares), "%v", shares)
	var book Answer
	require.NoError(t, json.Unmarshal(r.Body, &book))
	assert.Empty(t, book.Failed)
	assert.Equal(t, "pages/season.html", book.Page)
	assert.Contains(t, book.Text, "10 fields")
	for _, name := range book.Files {
		assert.NotEmpty(t, v.text("pages/"+name))
	}
	page := v.text("pages/season.html")
	assert.Contains(t, page, `href="field-0/report.html"`)
	assert.Contains(t, v.text("pages/field-0/report.html"), "../season.html")
	assert.Contains(t, v.text("pages/field-0/mend.html"), "../season.html")
	operators := regexp.MustCompile(`href="(operators/[^"]*)"`).FindAllStringSubmatch(page, -1)
	require.NotEmpty(t, operators)
	for _, link := range operators {
		assert.Contains(t, v.text("pages/"+link[1]), "to learn by", "a page that the book leads to is there")
	}

	// One field changes: the others stay.
	get[State](v, in{"do": "boundary", "job": "field-3.yaml", "hole": ringOf(920, 20, 940, 40)})
	assert.True(t, v.assess("field-4.yaml").Kept)
	again := get[Answer](v, in{"do": "season"})
	assert.NotEqual(t, book.Text, again.Text)

	wasted := get[Answer](v, in{"do": "waste", "runs": 0})
	assert.Equal(t, "pages/waste.html", wasted.Page)
	assert.Contains(t, wasted.Text, "seed")
	assert.Equal(t, wasted, get[Answer](v.again(), in{"do": "waste", "runs": 0}))
	one := get[Answer](v, in{"do": "season", "jobs": []string{"field-1.yaml", "field-2.yaml"}})
	assert.Contains(t, one.Text, "2 fields")
}

// A job that is wrong is told of, and stops nothing.
func TestSeasonWithABrokenJob(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.look()
	v.store.Set("broken.yaml", []byte("field: Broken\nmachines:\n  - name: a\n    tracks: [none.csv]\n"), time.Now())
	s := v.look()
	require.Len(t, s.Jobs, 2)
	require.NotNil(t, s.Jobs[0].Error)
	book := get[Answer](v, in{"do": "season"})
	require.Len(t, book.Failed, 1)
	assert.Equal(t, "broken.yaml", book.Failed[0].Path)
	assert.Contains(t, book.Text, "1 field")
	v.store.Set("no.yaml", []byte("machines: {"), time.Now())
	require.Len(t, v.look().Jobs, 3)
}

// Two jobs side by side have one scale.
func TestCompare(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", newDrive("2025-05-04T08:00:00Z", "").lines(10, 6, 12, 0, 200, "").csv())
	v.drop("day2.csv", newDrive("2026-05-04T08:00:00Z", "").lines(9, 6, 12, 0, 200, "").csv())
	v.drop("far.geojson", box("Far", 1000, 0, 1060, 300))
	v.drop("day3.csv", newDrive("2026-05-06T08:00:00Z", "").lines(5, 1006, 12, 0, 300, "").csv())
	s := v.look()
	require.Len(t, s.Jobs, 3)
	for _, m := range s.Machines {
		get[State](v, in{"do": "answer", "machine": m.Machine, "key": "width", "value": "12 m"})
	}
	c := get[pages.Comparison](v, in{"do": "compare", "jobs": []string{"home-2025-05-04.yaml", "home-2026-05-04.yaml"}})
	assert.Equal(t, "2025-05-04", c.Sides[0].Days)
	assert.Equal(t, "2026-05-04", c.Sides[1].Days)
	assert.Equal(t, c.Sides[0].Drawing.Box, c.Sides[1].Drawing.Box, "one field: one drawing's box")
	assert.Equal(t, "Covered", c.Figures[1].Name)
	assert.True(t, strings.HasPrefix(c.Figures[1].More, "-"), "%+v", c.Figures[1])
	c = get[pages.Comparison](v, in{"do": "compare", "jobs": []string{"home-2025-05-04.yaml", "far.yaml"}})
	assert.Equal(t, c.Sides[0].Drawing.Box[2:], c.Sides[1].Drawing.Box[2:], "two fields: one scale")
	assert.GreaterOrEqual(t, c.Sides[0].Drawing.Box[2], 120.0)
	assert.GreaterOrEqual(t, c.Sides[0].Drawing.Box[3], 300.0)
}

// exported is the archive of a desk.
func (v *visitor) exported() []byte {
	v.t.Helper()
	r := v.send(in{"do": "export"})
	require.False(v.t, r.Failed)
	assert.Equal(v.t, "application/zip", r.Type)
	return r.Body
}

// The archive of a desk makes the same desk again; on one that has files already it gets
// a folder of its own, in which the jobs hold.
func TestPack(t *testing.T) {
	v := visit(t)
	v.drop("home.geojson", homeField())
	v.drop("day1.csv", dayOne())
	v.look()
	get[State](v, in{"do": "answer", "machine": "machines/machine-1.yaml", "key": "width", "value": "12 m"})
	get[State](v, in{"do": "boundary", "job": "home.yaml", "hole": ringOf(40, 40, 60, 60)})
	want := v.assess("home.yaml")
	packed := v.exported()
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	require.NoError(t, err)
	for _, f := range z.File {
		first, _, _ := cut(f.Name)
		assert.NotContains(t, []string{pages.Dir, history.Folder}, first)
	}

	fresh := visit(t)
	fresh.drop("my desk.zip", packed)
	s := fresh.look()
	require.Len(t, s.Jobs, 1)
	assert.Equal(t, v.files(), fresh.files())
	assert.Equal(t, want.Summary, fresh.assess("home.yaml").Summary)
	assert.Contains(t, s.Undo, "my desk.zip")

	other := visit(t)
	other.drop("home.geojson", homeField())
	other.drop("day1.csv", dayOne())
	other.look()
	mine := other.text("home.yaml")
	other.drop("my desk.zip", packed)
	s = other.look()
	require.Len(t, s.Jobs, 2)
	assert.Equal(t, mine, other.text("home.yaml"))
	assert.Equal(t, "files/my desk/home.yaml", s.Jobs[0].Job)
	assert.True(t, s.Jobs[0].Ready)
	before := other.files()
	assert.Equal(t, s, other.look())
	assert.Equal(t, before, other.files())
	assert.Equal(t, fieldArea(t, want), fieldArea(t, other.assess("files/my desk/home.yaml")))
}

// A stick that somebody packed gives its logs; what else is on it is left.
func TestPackedStick(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range map[string][]byte{"stick/home.geojson": homeField(), "stick/logs/day1.csv": dayOne(), "stick/photo.jpg": []byte("\xff\xd8")} {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	v := visit(t)
	v.drop("stick.zip", b.Bytes())
	s := v.look()
	require.Len(t, s.Jobs, 1)
	assert.Equal(t, []string{"unpacked/stick/stick/logs/day1.csv"}, s.Jobs[0].Logs)
	assert.Equal(t, string(dayOne()), v.text("unpacked/stick/stick/logs/day1.csv"))
	before := v.files()
	assert.Equal(t, s, v.again().look())
	assert.Equal(t, before, v.files())
	assert.NotEmpty(t, v.assess(s.Jobs[0].Job).Verdict)
}
