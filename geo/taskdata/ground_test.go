package taskdata

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/boundary"
)

// pln is a polygon of a type around line strings, lsg one of a type through points
// given as "north east".
func pln(kind string, lines ...string) string {
	return `<PLN A="` + kind + `">` + strings.Join(lines, "") + `</PLN>`
}

func lsg(kind string, points ...string) string {
	var b strings.Builder
	for _, p := range points {
		north, east, _ := strings.Cut(p, " ")
		fmt.Fprintf(&b, `<PNT A="2" C="%s" D="%s"/>`, north, east)
	}
	return `<LSG A="` + kind + `">` + b.String() + `</LSG>`
}

var (
	square  = lsg("1", "51.70 -2.40", "51.70 -2.39", "51.71 -2.39", "51.71 -2.40")
	pond    = lsg("2", "51.702 -2.398", "51.702 -2.396", "51.704 -2.396")
	nowhere = lsg("1", "51.70 -2.40", "51.70 west", "51.71 -2.39")
)

// What of a field's polygons is its ground, and what is said of the rest.
func TestGroundOfAField(t *testing.T) {
	for name, test := range map[string]struct {
		within string
		parts  int
		holes  int
		notes  []string
	}{
		"a boundary":             {pln("1", square), 1, 0, nil},
		"a boundary with a hole": {pln("1", square, pond), 1, 1, nil},
		"a hole alone":           {pln("1", pond), 0, 0, []string{"field boundary without an exterior line left out"}},
		"an empty polygon":       {pln("1"), 0, 0, nil},
		"an empty line":          {pln("1", square, lsg("2")), 1, 0, []string{"line string without points left out"}},
		"a line of another type": {pln("1", square, lsg("5", "51.70 -2.40", "51.71 -2.39")), 1, 0,
			[]string{`line string of type "5" in a field boundary left out: want 1 (exterior) or 2 (interior)`}},
		"a pond":                {pln("1", square) + pln("3", square), 1, 0, []string{"polygon left out: water, not a field boundary (type 1)"}},
		"a polygon of no type":  {pln("1", square) + `<PLN>` + square + `</PLN>`, 1, 0, []string{`polygon left out: type "", not a field boundary (type 1)`}},
		"one of an unknown one": {pln("13", square), 0, 0, []string{`polygon left out: type "13", not a field boundary (type 1)`}},
		"a bare line":           {pln("1", square) + pond, 1, 0, []string{"line string of a field left out: only polygons bound a field"}},
		"no polygon":            {"", 0, 0, nil},
	} {
		t.Run(name, func(t *testing.T) {
			set := newSheaf(t).set(`<PFD A="PFD1">` + test.within + `</PFD>`).read()
			f := set.Partfield("PFD1")
			assert.Nil(t, f.Fault)
			assert.Equal(t, test.notes, noteTexts(set))
			require.Len(t, f.Boundary, test.parts)
			if test.parts > 0 {
				assert.Len(t, f.Boundary[0].Holes, test.holes)
			}
		})
	}
}

// A ring that repeats its first point and one that does not are the same ground: its
// area is that of GeographicLib 2.1.2, its edges straight in longitude and latitude.
func TestRingsThatClose(t *testing.T) {
	outer, hole := []string{"46.70 -117.20", "46.70 -117.19", "46.71 -117.19", "46.71 -117.20"}, []string{"46.702 -117.198", "46.702 -117.196", "46.704 -117.196", "46.704 -117.198"}
	for _, close := range []int{0, 1} {
		set := newSheaf(t).set(`<PFD A="PFD1">` + pln("1", lsg("1", append(outer, outer[:close]...)...), lsg("2", append(hole, hole[:close]...)...)) + `</PFD>`).read()
		assert.Empty(t, set.Notes)
		assert.InDelta(t, 816_113.391, area(set.Partfields[0].Boundary), 0.01)
	}
}

