package inspect

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/coverage/job"
	"lapwing/geo/plane"
)

func TestInspectSet(t *testing.T) {
	s := covertest.Small(0.02, 7)
	m := &s.Machines[0]
	m.Implement = covertest.Towed(6, 1.5, 4, 4)
	m.Implement.AntennaRight, m.Implement.Offset = plane.Metres(0.2), plane.Metres(-0.3)
	set := t.TempDir()
	require.NoError(t, covertest.WriteTaskSet(set, s.Field, s.Machines))
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	require.NoError(t, z.AddFS(os.DirFS(set)))
	require.NoError(t, z.Close())
	path := filepath.Join(t.TempDir(), "day.zip")
	require.NoError(t, os.WriteFile(path, packed.Bytes(), 0o644))
	in, err := File(disk(nil), path, nil)
	require.NoError(t, err)
	assert.Equal(t, "ISO 11783-10 version 4.3", in.Format)
	require.Len(t, in.Boundaries, 1)
	assert.Equal(t, "PFD1", in.Boundaries[0].ID)
	assert.Equal(t, 1, in.Boundaries[0].Holes)
	require.Len(t, in.Set.Devices, 1)
	require.Len(t, in.Set.Devices[0].Bars, 1)
	bar := in.Set.Devices[0].Bars[0]
	assert.InDelta(t, 6, bar.Width, 1e-9)
	assert.InDelta(t, 5.5, bar.Behind, 1e-9)
	assert.InDelta(t, -0.5, bar.Right, 1e-9)
	assert.Equal(t, 4, bar.Sections)
	assert.True(t, bar.Towed)
	require.Len(t, in.Set.Tasks, 1)
	log := in.Set.Tasks[0].Logs[0]
	assert.Equal(t, len(s.Machines[0].Tracks[0].Fixes), log.Fixes)
	assert.Equal(t, "drill", log.Device)
	working := 0
	for _, f := range s.Machines[0].Tracks[0].Fixes {
		if f.Working {
			working++
		}
	}
	assert.Equal(t, working, log.Working)
	assert.Empty(t, in.Warnings)
}

// Of a set with ids only what they name is told, and what belongs to that.
func TestInspectPartOfASet(t *testing.T) {
	set := t.TempDir()
	farm := covertest.Neighbours()
	farm.Machines = append(farm.Machines, farm.Machines[0])
	farm.Tasks[1].Machine = 1
	require.NoError(t, farm.Write(set))
	for ids, want := range map[string][3][]string{
		"":           {{"PFD1", "PFD2"}, {"DVC1", "DVC2"}, {"TSK1", "TSK2"}},
		"#TSK2":      {{"PFD2"}, {"DVC2"}, {"TSK2"}},
		"#TSK1,TSK2": {{"PFD1", "PFD2"}, {"DVC1", "DVC2"}, {"TSK1", "TSK2"}},
		"#PFD1":      {{"PFD1"}, {"DVC1"}, {"TSK1"}},
		"#DVC2":      {{"PFD2"}, {"DVC2"}, {"TSK2"}},
		"#TSK1,PFD2": {{"PFD2"}, nil, nil},
	} {
		in, err := File(disk(nil), set+ids, nil)
		require.NoError(t, err, ids)
		var got [3][]string
		for _, f := range in.Boundaries {
			got[0] = append(got[0], f.ID)
		}
		for _, d := range in.Set.Devices {
			got[1] = append(got[1], d.ID)
		}
		for _, task := range in.Set.Tasks {
			got[2] = append(got[2], task.ID)
		}
		assert.Equal(t, want, got, ids)
	}
	_, err := File(disk(nil), set+"#TSK9", nil)
	assert.ErrorContains(t, err, `no field, task or device "TSK9" in the set, want one of "PFD1", "PFD2", "TSK1", "TSK2", "DVC1" and "DVC2"`)
}

// Every set that others wrote can be looked at.
func TestInspectSetsOfOthers(t *testing.T) {
	for _, path := range []string{"isoxml-simulated-disc/TASKDATA.zip", "isoxml-forage-harvest-5-tasks", "isoxml-full-v4",
		"isoxml-conformance/generated-100", "isoxml-conformance/CodingData", "isoxml-conformance/js/task_full.zip", "isoxml-conformance/js/test1.zip",
		"isoxml-conformance/Grid/Type1_Invalid", "isoxml-conformance/IDList/WrongIds", "isoxml-conformance/ExternalFiles/MissingExternals",
		"isoxml-conformance/devices/Device_description.xml"} {
		in, err := File(disk(nil), outside(t, strings.Split(path, "/")...), nil)
		require.NoError(t, err, path)
		require.NotNil(t, in.Set, path)
		assert.NotZero(t, len(in.Boundaries)+len(in.Set.Devices)+len(in.Set.Tasks), path)
	}
}

// outside finds a data set of others beside the repository; the test is
// skipped where it is not there.
func outside(t *testing.T, parts ...string) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for range 8 {
		path := filepath.Join(append([]string{dir, "shared", "data"}, parts...)...)
		if _, err := os.Stat(path); err == nil {
			return path
		}
		dir = filepath.Dir(dir)
	}
	t.Skip("the collection of real sets is not beside the repository")
	return ""
}

// What the sets without passes are: nothing of theirs is assessed, but each is
// read or refused in a line.
func TestRealSetsWithoutPasses(t *testing.T) {
	for path, want := range map[string]string{
		"n-topdress-2016-middle-polygons/applied-polygons.zip": "", // ground, not a track
		"n-topdress-2016-middle-polygons/boundary.geojson":     "GeoJSON",
		"nmea-logs-a/rtk-and-3d.nmea":                          "NMEA 0183",
		"gpx-odd-a/hike.gpx":                                   "GPX 1.0",
	} {
		set, _, _ := strings.Cut(path, "/")
		in, err := File(disk(nil), filepath.Join(filepath.Dir(outside(t, set)), path), nil)
		if err != nil {
			var wrong *job.InputError
			assert.ErrorAs(t, err, &wrong, path)
			assert.NotContains(t, err.Error(), "\n")
			continue
		}
		assert.Contains(t, in.Format, want, path)
	}
}
