package taskdata

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func zipOf(t testing.TB, files map[string][]byte) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, data := range files {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return out.Bytes()
}

// readRefused reads what must be refused, in one line and soon: in less than a
// second on an idle machine, with room for a busy one.
func readRefused(t *testing.T, path string) *SyntaxError {
	t.Helper()
	start := time.Now()
	_, err := readAt(path)
	var wrong *SyntaxError
	require.ErrorAs(t, err, &wrong)
	assert.NotContains(t, wrong.Error(), "\n")
	assert.Less(t, len(wrong.Error()), 600)
	assert.Less(t, time.Since(start), time.Minute)
	return wrong
}

func TestWrongXML(t *testing.T) {
	for _, test := range []struct{ name, text, want string }{
		{"empty", "", ": an empty file, want XML"},
		{"not XML", "field;area\n1;2\n", `:1: text outside of an element: "field;area\n1;2", want XML of a task set`},
		{"other XML", "<gpx/>", ":1: <gpx>, want <ISO11783_TaskData>"},
		{"ends early", setText(barleyField)[:200], ":4: XML that cannot be read (unexpected EOF), want well-formed XML"},
		{"ends between", "<ISO11783_TaskData>\n<PFD A=\"PFD1\">\n", ":3: the text ends within <PFD>, want </PFD>"},
		{"crossed tags", "<ISO11783_TaskData>\n<PFD>\n<PLN>\n</PFD>", ":4: </PFD>, want </PLN>"},
		{"two roots", "<ISO11783_TaskData/>\n<ISO11783_TaskData/>", ":2: a second <ISO11783_TaskData>, want one root element"},
		{"entity", "<ISO11783_TaskData>\n<PFD A=\"&lol;\"/></ISO11783_TaskData>", ":2: XML that cannot be read (invalid character entity &lol;), want well-formed XML"},
		{"charset", `<?xml version="1.0" encoding="KOI8-R"?><ISO11783_TaskData/>`, `:1: text encoded as "KOI8-R", want UTF-8`},
		{"UTF-16", "\xff\xfe<\x00", ": UTF-16 text, want UTF-8"},
		{"long tag", "<ISO11783_TaskData>\n<PFD A=\"" + strings.Repeat("x", maxTag) + "\"/></ISO11783_TaskData>", ":2: an XML tag longer than 1 MiB"},
		{"three million open tags", strings.Repeat("<ISO11783_TaskData>", 3_000_000), ":1: elements nested more than 64 deep, want a task set"},
		{"log outside", setText(`<TSK A="TSK1"><TLG A="../../secret" C="1"/></TSK>`), `:3: TLG: file name "../../secret", want the name of a file beside TASKDATA.XML`},
		{"external outside", setText(`<XFR A="C:\x" B="1"/>`), `:3: XFR: file name "C:\\x", want the name of a file beside TASKDATA.XML`},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := newSheaf(t).file("TASKDATA.XML", []byte(test.text))
			assert.Equal(t, filepath.Join(s.dir, "TASKDATA.XML")+test.want, readRefused(t, s.dir).Error())
		})
	}
}

func TestWrongPlaces(t *testing.T) {
	s := newSheaf(t)
	assert.Equal(t, s.dir+": no TASKDATA.XML in it, want "+wantSet, readRefused(t, s.dir).Error())
	assert.Contains(t, readRefused(t, filepath.Join(s.dir, "no")).Error(), "no such file")
	s.file("a/taskdata.xml", []byte(setText())).file("b/TaskData.Xml", []byte(setText()))
	assert.Contains(t, readRefused(t, s.dir).Error(), "several task sets: a and b, want one")

	s = newSheaf(t).file("x.zip", zipOf(t, map[string][]byte{"../TASKDATA.XML": []byte(setText())}))
	assert.Contains(t, readRefused(t, filepath.Join(s.dir, "x.zip")).Error(), "a path in the archive that leaves it: ../TASKDATA.XML")
	s.file("y.zip", []byte("PK\x03\x04 and no more"))
	assert.Contains(t, readRefused(t, filepath.Join(s.dir, "y.zip")).Error(), "a damaged zip archive")
}

// A link in the folder may not lead to files elsewhere.
func TestLinkOutside(t *testing.T) {
	elsewhere := newSheaf(t).log("TLG00001", headerText(), rows(nil))
	s := newSheaf(t).set(oneTask)
	for _, name := range []string{"TLG00001.XML", "TLG00001.BIN"} {
		if err := os.Symlink(filepath.Join(elsewhere.dir, name), filepath.Join(s.dir, name)); err != nil {
			t.Skip("this system makes no links")
		}
	}
	set := s.read()
	assert.Empty(t, set.Tasks[0].Logs)
	assert.Contains(t, noteTexts(set)[0], "a file that cannot be opened")
}

