package taskdata

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tidwall/geodesic"

	"lapwing/geo"
)

// outside finds the collection of task sets beside the repository; the test
// is skipped where it is not there.
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
	t.Skip("the collection of real task sets is not beside the repository")
	return ""
}

func readSet(t *testing.T, parts ...string) *Set {
	t.Helper()
	set, err := readAt(outside(t, parts...))
	require.NoError(t, err)
	return set
}

func noteTexts(set *Set) (out []string) {
	for _, n := range set.Notes {
		out = append(out, n.Text)
	}
	return out
}

// area is the ellipsoidal area of a boundary in m², by an independent
// library.
func area(parts []geo.Polygon) float64 {
	of := func(ring []geo.LonLat) float64 {
		p := geodesic.WGS84.PolygonInit(false)
		for _, at := range ring {
			p.AddPoint(at.Lat, at.Lon)
		}
		var area float64
		p.Compute(false, true, &area, nil)
		return math.Abs(area)
	}
	sum := 0.0
	for _, p := range parts {
		sum += of(p.Shell)
		for _, h := range p.Holes {
			sum -= of(h)
		}
	}
	return sum
}

// A real set of a forage harvester (isoxml-dotnet test data, Apache-2.0): its
// description counts 14,731 records in five logs and 21 boundaries; the
// harvester is 9.0 m wide. Field areas are those of the set itself.
func TestForageHarvest(t *testing.T) {
	set := readSet(t, "isoxml-forage-harvest-5-tasks")
	assert.Equal(t, "4.1", set.Version)
	assert.Empty(t, set.Notes)
	require.Len(t, set.Partfields, 21)
	for _, f := range set.Partfields {
		require.NotEmpty(t, f.Boundary, f.ID)
		// The fields were moved before they were published, which left the
		// stated areas 3 to 6 % off.
		assert.InEpsilon(t, f.Area, area(f.Boundary), 0.07, f.ID)
	}
	require.Len(t, set.Tasks, 5)
	records := 0
	for i := range set.Tasks {
		task := &set.Tasks[i]
		require.Len(t, task.Logs, 1)
		log := task.Logs[0]
		records += len(log.Fixes)
		assert.True(t, log.Zoneless)
		assert.NotNil(t, set.Partfield(task.Partfield))
		assert.Equal(t, []string{"DVC-1"}, task.Devices)

		tracks := set.Tracks(task, nil)
		require.Len(t, tracks, 1)
		track := tracks[0]
		assert.Equal(t, "DET-123456789", track.Bar.Element, "an element of type device below the device is its function")
		assert.InDelta(t, 9.0, track.Bar.Width, 1e-9)
		assert.Equal(t, int32(9000), track.Widths.Raw[0])
		for _, raw := range track.Widths.Raw {
			assert.Zero(t, raw%750, "widths in steps of one row")
		}
		assert.Nil(t, track.State)
		assert.True(t, math.IsNaN(track.Hitch.AntennaToHitch))
		shell := set.Partfield(task.Partfield).Boundary[0].Shell
		inside := 0
		for k, f := range track.Fixes {
			if track.Working[k] && holds(shell, f.At) {
				inside++
			}
		}
		assert.Greater(t, float64(inside), 0.9*float64(trues(track.Working)), "work lies in the task's field")
	}
	assert.Equal(t, 14731, records)
	assert.Equal(t, 2772, trues(set.Tracks(&set.Tasks[0], nil)[0].Working), "records with entry 141 on, counted by a separate script")
}

// holds reports whether a place lies within a ring, by crossings of a ray.
func holds(ring []geo.LonLat, at geo.LonLat) bool {
	in := false
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if (a.Lat > at.Lat) != (b.Lat > at.Lat) && at.Lon < a.Lon+(at.Lat-a.Lat)/(b.Lat-a.Lat)*(b.Lon-a.Lon) {
			in = !in
		}
	}
	return in
}

func trues(of []bool) int {
	n := 0
	for _, yes := range of {
		if yes {
			n++
		}
	}
	return n
}

// The archive of that set as others made it, put into another.
func TestSimulatedDiscDeeper(t *testing.T) {
	data, err := os.ReadFile(outside(t, "isoxml-simulated-disc", "TASKDATA.zip"))
	require.NoError(t, err)
	s := newSheaf(t).file("stick.zip", zipOf(t, map[string][]byte{"stick/2026/disc/TASKDATA.zip": data, "stick/read me.txt": nil}))
	set, err := readAt(filepath.Join(s.dir, "stick.zip"))
	require.NoError(t, err)
	require.Len(t, set.Partfields, 2)
	require.Len(t, set.Tasks, 2)
	assert.Len(t, set.Tracks(&set.Tasks[0], nil)[0].Fixes, 8599)
}

