package format_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/format"
	"lapwing/geo/geopackage/geopackagetest"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

// apart returns how far places are from each other, in metres.
func apart(a, b geo.LonLat) float64 {
	frame := geo.NewFrame(a)
	east, north := frame.Metres(b)
	return math.Hypot(east, north)
}

// GDAL's ogr2ogr writes a field and a log in the coordinates of maps, by PROJ,
// as shapefiles, as GeoPackages and as GeoJSON of before 2016. What comes back is
// where it was, to a centimetre; datum is longitude and latitude on the datum of
// the map, so that PROJ shifts nothing.
func TestProjectedAgainstOGR(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	for _, c := range []struct {
		name        string
		datum, grid int
		at          geo.LonLat
		note        string // of what is not on WGS 84; "" for none
	}{
		{"UTM 14 N on WGS 84", 4326, 32614, geo.LonLat{Lon: -100.2, Lat: 46.9}, ""},
		{"UTM 35 S on WGS 84", 4326, 32735, geo.LonLat{Lon: 28.2, Lat: -26.9}, ""},
		{"UTM 14 N on NAD83", 4269, 26914, geo.LonLat{Lon: -100.2, Lat: 46.9}, "NAD83 taken as WGS 84: all lies 1 to 2 m off"},
		{"state plane, Lambert, feet", 4269, 2265, geo.LonLat{Lon: -100.2, Lat: 47.9}, "NAD83 taken as WGS 84"},
		{"state plane, Mercator, US survey feet", 4269, 2257, geo.LonLat{Lon: -104.1, Lat: 34.5}, "NAD83 taken as WGS 84"},
		{"state plane of 2011, US survey feet", 6318, 6502, geo.LonLat{Lon: -95.1, Lat: 47.6}, "NAD83(2011) taken as WGS 84"},
		{"UTM 32 N on ETRS89", 4258, 25832, geo.LonLat{Lon: 9.7, Lat: 56.4}, "ETRS89 taken as WGS 84: all lies 1 to 2 m off"},
		{"Finland's zone on ETRS89", 4258, 3067, geo.LonLat{Lon: 24.1, Lat: 61.4}, "ETRS89 taken as WGS 84"},
		{"Lambert-93", 4171, 2154, geo.LonLat{Lon: 1.9, Lat: 48.1}, "taken as WGS 84"},
		{"MGA 55", 4283, 28355, geo.LonLat{Lon: 146.3, Lat: -35.4}, "GDA94 taken as WGS 84"},
		{"longitude and latitude on NAD83", 4269, 4269, geo.LonLat{Lon: -100.2, Lat: 46.9}, "NAD83 taken as WGS 84"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			var ring, points []geo.LonLat
			var corners, features []string
			for _, d := range [][2]float64{{0, 0}, {0.0105, 0.0001}, {0.0104, 0.0071}, {0.0003, 0.0073}, {0, 0}} { // half a mile each way
				p := geo.LonLat{Lon: c.at.Lon + d[0], Lat: c.at.Lat + d[1]}
				ring, corners = append(ring, p), append(corners, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
			}
			for i := range 50 {
				p := geo.LonLat{Lon: c.at.Lon + float64(i)*1e-4, Lat: c.at.Lat + float64(i*i%7)*1e-3}
				points = append(points, p)
				features = append(features, fmt.Sprintf(`{"type":"Feature","properties":{"time":"2026-05-04T06:00:%02dZ","work":1},"geometry":{"type":"Point","coordinates":[%.9f,%.9f]}}`, i, p.Lon, p.Lat))
			}
			write := func(name, text string) string {
				at := filepath.Join(dir, name)
				require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
				return at
			}
			field := write("in-field.json", `{"type":"Feature","properties":{"name":"Curlew Leys"},"geometry":{"type":"Polygon","coordinates":[[`+strings.Join(corners, ",")+`]]}}`)
			day := write("in-day.json", `{"type":"FeatureCollection","features":[`+strings.Join(features, ",")+`]}`)
			files := source.Files{FS: os.DirFS(dir)}
			for ending, driver := range map[string]string{".shp": "ESRI Shapefile", ".gpkg": "GPKG", ".json": "GeoJSON"} {
				for from, name := range map[string]string{field: "field", day: "day"} {
					out, err := exec.Command(tool, "-f", driver, "-mapFieldType", "DateTime=String", "-s_srs", fmt.Sprint("EPSG:", c.datum), "-t_srs", fmt.Sprint("EPSG:", c.grid),
						filepath.Join(dir, name+ending), from).CombinedOutput()
					require.NoError(t, err, string(out))
				}
				found, err := everything.Look(files, "day"+ending, "day"+ending, gnsslog.Options{})
				require.NoError(t, err)
				require.NotNil(t, found.Log)
				require.Len(t, found.Log.Fixes, len(points))
				for i, p := range points {
					require.Less(t, apart(p, found.Log.Fixes[i].At), 0.01, ending)
				}
				told(t, c.note, found.Log.Notes)
				found, err = everything.Look(files, "field"+ending, "field"+ending, gnsslog.Options{})
				require.NoError(t, err)
				require.NotNil(t, found.Boundary)
				shell := found.Boundary.Boundaries[0].Parts[0].Shell
				for _, p := range ring {
					require.Less(t, nearest(p, shell), 0.01, ending)
				}
				told(t, c.note, found.Boundary.Notes)
			}
			// A table with X and Y and, beside it, the .prj of the map.
			out, err := exec.Command(tool, "-f", "CSV", "-lco", "GEOMETRY=AS_XY", "-lco", "CREATE_CSVT=YES", "-mapFieldType", "DateTime=String",
				"-s_srs", fmt.Sprint("EPSG:", c.datum), "-t_srs", fmt.Sprint("EPSG:", c.grid), filepath.Join(dir, "table.csv"), day).CombinedOutput()
			require.NoError(t, err, string(out))
			found, err := everything.Look(files, "table.csv", "table.csv", gnsslog.Options{})
			require.NoError(t, err)
			require.NotNil(t, found.Log)
			require.Len(t, found.Log.Fixes, len(points))
			for i, p := range points {
				require.Less(t, apart(p, found.Log.Fixes[i].At), 0.01, "table")
			}
			told(t, c.note, found.Log.Notes)
		})
	}
}