// Names are found in any case, one folder down or in an archive.
func TestPlaces(t *testing.T) {
	files := map[string][]byte{"sub/TaskData.xml": []byte(setText(oneTask)), "sub/tlg00001.Xml": []byte(headerText()), "sub/tlg00001.biN": rows(nil, nil)}
	s := newSheaf(t)
	for name, data := range files {
		s.file(name, data)
	}
	s.file("set.zip", zipOf(t, files))
	for _, path := range []string{s.dir, filepath.Join(s.dir, "sub"), filepath.Join(s.dir, "sub", "TaskData.xml"), filepath.Join(s.dir, "set.zip")} {
		set, err := readAt(path)
		require.NoError(t, err)
		require.Len(t, set.Tasks[0].Logs, 1, path)
		assert.Len(t, set.Tasks[0].Logs[0].Fixes, 2)
	}
}

// A set lies as deep as people put it: in folders, in folders of an archive, in an
// archive of an archive.
func TestDeepPlaces(t *testing.T) {
	files := map[string][]byte{"TASKDATA.XML": []byte(setText(oneTask)), "TLG00001.XML": []byte(headerText()), "TLG00001.BIN": rows(nil, nil)}
	const deep = "farm/2026/May/drill/TASKDATA/"
	s, packed := newSheaf(t), map[string][]byte{}
	for name, data := range files {
		s.file(deep+name, data)
		packed[deep+name] = data
	}
	z := newSheaf(t)
	z.file("deep.zip", zipOf(t, packed)).file("inner.zip", zipOf(t, map[string][]byte{"a/b/c.zip": zipOf(t, map[string][]byte{"d.zip": zipOf(t, packed)})}))
	for _, path := range []string{s.dir, filepath.Join(z.dir, "deep.zip"), filepath.Join(z.dir, "inner.zip")} {
		require.True(t, Holds(os.DirFS(filepath.Dir(path)), filepath.Base(path)), path)
		set, err := readAt(path)
		require.NoError(t, err)
		require.Len(t, set.Tasks[0].Logs, 1, path)
		assert.Len(t, set.Tasks[0].Logs[0].Fixes, 2)
	}
	z.file("two.zip", zipOf(t, map[string][]byte{"a.zip": zipOf(t, packed), "b.zip": zipOf(t, packed)}))
	assert.Contains(t, readRefused(t, filepath.Join(z.dir, "two.zip")).Error(), "no TASKDATA.XML in it")
	z.file("bomb.zip", zipOf(t, map[string][]byte{"a.zip": make([]byte, 200<<20)}))
	assert.Contains(t, readRefused(t, filepath.Join(z.dir, "bomb.zip")).Error(), "an archive that is too large, unpacked")
}

// A small archive that unpacks to a gigabyte: its log is left out.
func TestZipBomb(t *testing.T) {
	s := newSheaf(t).file("bomb.zip", zipOf(t, map[string][]byte{"TASKDATA.XML": []byte(setText(oneTask)),
		"TLG00001.XML": []byte(headerText()), "TLG00001.BIN": make([]byte, 100<<20)}))
	set, err := readAt(filepath.Join(s.dir, "bomb.zip"))
	require.NoError(t, err)
	assert.Empty(t, set.Tasks[0].Logs)
	assert.Contains(t, strings.Join(noteTexts(set), "\n"), "a set that is too large, unpacked")
}

// What is wrong with one log leaves the rest of the set.
func TestWrongLogs(t *testing.T) {
	good := rows(nil, nil, nil)
	for _, test := range []struct {
		name, header string
		records      []byte
		fixes        int // 0: left out
		note         string
	}{
		{"no position", `<TIM A="" D="4"><DLV A="008D" B="" C="DET1"/></TIM>`, good, 0, "no position (PTN), want positions"},
		{"no east", `<TIM A="" D="4"><PTN A=""/></TIM>`, good, 0, "no B in the records"},
		{"a second time", `<TIM A="" B="" D="4"><PTN A="" B=""/></TIM>`, good, 0, `B="", want records with a time (A) and no more`},
		{"no dictionary entry", headerText("zz DET1"), good, 0, `DLV: A="zz", want four hexadecimal digits`},
		{"broken header", `<TIM A="" D="4">`, good, 0, "the text ends within <TIM>"},
		{"empty", headerText(), nil, 0, "0 bytes, not one whole record"},
		{"a count that lies", headerText(), append(rows(nil)[:14:14], 255, 0, 0), 0, "17 bytes, not one whole record"},
		{"cut short", headerText(), good[:len(good)-3], 2, "the file ends within record 3; its last 12 bytes are left out"},
		{"no number of values", headerText(), good[:14], 0, "14 bytes, not one whole record"},
		{"cut before a number of values", headerText(), good[:29], 1, "the file ends within record 2; its last 14 bytes are left out"},
		{"unknown value", headerText("008D DET1"), rows([]value{{7, 1}}, nil), 2, "value 7, which the header does not have; left out"},
		{"not on the Earth", headerText(), record{north: 2147483647, east: 2147483647}.append(rows(nil)), 2, "record whose position is not on the Earth; kept as having no fix"},
		{"nowhere at all", headerText(), record{north: 2147483647, east: 2147483647}.append(nil), 0, "no record with a position on the Earth"},
		{"no time of day", headerText(), record{ms: 4294967295, days: 65535, north: 517000000}.append(rows(nil)), 2, "record whose time is not one; taken to be at the time before"},
		{"another kind of time", `<TIM A="" D="1"><PTN A="" B=""/></TIM>`, good, 3, `time of type "1", want 4 (effective); taken as that`},
		{"no clock", `<TIM D="4"><PTN A="" B=""/></TIM>`, bytes.Join([][]byte{good[6:15], good[21:30]}, nil), 2, "records without a time by the log's clock (TIM A)"},
	} {
		t.Run(test.name, func(t *testing.T) {
			set := newSheaf(t).set(barleyField, oneTask).log("TLG00001", test.header, test.records).read()
			require.NotEmpty(t, set.Notes)
			assert.Contains(t, strings.Join(noteTexts(set), "\n"), test.note)
			assert.NotContains(t, strings.Join(noteTexts(set), ""), "\n")
			fixes := 0
			if logs := set.Tasks[0].Logs; len(logs) > 0 {
				fixes = len(logs[0].Fixes)
			}
			assert.Equal(t, test.fixes, fixes)
			assert.Len(t, set.Partfields[0].Boundary, 1)
		})
	}
}