// Where the first fault of a boundary is: its polygon, its line string and the line of
// the file, counted from one. The other rings make no ground without it.
func TestWhereAFaultIs(t *testing.T) {
	set := newSheaf(t).set(`<PFD A="PFD1">`, pln("3", nowhere), pln("1", square), pln("1", square, "\n", nowhere, "\n", nowhere), pln("1", nowhere), `</PFD>`).read()
	f := set.Partfields[0]
	require.NotNil(t, f.Fault)
	assert.Equal(t, "PFD1: PLN 3, LSG 2, PNT", f.Fault.Where)
	assert.Equal(t, 7, f.Fault.Line)
	assert.Equal(t, `C="51.70" D="west"`, f.Fault.Found)
	assert.Empty(t, f.Boundary)
	assert.Equal(t, []string{"polygon left out: water, not a field boundary (type 1)", `PFD1: boundary left out: C="51.70" D="west"`}, noteTexts(set))
}

// Areas that fields can have.
func TestAreaOfAField(t *testing.T) {
	for area, want := range map[string]float64{"": 0, "0": 0, "1": 1, "40468.5": 40468.5, "999999999999": 999999999999} {
		set := newSheaf(t).set(`<PFD A="PFD1" D="` + area + `"/>`).read()
		assert.Equal(t, want, set.Partfields[0].Area)
		assert.Empty(t, set.Notes, area)
	}
	for _, area := range []string{"-1", "1e12", "NaN", "+Inf"} {
		set := newSheaf(t).set(`<PFD A="PFD1" D="` + area + `"/>`).read()
		assert.Zero(t, set.Partfields[0].Area)
		assert.Len(t, set.Notes, 1, area)
	}
}

// Elements that external files hold count as those of the main file, and come before
// them; a file named twice is read once.
func TestExternalFiles(t *testing.T) {
	s := newSheaf(t).set(`<XFR A="PFD00001" B="1"/><XFR A="pfd00001" B="1"/><XFR A="TSK00001.xml" B="1"/><XFR A="DVC00001" B="1"/>`, `<PFD A="PFD9"/>`).
		file("pfd00001.xml", []byte(`<XFC><PFD A="PFD1" C="Curlew Leys"/><TSK A="TSK0"/></XFC>`)).
		file("TSK00001.XML", []byte(`<XFC><TSK A="TSK1" E="PFD9"><DAN C="DVC1"/></TSK><TSK A="TSK2" E="PFD8"/></XFC>`))
	set := s.read()
	var fields, tasks []string
	for _, f := range set.Partfields {
		fields = append(fields, f.ID)
	}
	for _, task := range set.Tasks {
		tasks = append(tasks, task.ID)
	}
	assert.Equal(t, []string{"PFD1", "PFD9"}, fields)
	assert.Equal(t, []string{"TSK0", "TSK1", "TSK2"}, tasks)
	assert.Equal(t, []string{"external file named twice; read once", "external file DVC00001.xml is missing; what it holds is left out",
		"task TSK1 uses device DVC1, which the set does not hold", "task TSK2 is on field PFD8, which the set does not hold"}, noteTexts(set))

	s.set(`<XFR A="../a" B="1"/><XFR A="b/c" B="1"/>`)
	assert.ErrorContains(t, readRefused(t, s.dir), `:3: XFR: file name "../a"`, "the first that is wrong")
	s.set(`<XFR B="1"/>`)
	assert.ErrorContains(t, readRefused(t, s.dir), `XFR: file name ""`)
	s.set(`<XFR A="PFD00001" B="1"/>`).file("pfd00001.xml", []byte(`<ISO11783_TaskData/>`))
	assert.ErrorContains(t, readRefused(t, s.dir), `pfd00001.xml:1: <ISO11783_TaskData>, want <XFC>`)
}

// Like notes are one with a count, at the first of their lines.
func TestNotesAreCounted(t *testing.T) {
	set := newSheaf(t).set(`<PFD A="PFD1"/>`, `<PFD/>`, `<TSK A="TSK1"><GRD G="GRD00001"/><GRD G="grd00002.bin"/></TSK>`, `<PFD/>`, `<PFD/>`, `<PFD A="PFD1"/>`).file("GRD00002.BIN", nil).read()
	file := set.File
	assert.Equal(t, []geo.Note{
		{File: file, Line: 4, Count: 3, Text: "<PFD> without an id"},
		{File: file, Line: 8, Count: 1, Text: "id PFD1 occurs twice; references mean the first"},
		{File: file, Line: 5, Count: 1, Text: "prescription grid left out; its file GRD00001.bin is missing"},
		{File: file, Line: 5, Count: 1, Text: "prescription grid left out"},
	}, set.Notes)
}