// A simulated set in a zip archive, with holes and elements whose offsets are
// values of the log (isoxml-dotnet test data, Apache-2.0): 8,599 and 3,863
// records, a bar of 10 m; areas as the set states them, but the fields
// were moved and stretched by up to 3 % on the way to publication.
func TestSimulatedDisc(t *testing.T) {
	set := readSet(t, "isoxml-simulated-disc", "TASKDATA.zip")
	require.Len(t, set.Partfields, 2)
	assert.Equal(t, "FieldWithHoles", set.Partfields[1].Name)
	assert.InEpsilon(t, 85400, area(set.Partfields[0].Boundary), 0.035)
	assert.InEpsilon(t, 66000, area(set.Partfields[1].Boundary), 0.035)
	assert.Len(t, set.Partfields[1].Boundary[0].Holes, 2)

	require.Len(t, set.Tasks, 2)
	for i, want := range []struct{ records, working int }{{8599, 3102}, {3863, 2441}} { // working by a separate script
		require.Len(t, set.Tasks[i].Logs, 1)
		tracks := set.Tracks(&set.Tasks[i], nil)
		require.Len(t, tracks, 1, "of three devices allocated, the log tells of one")
		track := tracks[0]
		assert.Len(t, track.Fixes, want.records)
		assert.Equal(t, want.working, trues(track.Working))
		assert.Equal(t, "Disks", track.Bar.Name)
		assert.Equal(t, []Section{{"DET-6", -5, 5}}, track.Bar.Sections)
		assert.Equal(t, geo.Differential, track.Fixes[0].Quality)
		assert.Nil(t, track.State, "its condensed state is never on")
		assert.Len(t, track.Notes, 2)
	}
	// The task's own times say that work began at 10:51 local time (+02:00):
	// this log's clock is local.
	assert.Equal(t, "2023-04-14T10:51:44.365", set.Tasks[0].Logs[0].Clock[0].Time().Format("2006-01-02T15:04:05.000"))
}

// One file that uses nearly every element (isoxml_dart test data, BSD-3).
func TestFullSet(t *testing.T) {
	set := readSet(t, "isoxml-full-v4")
	require.Len(t, set.Partfields, 2)
	assert.Empty(t, set.Partfields[0].Boundary)
	assert.Len(t, set.Partfields[1].Boundary, 1, "polygons of guidance groups are no boundaries")
	require.Len(t, set.Devices, 2)
	assert.Equal(t, ConnectorElement, set.Devices[0].Elements[2].Type)
	assert.Equal(t, map[DDI]int32{OffsetX: 1000, OffsetY: 500}, set.Devices[0].Elements[2].Properties)
	assert.Equal(t, []Coupling{{"DVC-1", "DET-3", "DVC-2", "DET-6"}}, set.Tasks[0].Couplings)
	assert.Empty(t, set.Tasks[0].Logs)
}

