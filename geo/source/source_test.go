package source_test

import (
	"io"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/source"
)

// A locked file is there, and may not be read.
type locked struct{ fs.FS }

func (l locked) Open(name string) (fs.File, error) {
	if strings.HasPrefix(name, "locked") {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
	}
	return l.FS.Open(name)
}

func files() source.Files {
	return source.Files{Stdin: strings.NewReader("from a pipe"), FS: locked{fstest.MapFS{
		"farm/job.yaml":  {Data: []byte("field: a")},
		"farm/field.shp": {Data: []byte("shapes")},
		"farm/field.DBF": {Data: []byte("table")},
		"farm/field.prj": {Data: make([]byte, 3<<20)},
		"locked.csv":     {},
	}}}
}

func TestOpen(t *testing.T) {
	for path, want := range map[string]string{
		"farm/job.yaml":             "field: a",
		"./farm/../farm//field.DBF": "table",
		source.Standard:             "from a pipe",
	} {
		f, err := files().Open(path)
		require.NoError(t, err, path)
		got, err := io.ReadAll(f)
		require.NoError(t, err)
		assert.Equal(t, want, string(got))
		assert.NoError(t, f.Close())
	}
	for path, want := range map[string]error{
		"farm/none.yaml":    source.ErrMissing,
		"../farm/job.yaml":  source.ErrMissing, // nothing outside is in the file system
		"/farm/job.yaml":    source.ErrMissing,
		"":                  source.ErrDirectory, // the folder itself
		"farm":              source.ErrDirectory,
		"locked.csv":        source.ErrForbidden,
		"farm/job.yaml/job": source.ErrMissing,
	} {
		_, err := files().Open(path)
		assert.ErrorIs(t, err, want, path)
	}
	_, err := source.Files{}.Open("a")
	assert.ErrorIs(t, err, source.ErrMissing)
	f, err := source.Files{}.Open(source.Standard)
	require.NoError(t, err)
	data, err := io.ReadAll(f)
	require.NoError(t, err)
	assert.Empty(t, data)
}

// Whoever makes the files says what a path means.
func TestName(t *testing.T) {
	f := files()
	f.Name = func(path string) (string, error) { return "farm/" + strings.TrimPrefix(path, `C:\`), nil }
	opened, err := f.Open(`C:\job.yaml`)
	require.NoError(t, err)
	opened.Close()
	assert.Equal(t, "farm/job.yaml", f.Abs(`C:\job.yaml`))
	_, name, err := f.In(`C:\job.yaml`)
	require.NoError(t, err)
	assert.Equal(t, "farm/job.yaml", name)
}

func TestBeside(t *testing.T) {
	const most = 1 << 20
	beside := files().Beside("farm/field.shp", most)
	dbf, err := beside(".dbf")
	require.NoError(t, err)
	assert.Equal(t, "table", string(dbf), "in capitals")
	none, err := beside(".cpg")
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = beside(".prj")
	var fault *geo.Fault
	require.ErrorAs(t, err, &fault)
	assert.EqualError(t, err, ".prj: more than 1 MiB, want a smaller file")
	_, err = files().Beside("locked.shp", most)(".dbf")
	assert.ErrorIs(t, err, source.ErrForbidden)
	assert.Nil(t, files().Beside(source.Standard, most))
}

func TestStem(t *testing.T) {
	for path, want := range map[string]string{"a/day.csv": "day", "day.csv.gz": "day", ".gz": ".gz", "day": "day", "-": "standard input", "a/.csv": ".csv"} {
		assert.Equal(t, want, source.Stem(path), path)
	}
	assert.Equal(t, "a/day.csv", source.Shown("a/day.csv"))
	assert.Equal(t, "standard input", source.Shown("-"))
}