func TestNotes(t *testing.T) {
	ring := func(kind int, points ...string) string {
		s := fmt.Sprintf(`<LSG A="%d">`, kind)
		for _, p := range points {
			c, d, _ := strings.Cut(p, " ")
			s += fmt.Sprintf(`<PNT A="2" C="%s" D="%s"/>`, c, d)
		}
		return s + "</LSG>"
	}
	square := ring(1, "51.7 -2.4", "51.7 -2.39", "51.71 -2.39", "51.71 -2.4")
	set := newSheaf(t).set(
		`<PFD A="PFD1"><PLN A="1">`+square+ring(2, "51.702 -2.398", "51.702 -2.396", "51.704 -2.396")+`</PLN><PLN A="1">`+
			ring(1, "51.72 -2.4", "51.72 -2.39", "51.73 -2.39", "51.72 -2.4")+`</PLN><PLN A="10">`+square+`</PLN></PFD>`,
		`<PFD A="PFD1"/>`,
		`<PFD A="PFD2"><PLN A="1">`+ring(1, "51.7 -2.4", "51.71 -2.39", "51.7 -2.39", "51.71 -2.4")+`</PLN></PFD>`,
		`<PFD A="PFD3"><PLN A="1">`+ring(1, "51.7 -2.4", "51.71 x", "51.7 -2.39")+`</PLN></PFD>`,
		`<PFD A="PFD4"><PLN A="1">`+square+ring(1, "51.72 -2.4", "51.72 -2.39", "51.73 -2.39")+ring(2, "51.722 -2.392", "51.722 -2.391", "51.723 -2.391")+`</PLN></PFD>`,
		`<DVC A="DVC1"><DET A="DET1" B="1" C="1" F="2"/><DET A="DET2" B="2" C="2" F="1"/></DVC>`,
		`<TSK A="TSK1"><TLG A="TLG00009" C="1"/><TLG A="TLG00009" C="1"/></TSK>`,
	).read()
	texts := strings.Join(noteTexts(set), "\n")
	for _, want := range []string{
		"polygon left out: headland, not a field boundary (type 1)",
		"id PFD1 occurs twice; references mean the first",
		"PFD2: boundary left out: a ring that crosses itself at -2.395000, 51.705000 (lon, lat)",
		`PFD3: boundary left out: C="51.71" D="x"`,
		"elements of device DVC1 belong to each other in a ring; cut",
		"log TLG00009 of task TSK1 left out: ",
		"it is named before",
	} {
		assert.Contains(t, texts, want)
	}
	first := set.Partfield("PFD1")
	require.Len(t, first.Boundary, 2, "several polygons are one field")
	assert.Len(t, first.Boundary[0].Holes, 1)
	for _, n := range set.Notes {
		assert.NotContains(t, n.Text, "not closed", "rings of sets close by themselves")
	}
	fault := set.Partfield("PFD2").Fault
	require.NotNil(t, fault)
	assert.Equal(t, "PFD2: PLN 1, LSG 1", fault.Where)
	assert.Equal(t, 5, fault.Line)
	assert.Len(t, set.Partfield("PFD4").Boundary, 2, "two exterior lines in one polygon")
	assert.Len(t, set.Partfield("PFD4").Boundary[1].Holes, 1, "each hole belongs to the line around it")
}

// Names in Latin-1, as older writers have them.
func TestLatin1(t *testing.T) {
	text := "<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>\n<ISO11783_TaskData VersionMajor=\"3\">\n<PFD A=\"PFD1\" C=\"M\xfchlenfeld\"/></ISO11783_TaskData>"
	set := newSheaf(t).file("TASKDATA.XML", []byte(text)).read()
	assert.Equal(t, "Mühlenfeld", set.Partfields[0].Name)
	assert.Equal(t, "3", set.Version)
}