// Of sets that lie below each other the one nearest to the top is read, and the others
// are noted.
func TestSetsFartherDown(t *testing.T) {
	files := map[string][]byte{"a/TASKDATA.XML": []byte(setText(`<TSK A="TSK1"/>`)), "a/Archive/TASKDATA.XML": []byte(setText(`<TSK A="TSK2"/>`)), "a/b/c/TASKDATA.XML": []byte(setText(`<TSK A="TSK3"/>`))}
	s := newSheaf(t)
	for name, data := range files {
		s.file(name, data)
	}
	z := newSheaf(t).file("set.zip", zipOf(t, files))
	for _, path := range []string{s.dir, filepath.Join(s.dir, "a"), filepath.Join(z.dir, "set.zip")} {
		set, err := readAt(path)
		require.NoError(t, err)
		assert.Equal(t, "TSK1", set.Tasks[0].ID)
		require.Len(t, set.Notes, 1)
		assert.Equal(t, "task set farther down than this one left out", set.Notes[0].Text)
		assert.Equal(t, 2, set.Notes[0].Count)
	}
	set, err := readAt(filepath.Join(s.dir, "a", "b"))
	require.NoError(t, err)
	assert.Equal(t, "TSK3", set.Tasks[0].ID)
	assert.Empty(t, set.Notes)
}

// Sets lie at most sixteen folders down, in a folder as in an archive.
func TestFoldersDown(t *testing.T) {
	for down, want := range map[int]bool{16: true, 17: false} {
		name := strings.Repeat("d/", down) + "TASKDATA.XML"
		assert.Equal(t, want, Holds(os.DirFS(newSheaf(t).file(name, []byte(setText())).dir), "."), "%d folders down", down)
		z := newSheaf(t).file("set.zip", zipOf(t, map[string][]byte{name: []byte(setText())}))
		assert.Equal(t, want, Holds(os.DirFS(z.dir), "set.zip"), "%d folders down in an archive", down)
	}
}

// Four archives may lie in each other.
func TestArchivesInArchives(t *testing.T) {
	packed := zipOf(t, map[string][]byte{"TASKDATA.XML": []byte(setText())})
	for deep := 1; deep <= 5; deep++ {
		z := newSheaf(t).file("set.zip", packed)
		assert.Equal(t, deep <= 4, Holds(os.DirFS(z.dir), "set.zip"), "%d archives", deep)
		packed = zipOf(t, map[string][]byte{"set.zip": packed})
	}
}

// once is a file system whose files can only be read from front to back.
type once struct{ fs.FS }

func (o once) Open(name string) (fs.File, error) {
	f, err := o.FS.Open(name)
	return struct{ fs.File }{f}, err
}

func TestArchiveReadFromFrontToBack(t *testing.T) {
	z := newSheaf(t).file("set.zip", zipOf(t, map[string][]byte{"TASKDATA.XML": []byte(setText(`<PFD A="PFD1"/>`))}))
	set, err := Read(once{os.DirFS(z.dir)}, "set.zip", "set.zip", func(file string) Repairer { return boundary.NewRepairer(file) })
	require.NoError(t, err)
	assert.Equal(t, "PFD1", set.Partfields[0].ID)
}

// A folder of very many files is a disk, in which no set is looked for; one that holds a
// set is refused.
func TestManyFiles(t *testing.T) {
	disk := fstest.MapFS{}
	for i := range maxFiles + 10 {
		disk[fmt.Sprintf("f%06d", i)] = &fstest.MapFile{}
	}
	read := func() error {
		_, err := Read(disk, ".", "disk", nil)
		return err
	}
	assert.EqualError(t, read(), "disk: no TASKDATA.XML in it, want "+wantSet)
	disk["TASKDATA.XML"] = &fstest.MapFile{Data: []byte(setText())}
	assert.EqualError(t, read(), "disk: more than 100000 files, want the folder of a task set")
}

