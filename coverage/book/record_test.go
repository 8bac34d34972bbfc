package book_test

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/geo/source"
)

const written = `
field: Dunlin Corner
boundary: edge.geojson
machines:
  - name: drill
    implement: {width: 6 m}
    tracks: [day.csv]
`

// disk is a job with its files.
func disk() fstest.MapFS {
	at := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text), ModTime: at} }
	return fstest.MapFS{"job.yaml": file(written), "edge.geojson": file("{}"), "day.csv": file("time,lat,lon\n")}
}

func look(t *testing.T, files fstest.MapFS, program, flags string, before *book.Record) *book.Record {
	t.Helper()
	r, err := book.Look(job.Inputs{Files: source.Files{FS: files}}, "job.yaml", program, flags, before)
	require.NoError(t, err)
	return r
}

// What was kept is right as long as program, flags and the content of every file
// are the same, whatever their times.
func TestSame(t *testing.T) {
	kept := look(t, disk(), "a1", "us", nil)
	require.Len(t, kept.Inputs, 3)
	assert.True(t, kept.Same(look(t, disk(), "a1", "us", kept)))
	assert.False(t, kept.Same(look(t, disk(), "b2", "us", kept)), "another program")
	assert.False(t, kept.Same(look(t, disk(), "a1", "metric", kept)), "other flags")
	assert.False(t, (*book.Record)(nil).Same(kept), "none is kept")

	touched := disk()
	touched["day.csv"].ModTime = touched["day.csv"].ModTime.Add(time.Hour)
	assert.True(t, kept.Same(look(t, touched, "a1", "us", kept)), "only its time is another")
	touched["day.csv"].Data = []byte("time,lon,lat\n")
	assert.False(t, kept.Same(look(t, touched, "a1", "us", kept)), "another content of the same size")

	more := disk()
	more["night.csv"] = more["day.csv"]
	more["job.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(written, "day.csv", "day.csv, night.csv", 1))}
	assert.False(t, kept.Same(look(t, more, "a1", "us", kept)), "one file more")
}

// Two records that are the same say that they were made of the same, and others
// do not.
func TestWriteSource(t *testing.T) {
	of := func(r *book.Record) string {
		var b strings.Builder
		r.WriteSource(&b)
		return b.String()
	}
	kept := look(t, disk(), "a1", "us", nil)
	touched := disk()
	touched["day.csv"].ModTime = touched["day.csv"].ModTime.Add(time.Hour)
	assert.Equal(t, of(kept), of(look(t, touched, "a1", "us", kept)))
	changed := disk()
	changed["day.csv"].Data = []byte("time,lon,lat\n1")
	for _, other := range []*book.Record{look(t, disk(), "b2", "us", nil), look(t, disk(), "a1", "metric", nil), look(t, changed, "a1", "us", nil)} {
		assert.NotEqual(t, of(kept), of(other))
	}
}

// A file of the size and time that it had is not read again.
func TestLookTrustsSizeAndTime(t *testing.T) {
	kept := look(t, disk(), "a1", "us", nil)
	sly := disk()
	sly["day.csv"].Data = []byte("time,lon,lat\n")
	assert.True(t, kept.Same(look(t, sly, "a1", "us", kept)))
	assert.False(t, kept.Same(look(t, sly, "a1", "us", nil)))
}

func TestLookRefuses(t *testing.T) {
	_, err := book.Look(job.Inputs{Files: source.Files{FS: disk()}}, "none.yaml", "", "", nil)
	var input *job.InputError
	require.ErrorAs(t, err, &input)
	piped := disk()
	piped["job.yaml"].Data = []byte(strings.Replace(written, "day.csv", "'-'", 1))
	_, err = book.Look(job.Inputs{Files: source.Files{FS: piped}}, "job.yaml", "", "", nil)
	assert.ErrorContains(t, err, "standard input, want logs in files: a season reads them again")
	gone := disk()
	delete(gone, "day.csv")
	_, err = book.Look(job.Inputs{Files: source.Files{FS: gone}}, "job.yaml", "", "", nil)
	assert.Error(t, err)
}

// A record is read back only if all files beside it are of its run.
func TestRead(t *testing.T) {
	r := look(t, disk(), "a1", "us", nil)
	r.Entries = []book.Entry{{Run: "ddea92f1"}, {Dir: "2", Run: "77c0ffee"}}
	var b bytes.Buffer
	require.NoError(t, r.Write(&b))
	names := []string{"summary.json", "report.html"}
	page := func(run string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte(strings.Repeat("<p>ground</p>", 20_000) + run + strings.Repeat("// script\n", 3000))}
	}
	kept := func() fstest.MapFS {
		return fstest.MapFS{
			"record.json":  {Data: b.Bytes()},
			"summary.json": {Data: []byte(`{"run": "ddea92f1"}`)}, "report.html": page("ddea92f1"),
			"2/summary.json": {Data: []byte(`{"run": "77c0ffee"}`)}, "2/report.html": page("77c0ffee"),
		}
	}
	assert.Equal(t, r, book.Read(kept(), names))
	for name, change := range map[string]func(fstest.MapFS){
		"no record":          func(f fstest.MapFS) { delete(f, "record.json") },
		"a torn record":      func(f fstest.MapFS) { f["record.json"].Data = b.Bytes()[:b.Len()/2] },
		"no entries":         func(f fstest.MapFS) { f["record.json"].Data = []byte("{}") },
		"a file is gone":     func(f fstest.MapFS) { delete(f, "2/report.html") },
		"a page of another":  func(f fstest.MapFS) { f["report.html"] = page("77c0ffee") },
		"a sheet of another": func(f fstest.MapFS) { f["summary.json"].Data = []byte(`{"run": "0"}`) },
		"a way out": func(f fstest.MapFS) {
			f["record.json"].Data = bytes.Replace(b.Bytes(), []byte(`"dir": "2"`), []byte(`"dir": ".."`), 1)
		},
		"no run": func(f fstest.MapFS) { f["record.json"].Data = bytes.Replace(b.Bytes(), []byte("ddea92f1"), nil, 1) },
	} {
		files := kept()
		change(files)
		assert.Nil(t, book.Read(files, names), name)
	}
}
