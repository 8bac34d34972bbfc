package job

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// loadMany loads job.yaml, which may be about several fields.
func loadMany(t *testing.T, files map[string]string) (*Job, error) {
	t.Helper()
	return Load(disk(nil), filepath.Join(folder(t, files), "job.yaml"), Overrides{ManyFields: true})
}

// onTwoFields is a log with a fix on each of the fields of two().
const onTwoFields = `time,lat,lon
2026-03-02T09:00:00Z,54.002,10.002
2026-03-02T09:10:00Z,54.002,10.012
`

func names(j *Job) (out []string) {
	for _, f := range j.Fields {
		out = append(out, f.Name)
	}
	return out
}

func TestFieldsOfOneFile(t *testing.T) {
	unnamed := strings.Replace(plainJob, "field: Nine Elms\n", "", 1)
	require.NotEqual(t, plainJob, unnamed)
	files := map[string]string{"job.yaml": unnamed, "field.geojson": two("North", "South"), "day.csv": onTwoFields}
	j, err := loadMany(t, files)
	require.NoError(t, err)
	assert.Equal(t, []string{"North", "South"}, names(j))

	files["field.geojson"] = two("Nine Elms", "Nine Elms")
	j, err = loadMany(t, files)
	require.NoError(t, err)
	assert.Len(t, names(j), 1)
	assert.Len(t, j.Fields[0].Boundary, 2, "parts of one field")

	files["field.geojson"] = two("", "")
	j, err = loadMany(t, files)
	require.NoError(t, err)
	assert.Equal(t, []string{"field 1", "field 2"}, names(j))

	files["day.csv"] = "time,lat,lon\n2026-03-02T09:00:00Z,54.002,10.002\n"
	j, err = loadMany(t, files)
	require.NoError(t, err)
	assert.Equal(t, []string{"field 1"}, names(j))
	assert.Contains(t, warnings(j), "no fix lies on a field; it is left out")
}

func TestFieldsOfSeveralFiles(t *testing.T) {
	unnamed := strings.Replace(plainJob, "field: Nine Elms\n", "", 1)
	listed := strings.Replace(unnamed, "boundary: field.geojson", "boundary: [field.geojson, other.geojson]", 1)
	require.NotEqual(t, unnamed, listed)
	files := map[string]string{"job.yaml": listed, "field.geojson": two("North", "South"), "other.geojson": two("North", "East"), "day.csv": onTwoFields}
	j, err := loadMany(t, files)
	require.NoError(t, err)
	assert.Equal(t, []string{"North", "South"}, names(j))
	assert.Contains(t, warnings(j), `"East" is the same ground as "South"; it is done once, as that`)
	assert.Len(t, j.Fields[0].Boundary, 1, "the same part in each file")
	assert.Contains(t, warnings(j), "polygons of one boundary overlap; their ground counts once")

	files["job.yaml"] = strings.Replace(listed, "other.geojson", "worked", 1)
	_, err = loadMany(t, files)
	require.ErrorContains(t, err, `found "worked" in a list, want a boundary file`)
	files["job.yaml"] = strings.Replace(listed, "other.geojson", "none.geojson", 1)
	_, err = loadMany(t, files)
	require.ErrorContains(t, err, `boundary 2: found "none.geojson", no such file`)
}

// A job that names its field is about that one.
func TestFieldNamedAmongSeveral(t *testing.T) {
	j, err := loadMany(t, map[string]string{"field.geojson": two("South", "Nine Elms"), "day.csv": onTwoFields})
	require.NoError(t, err)
	assert.Equal(t, []string{"Nine Elms"}, names(j))
}