// nearest returns how far a place is from the nearest of others, in metres.
func nearest(p geo.LonLat, of []geo.LonLat) float64 {
	least := math.Inf(1)
	for _, q := range of {
		if math.Abs(q.Lat-p.Lat) < 1e-3 {
			least = min(least, apart(p, q))
		}
	}
	return least
}

// told requires that notes say what coordinates were taken for; that they say
// nothing where want is "".
func told(t *testing.T, want string, notes []geo.Note) {
	t.Helper()
	if want == "" {
		require.Empty(t, notes)
		return
	}
	require.Len(t, notes, 1)
	assert.Contains(t, notes[0].Text, want)
}

// Official maps of parcels as agencies give them out, in the coordinates of their
// countries, and what others made of them in longitude and latitude: every corner
// is the same place.
func TestParcelsOnMaps(t *testing.T) {
	for _, c := range []struct{ set, original string }{
		{"parcels-denmark", "original.zip"},  // a zipped shapefile, ETRS89 / UTM zone 32N by its .prj
		{"parcels-finland", "original.gpkg"}, // ETRS89 / TM35FIN(E,N) by number
	} {
		t.Run(c.set, func(t *testing.T) {
			onMap := boundaryAt(t, outside(t, c.set, c.original))
			plain := boundaryAt(t, outside(t, c.set, "parcels.geojson"))
			require.Len(t, onMap.Boundaries, len(plain.Boundaries))
			for i := range plain.Boundaries {
				for k, part := range plain.Boundaries[i].Parts {
					corners := onMap.Boundaries[i].Parts[k].Shell
					for _, hole := range onMap.Boundaries[i].Parts[k].Holes {
						corners = append(corners, hole...)
					}
					for _, ring := range append([][]geo.LonLat{part.Shell}, part.Holes...) {
						for _, p := range ring {
							// 8 decimals are 0.8 mm; and points in long edges, which are
							// straight in longitude and latitude here and on the map there.
							require.Less(t, edgeFrom(p, corners), 0.01, "parcel %d", i)
						}
					}
				}
			}
		})
	}
	_, err := boundaryOf(t, outside(t, "parcels-nl-blocks", "original.gpkg"))
	require.ErrorContains(t, err, `coordinate system EPSG:28992 ("Amersfoort / RD New"): datum "Amersfoort", which is not shifted to WGS 84 here`)
}

// edgeFrom returns how far a place is from the nearest edge between corners, in
// metres; edges between the last corner of a ring and the first of the next may
// be among them.
func edgeFrom(p geo.LonLat, corners []geo.LonLat) float64 {
	frame := geo.NewFrame(p)
	least := math.Inf(1)
	for i, q := range corners {
		ax, ay := frame.Metres(q)
		bx, by := frame.Metres(corners[(i+1)%len(corners)])
		t := -(ax*(bx-ax) + ay*(by-ay)) / (math.Pow(bx-ax, 2) + math.Pow(by-ay, 2))
		t = max(0, min(1, t))
		least = min(least, math.Hypot(ax+t*(bx-ax), ay+t*(by-ay)))
	}
	return least
}

func boundaryAt(t *testing.T, path string) *boundary.File {
	t.Helper()
	f, err := boundaryOf(t, path)
	require.NoError(t, err)
	return f
}

func boundaryOf(t *testing.T, path string) (*boundary.File, error) {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	return everything.Boundary(format.Input{Name: filepath.Base(path), From: f})
}

// What a map does not reach is bad for a log and an error for a boundary.
func TestBeyondTheMap(t *testing.T) {
	p := geopackagetest.New(t)
	p.Layer("drilling", "POINT", 32630, "")
	for _, east := range []float64{500_000, 500_010, 1e9, 500_030} {
		p.Exec("INSERT INTO drilling (geom) VALUES (?)", geopackagetest.Point(east, 5_700_000))
	}
	log, err := everything.Log(format.Input{Name: "day.gpkg", From: bytes.NewReader(p.Bytes())}, gnsslog.Options{})
	require.NoError(t, err)
	require.Len(t, log.Fixes, 3)
	assert.InDelta(t, -3, log.Fixes[0].At.Lon, 1e-12, "the central meridian of zone 30")
	requireNote(t, log, `found "coordinates 1000000000, 5700000", want a place on the Earth; skipped`)
	assert.Contains(t, log.Understood, gnsslog.Meaning{Column: "coordinates", As: "easting and northing in WGS 84 / UTM zone 30N"})
}