// A file may be as long as its limit, and the files of a set together as long as that of
// the set.
func TestLimits(t *testing.T) {
	const ten = "0123456789"
	files := func(left int64) *folder {
		f := newFolder("set", left)
		for _, name := range []string{"A.XML", "b.xml"} {
			f.add(name, func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(ten)), nil })
		}
		return f
	}
	for _, test := range []struct {
		left, limit int64
		a, b        string // what is wrong with each
	}{
		{20, 10, "", ""},
		{20, 11, "", ""},
		{100, 9, "more than 0 MiB", "more than 0 MiB"},
		{19, 10, "", "a set that is too large, unpacked"},
		{19, 100, "", "a set that is too large, unpacked"},
		{9, 10, "a set that is too large, unpacked", "a set that is too large, unpacked"},
		{9, 9, "more than 0 MiB", "a set that is too large, unpacked"},
	} {
		f := files(test.left)
		for i, want := range []string{test.a, test.b} {
			data, err := f.read([]string{"a.xml", "B.xml"}[i], test.limit)
			if want == "" {
				require.NoError(t, err, test)
				assert.Equal(t, ten, string(data))
			} else {
				assert.ErrorContains(t, err, want, test)
			}
		}
	}
}

// What of a file is a set, by its first bytes.
func TestHolds(t *testing.T) {
	s := newSheaf(t).set().file("a.xml", []byte(`<?xml version="1.0"?><!-- of the drill --><ISO11783_TaskData/>`)).file("b.xml", []byte("<gpx/>")).file("c.zip", []byte("PK\x05\x06 cut")).
		file("d.zip", zipOf(t, map[string][]byte{"track.gpx": nil})).file("e/track.gpx", nil).file("empty.xml", nil).
		file("f.zip", zipOf(t, map[string][]byte{"a/TASKDATA.XML": nil, "b/TASKDATA.XML": nil}))
	for name, want := range map[string]bool{".": true, "TASKDATA.XML": true, "a.xml": true, "b.xml": false, "c.zip": false, "d.zip": false, "e": false, "empty.xml": false, "none": false,
		"f.zip": true} {
		assert.Equal(t, want, Holds(os.DirFS(s.dir), name), name)
	}
}

// Elements nest up to 64 deep; a close tag closes what is open, and nothing else.
func TestNesting(t *testing.T) {
	nested := func(depth int) string {
		return "<ISO11783_TaskData>" + strings.Repeat("<x>", depth-1) + strings.Repeat("</x>", depth-1) + "</ISO11783_TaskData>"
	}
	newSheaf(t).file("TASKDATA.XML", []byte(nested(64))).read()
	longest := `<PFD A="` + strings.Repeat("x", maxTag-len(`<PFD A=""/`)) + `"/>`
	assert.Len(t, newSheaf(t).set(longest).read().Partfields, 1, "a tag as long as may be")
	for text, want := range map[string]string{
		nested(65):                   "elements nested more than 64 deep",
		"<ISO11783_TaskData/></PFD>": "</PFD>, want no open element",
		"<ISO11783_TaskData></ISO11783_TaskData>x": `text outside of an element: "x"`,
	} {
		s := newSheaf(t).file("TASKDATA.XML", []byte(text))
		assert.ErrorContains(t, readRefused(t, s.dir), want)
	}

	// What stands where it means nothing is passed over, with all in it.
	set := newSheaf(t).set(`<CTR A="CTR1"><PFD A="PFD1"/></CTR>`, `<PFD A="PFD2"><GGP A="GGP1"><GPN A="GPN1">`+square+`</GPN></GGP><TSK A="TSK1"/></PFD>`).read()
	require.Len(t, set.Partfields, 1)
	assert.Equal(t, "PFD2", set.Partfields[0].ID)
	assert.Empty(t, set.Tasks)
	assert.Empty(t, set.Notes)
}
