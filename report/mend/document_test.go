package mend

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/twpayne/go-gpx"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/machine"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// small plans the drive over the skips of the small report, with the
// machine's log ending in the field's south-west.
func small() *Document {
	r := assesstest.Small()
	e := &Document{Assessment: r}
	im := &r.Map.Machines[0].Implement
	if len(im.Sections) < 2 {
		im.Sections = machine.EqualSections(im.Width, 4)
	}
	plan := mend.New(r.Map, mend.Options{Skips: r.Mistakes(), All: true, Start: plane.Point{X: -1900000, Y: -1400000}})
	r.Mend = &assess.Mending{Plan: plan, Given: true}
	return e
}

func TestErrandGoldens(t *testing.T) {
	e := small()
	assesstest.Golden(t, "mend.us.txt", e.Text)
	assesstest.Golden(t, "mend.json", e.JSON)
	assesstest.Golden(t, "mend.gpx", e.GPX)
	assesstest.Golden(t, "mend.kml", e.KML)
	assesstest.Golden(t, "mend.geojson", e.GeoJSON)
	assesstest.Golden(t, "mend.html", e.Page)
}

func TestErrandTextFitsTheTerminal(t *testing.T) {
	for _, u := range []quantity.Units{quantity.US, quantity.Metric} {
		e := small()
		e.Units = u
		var b strings.Builder
		require.NoError(t, e.Text(&b))
		for line := range strings.Lines(b.String()) {
			assert.LessOrEqual(t, len([]rune(strings.TrimSuffix(line, "\n"))), words.Width, line)
		}
	}
}

// Nothing to mend says so, in every file.
func TestErrandWithoutSkips(t *testing.T) {
	r := assesstest.Empty()
	r.Map.Machines = []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: 6 * plane.Metre, Sections: machine.EqualSections(6*plane.Metre, 1)}}}
	r.Mend = &assess.Mending{Plan: mend.New(r.Map, mend.Options{})}
	e := &Document{Assessment: r}
	var text bytes.Buffer
	require.NoError(t, e.Text(&text))
	assert.Contains(t, text.String(), "No skips to go back for.")
	assert.Contains(t, text.String(), "not worked yet is no part of this")
	for _, write := range []func(io.Writer) error{e.Page, e.GPX, e.KML, e.GeoJSON, e.JSON} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		assert.Contains(t, b.String(), "lapwing")
	}
}

func TestSectionWords(t *testing.T) {
	for bits, want := range map[string]string{
		"1":      "the whole bar works: it has no sections to shut",
		"11":     "keep all 2 sections open",
		"001000": "open section 3 of 6, shut 1-2 and 4-6",
		"011000": "open sections 2-3 of 6, shut 1 and 4-6",
		"10":     "open section 1 of 2, shut 2",
	} {
		open := make([]bool, len(bits))
		for i := range bits {
			open[i] = bits[i] == '1'
		}
		assert.Equal(t, want, sectionWords(open))
		assert.Equal(t, bits, sectionBits(open))
	}
}

// GPX, KML and GeoJSON tell of the same stops at the same places.
func TestErrandFilesAgree(t *testing.T) {
	e := small()
	require.NotEmpty(t, e.Mend.Plan.Stops)
	var gpxFile, kmlFile, geoFile bytes.Buffer
	require.NoError(t, e.GPX(&gpxFile))
	require.NoError(t, e.KML(&kmlFile))
	require.NoError(t, e.GeoJSON(&geoFile))

	g, err := gpx.Read(&gpxFile)
	require.NoError(t, err)
	require.Len(t, g.Wpt, 2*len(e.Mend.Plan.Stops))
	require.Len(t, g.Rte, 1)
	assert.Len(t, g.Rte[0].RtePt, len(e.drive()))

	var k struct {
		Folders []struct {
			Name       string `xml:"name"`
			Placemarks []struct {
				Point string `xml:"Point>coordinates"`
				Line  string `xml:"LineString>coordinates"`
			} `xml:"Placemark"`
		} `xml:"Document>Folder"`
	}
	require.NoError(t, xml.NewDecoder(&kmlFile).Decode(&k))
	require.Len(t, k.Folders, len(e.Mend.Plan.Stops))

	var f struct {
		Features []struct {
			Properties struct {
				Kind string
				Stop int
			}
			Geometry struct{ Coordinates json.RawMessage }
		}
	}
	require.NoError(t, json.Unmarshal(geoFile.Bytes(), &f))
	stops := map[int][2]float64{}
	for _, feature := range f.Features {
		if feature.Properties.Kind == "stop" {
			var at [2]float64
			require.NoError(t, json.Unmarshal(feature.Geometry.Coordinates, &at))
			stops[feature.Properties.Stop] = at
		}
	}
	for i := range e.Mend.Plan.Stops {
		want := e.lonLat(e.Mend.Plan.Stops[i].Run.Line[0])
		const degree = 1e-8 // a millimetre: files round, GeoJSON to the ninth decimal
		assert.InDelta(t, want.Lon, g.Wpt[2*i].Lon, degree)
		assert.InDelta(t, want.Lat, g.Wpt[2*i].Lat, degree)
		assert.InDelta(t, want.Lon, stops[i+1][0], degree)
		assert.InDelta(t, want.Lat, stops[i+1][1], degree)
		lon, lat, _ := strings.Cut(strings.TrimSpace(k.Folders[i].Placemarks[0].Point), ",")
		assert.InDelta(t, want.Lon, parseFloat(t, lon), degree)
		assert.InDelta(t, want.Lat, parseFloat(t, lat), degree)
	}
}

func parseFloat(t *testing.T, s string) float64 {
	t.Helper()
	var v float64
	require.NoError(t, json.Unmarshal([]byte(s), &v))
	return v
}

// GDAL reads what is written for handhelds.
func TestErrandFilesInGDAL(t *testing.T) {
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("no ogrinfo: install gdal-bin")
	}
	e := small()
	dir := t.TempDir()
	for name, file := range map[string]struct {
		write func(io.Writer) error
		want  string
	}{
		"mend.gpx":     {e.GPX, "Layer name: route_points"},
		"mend.kml":     {e.KML, "Layer name: Stop A"},
		"mend.geojson": {e.GeoJSON, "kind: String"},
	} {
		var b bytes.Buffer
		require.NoError(t, file.write(&b))
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
		out, err := exec.Command(ogrinfo, "-ro", "-so", "-al", path).CombinedOutput()
		require.NoError(t, err, "%s", out)
		assert.Contains(t, string(out), file.want, name)
		assert.NotContains(t, string(out), "ERROR", name)
		assert.NotContains(t, string(out), "Warning", name)
	}
}