// Small sets, some wrong on purpose (isoxml-dotnet, isoxml-js and
// geo-tools-iso-11783-part-10 test data, Apache-2.0).
func TestSmallSets(t *testing.T) {
	for _, test := range []struct {
		path                       string
		partfields, devices, tasks int
		notes                      []string
	}{
		{"ExternalFiles/NoExternals", 1, 1, 1, nil},
		{"ExternalFiles/OneExternal", 1, 1, 3, nil},
		{"ExternalFiles/MultipleExternals", 1, 1, 3, nil},
		{"ExternalFiles/MissingExternals", 1, 1, 1, []string{"external file CTR00001.xml is missing; what it holds is left out"}},
		{"Grid/Type1", 0, 0, 1, []string{"prescription grid left out"}},
		{"Grid/Type1_Invalid", 0, 0, 1, []string{"prescription grid left out"}},
		{"Grid/Type2", 0, 0, 1, []string{"prescription grid left out"}},
		{"Grid/Type2_Invalid", 0, 0, 1, []string{"prescription grid left out"}},
		{"Grid/Type2_ReadValue", 1, 0, 1, []string{"prescription grid left out"}},
		{"IDList/Valid", 1, 0, 1, nil},
		{"IDList/WrongIds", 2, 0, 1, []string{"field PFD1 grows crop CTP7, which the set does not hold", "task TSK1 is on field PFD3, which the set does not hold"}},
		{"LinkList/ValidLinkList", 1, 1, 1, nil},
		{"LinkList/ValidLinkList_MultipleLinks", 1, 1, 1, nil},
		{"CodingData/Partfields", 13, 0, 13, nil},
		{"devices/TASKDATA_Devices.XML", 0, 1, 0, nil},
		{"devices/Device_Description_Unit.xml", 0, 1, 0, nil},
		{"js/task_full.zip", 2, 2, 1, []string{"line string of a field left out: only polygons bound a field"}},
		{"js/test1.zip", 2, 1, 2, []string{"PFD1: repeated point removed"}},
		{"generated-100", 1, 1, 1, nil},
	} {
		t.Run(test.path, func(t *testing.T) {
			set := readSet(t, "isoxml-conformance", test.path)
			assert.Len(t, set.Partfields, test.partfields)
			assert.Len(t, set.Devices, test.devices)
			assert.Len(t, set.Tasks, test.tasks)
			assert.Equal(t, test.notes, noteTexts(set))
			for _, f := range set.Partfields {
				assert.Nil(t, f.Fault)
			}
		})
	}
	_, err := readAt(outside(t, "isoxml-conformance", "devices/DeviceOnly.xml"))
	assert.ErrorContains(t, err, "DeviceOnly.xml:2: <DVC>, want <ISO11783_TaskData>")
	_, err = readAt(outside(t, "isoxml-conformance", "js/test.geojson"))
	var wrong *SyntaxError
	require.True(t, errors.As(err, &wrong))
	assert.Equal(t, 1, strings.Count(wrong.Error(), "\n")+1)
}

// The areas of these fields, on all continents and on both sides of the
// equator and of the prime meridian, are the set's own, to 100 m². A sphere of
// the equator's radius, which fits them, is 0.67 % too large at the equator.
func TestFieldsOfTheWorld(t *testing.T) {
	for _, f := range readSet(t, "isoxml-conformance", "CodingData", "Partfields").Partfields {
		assert.InDelta(t, f.Area, area(f.Boundary), max(300, 0.0068*f.Area), f.Name)
	}
}

// 100 generated records: their description says that widths are 300, 600 or
// 900 mm, 1 s apart.
func TestGeneratedLog(t *testing.T) {
	set := readSet(t, "isoxml-conformance", "generated-100")
	log := set.Tasks[0].Logs[0]
	require.Len(t, log.Fixes, 100)
	for i, f := range log.Fixes {
		assert.Equal(t, int64(i)*1e9, int64(f.Time-log.Fixes[0].Time))
		raw, ok := log.Values[3].At(i)
		assert.True(t, ok && (raw == 300 || raw == 600 || raw == 900))
	}
	assert.Equal(t, geo.LonLat{Lon: 11.4014195, Lat: 48.2641197}, log.Fixes[0].At)
	track := set.Tracks(&set.Tasks[0], nil)[0]
	assert.Nil(t, track.Working, "the log has no work state")
	assert.InDelta(t, 0.9, track.Bar.Width, 1e-12)
	assert.Equal(t, "Gen Tractor", track.DeviceName)
}

// A real description of a sprayer with 66 sections of 0.5 m
// (isoxml-dotnet test data, Apache-2.0).
func TestSprayerGeometry(t *testing.T) {
	set := readSet(t, "isoxml-conformance", "devices", "Device_Description_Unit.xml")
	d := &set.Devices[0]
	b := newBearing(d, &Log{})
	element := b.bar()
	require.Equal(t, "BOOM", d.Elements[element].Name)
	bar, _, place := b.lay(element)
	assert.InDelta(t, 33, bar.Width, 1e-9)
	assert.InDelta(t, -2.2, bar.X, 1e-9)
	assert.InDelta(t, 0, bar.Y, 1e-9)
	require.Len(t, bar.Sections, 66)
	assert.Equal(t, 65, place[65])
	for i, s := range bar.Sections {
		assert.InDelta(t, -16.5+0.5*float64(i), s.Left, 1e-9)
		assert.InDelta(t, -16+0.5*float64(i), s.Right, 1e-9)
	}
	h := b.hitch(set, &Task{}, bar)
	assert.InDelta(t, 6.850-3.540, h.AntennaToHitch, 1e-9)
	assert.InDelta(t, 3.540+2.200, h.HitchToBar, 1e-9)
	assert.Zero(t, h.AntennaRight)
	assert.Zero(t, h.Offset)
	assert.Equal(t, "DET-288", h.Antenna)
	assert.Zero(t, h.Connector)
}
