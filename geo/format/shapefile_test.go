package format_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

const wgs84PRJ = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// shapes writes points as a main file of a kind; a NaN is a record without a
// shape.
func shapes(kind uint32, at ...geo.LonLat) []byte {
	out := append([]byte("\x00\x00\x27\x0a"), make([]byte, 28)...)
	out = binary.LittleEndian.AppendUint32(out, kind)
	for _, x := range []float64{-2.4, 51.7, -2.3, 51.8} {
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(x))
	}
	out = append(out, make([]byte, 32)...)
	for i, p := range at {
		content := binary.LittleEndian.AppendUint32(nil, kind)
		if math.IsNaN(p.Lon) {
			content = make([]byte, 4)
		} else {
			for _, x := range []float64{p.Lon, p.Lat, 90, 1}[:2+kind/11] {
				content = binary.LittleEndian.AppendUint64(content, math.Float64bits(x))
			}
		}
		out = binary.BigEndian.AppendUint32(out, uint32(i+1))
		out = append(binary.BigEndian.AppendUint32(out, uint32(len(content)/2)), content...)
	}
	return out
}

// table writes a .dbf; a column is "name type size".
func table(columns []string, rows ...[]string) []byte {
	head := make([]byte, 32)
	head[0] = 3
	size := 1
	var sizes []int
	for _, c := range columns {
		f := strings.Fields(c)
		n, _ := strconv.Atoi(f[2])
		one := make([]byte, 32)
		copy(one, f[0])
		one[11], one[16] = f[1][0], byte(n)
		head = append(head, one...)
		sizes = append(sizes, n)
		size += n
	}
	head = append(head, '\r')
	binary.LittleEndian.PutUint32(head[4:], uint32(len(rows)))
	binary.LittleEndian.PutUint16(head[8:], uint16(len(head)))
	binary.LittleEndian.PutUint16(head[10:], uint16(size))
	for _, row := range rows {
		head = append(head, ' ')
		for i, value := range row {
			head = append(head, fmt.Sprintf("%-*s", sizes[i], value)...)
		}
	}
	return append(head, 0x1a)
}

// sheet writes a shapefile into a folder and reads its main file.
func sheet(t *testing.T, files map[string][]byte, keep gnsslog.Options) (*gnsslog.Log, error) {
	t.Helper()
	dir := t.TempDir()
	for ending, data := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "day"+ending), data, 0o644))
	}
	path := filepath.Join(dir, "day.shp")
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	return everything.Log(format.Input{Name: "day.shp", From: f, Beside: source.Files{FS: os.DirFS(dir)}.Beside("day.shp", format.MostOfLog)}, keep)
}

var twoPlaces = []geo.LonLat{{Lon: -2.35, Lat: 51.75}, {Lon: -2.3501, Lat: 51.7501}}

func TestShapefilePoints(t *testing.T) {
	columns := []string{"Date D 8", "Time C 8", "Speed_kmh N 8", "Work L 1", "State C 10"}
	rows := [][]string{{"20260504", "06:00:00", "7.2", "T", "lowered"}, {"20260504", "06:00:02", "********", "F", "lifted"}}
	keep := gnsslog.Options{Keep: func(name string) bool { return name == "work" || name == "state" }}
	for _, kind := range []uint32{1, 11, 21} {
		log, err := sheet(t, map[string][]byte{".shp": shapes(kind, twoPlaces...), ".PRJ": []byte(wgs84PRJ), ".dbf": table(columns, rows...)}, keep)
		require.NoError(t, err)
		assert.Equal(t, "Shapefile", log.Format)
		require.Len(t, log.Fixes, 2)
		assert.Equal(t, twoPlaces, []geo.LonLat{log.Fixes[0].At, log.Fixes[1].At})
		assert.Equal(t, "2026-05-04T06:00:02Z", log.Fixes[1].Time.Time().Format(time.RFC3339))
		assert.Equal(t, 2, log.Zoneless)
		assert.InDelta(t, 2, log.Fixes[0].Speed, 1e-12)
		assert.True(t, math.IsNaN(log.Fixes[1].Speed), "a number too long for its column")
		assert.Equal(t, []int32{1, 2}, log.Lines)
		require.Len(t, log.Columns, 2)
		assert.Equal(t, []string{"1", "0"}, log.Columns[0].Distinct)
		assert.Equal(t, []string{"lowered", "lifted"}, log.Columns[1].Distinct)
		assert.Empty(t, log.Notes)
	}
	// In an archive, of which the folder's other files say nothing.
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range map[string][]byte{"a/Day.SHP": shapes(1, twoPlaces...), "a/Day.DBF": table(columns, rows...), "a/Day.prj": []byte(wgs84PRJ), "a/read me.txt": nil} {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	log, err := everything.Log(format.Input{Name: "day.zip", From: &b}, keep)
	require.NoError(t, err)
	assert.Len(t, log.Fixes, 2)
	assert.Equal(t, []string{"lowered", "lifted"}, log.Columns[1].Distinct)
}

// What can be read without is told.
func TestShapefileLacks(t *testing.T) {
	log, err := sheet(t, map[string][]byte{".shp": shapes(1, twoPlaces...)}, gnsslog.Options{})
	require.NoError(t, err)
	assert.True(t, log.NoClock)
	requireNote(t, log, "no .prj file: coordinates taken as longitude and latitude on WGS 84")
	requireNote(t, log, "no .dbf file: nothing but places is known")
	log, err = sheet(t, map[string][]byte{".shp": shapes(1, append(twoPlaces, geo.LonLat{Lon: math.NaN()})...), ".prj": []byte(wgs84PRJ),
		".dbf": table([]string{"speed N 4"}, []string{"1"}, []string{"2"})}, gnsslog.Options{})
	require.NoError(t, err)
	assert.Len(t, log.Fixes, 2)
	requireNote(t, log, "3 points and 2 rows in the .dbf file; they are matched from the first on")
}

// What is wrong is one line, in little time and memory, whatever counts and
// sizes a file states.
func TestShapefileErrors(t *testing.T) {
	osgb := strings.Replace(wgs84PRJ, "D_WGS_1984", "D_OSGB_1936", 1)
	lying := shapes(1, twoPlaces...)
	binary.BigEndian.PutUint32(lying[104:], 0x7fffffff)
	rows := table([]string{"speed N 4"}, []string{"1"})
	longRows := bytes.Clone(rows)
	binary.LittleEndian.PutUint16(longRows[8:], 0xffff)
	manyRows := bytes.Clone(rows)
	binary.LittleEndian.PutUint32(manyRows[4:], 0xffffffff) // the count of rows is not believed
	for _, c := range []struct {
		name  string
		files map[string][]byte
		want  string
	}{
		{"polygons", map[string][]byte{".shp": shapes(5)}, "day.shp: a shapefile of type 5, want points: 1, 11 or 21"},
		{"on another datum", map[string][]byte{".shp": shapes(1, twoPlaces...), ".prj": []byte(osgb)}, `day.shp: .prj: coordinate system "GCS_WGS_1984": datum "OSGB36", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
		{"cut header", map[string][]byte{".shp": lying[:50]}, "day.shp: a shapefile of 50 bytes, want a header of 100"},
		{"a length that lies", map[string][]byte{".shp": lying}, "day.shp: record 1: a length of 4294967294 bytes, want 4 to 48"},
		{"short point", map[string][]byte{".shp": append(shapes(1), 0, 0, 0, 1, 0, 0, 0, 2, 1, 0, 0, 0)}, "day.shp: record 1: 4 bytes, want 20 or more for a point"},
		{"no point", map[string][]byte{".shp": shapes(1)}, "day.shp: no position in the file, want a log with fixes"},
		{"table cut", map[string][]byte{".shp": shapes(1, twoPlaces...), ".dbf": rows[:20]}, "day.shp: .dbf: 20 bytes, want a table"},
		{"table that lies", map[string][]byte{".shp": shapes(1, twoPlaces...), ".dbf": longRows}, "day.shp: .dbf: a header of 65535 bytes, records of 5, want a table"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := sheet(t, c.files, gnsslog.Options{})
			require.EqualError(t, err, c.want)
		})
	}
	log, err := sheet(t, map[string][]byte{".shp": shapes(1, twoPlaces[0]), ".dbf": manyRows, ".prj": []byte(wgs84PRJ)}, gnsslog.Options{})
	require.NoError(t, err)
	assert.Len(t, log.Fixes, 1)
}

// An archive may be a bomb, or try to reach elsewhere.
func TestShapefileArchives(t *testing.T) {
	pack := func(files ...string) string {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for i := 0; i < len(files); i += 2 {
			w, err := z.Create(files[i])
			require.NoError(t, err)
			_, err = w.Write([]byte(files[i+1]))
			require.NoError(t, err)
		}
		require.NoError(t, z.Close())
		return b.String()
	}
	day := string(shapes(1, twoPlaces...))
	bomb := pack("day.shp", day, "day.dbf", strings.Repeat("\x00", 100<<20))
	require.Less(t, len(bomb), 1<<20)
	for _, c := range []struct{ name, data, want string }{
		{"no shapefile", pack("a.txt", "a"), "day.zip: a zip archive without a shapefile or a GeoPackage, want a log as CSV"},
		{"two", pack("a.shp", day, "b.shp", day), "day.zip: an archive with several logs: a.shp and b.shp, want"},
		{"climbs", pack("../day.shp", day), "day.zip: a path in the archive that leaves it: ../day.shp"},
		{"cut", pack("day.shp", day)[:60], "day.zip: a damaged zip archive"},
		{"no shapes", pack("day.shp", "hello"), "day.zip: a zip archive whose .shp file is no shapefile, want"},
		{"bomb", bomb, "day.zip/day.dbf: an archive that unpacks to too much, want a smaller one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			begin := time.Now()
			_, err := read("day.zip", []byte(c.data), gnsslog.Options{})
			require.ErrorContains(t, err, c.want)
			require.NotContains(t, err.Error(), "\n")
			runtime.ReadMemStats(&after)
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(400<<20)) // of 64 MiB, doubled as it grows
			assert.Less(t, time.Since(begin), time.Minute)                      // a second, on an idle machine
		})
	}
}

func FuzzShapefile(f *testing.F) {
	f.Add(shapes(1, twoPlaces...), table([]string{"time C 20", "speed N 4"}, []string{"2026-05-04T06:00:00Z", "1"}), wgs84PRJ)
	f.Add(shapes(21, twoPlaces...), []byte{}, "")
	f.Fuzz(func(t *testing.T, main, rows []byte, prj string) {
		beside := func(ending string) ([]byte, error) {
			if ending == ".prj" {
				return []byte(prj), nil
			}
			return rows, nil
		}
		log, err := everything.Log(format.Input{Name: "f", From: bytes.NewReader(append([]byte("\x00\x00\x27\x0a"), main[min(4, len(main)):]...)), Beside: beside},
			gnsslog.Options{Keep: func(string) bool { return true }})
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.NotEmpty(t, log.Fixes)
		require.LessOrEqual(t, 28*len(log.Fixes), len(main)+4)
	})
}

// GDAL writes a log as a shapefile and as a GeoPackage, and counts what is in
// it; from all of them the same fixes come.
func TestAgainstOGR(t *testing.T) {
	for _, tool := range []string{"ogrinfo", "ogr2ogr"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " of GDAL is not on this machine")
		}
	}
	dir := t.TempDir()
	var text strings.Builder
	text.WriteString("stamp,lat,lon,speed_kmh,work\n")
	for i := range 200 {
		fmt.Fprintf(&text, "2026-05-04T06:%02d:%02dZ,%.7f,%.7f,%.1f,%d\n", i/60, i%60, 51.7+float64(i)*1e-5, -2.4+float64(i*i%37)*1e-5, 7.2+float64(i%5)/10, i%2)
	}
	text.WriteString("2026-05-04T06:10:00Z,51.71,-2.41,0,0\n")
	csvText := strings.Replace(text.String(), "stamp", "time", 1)
	at := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(at("day.csv"), []byte(csvText), 0o644))
	want, err := read("day.csv", []byte(csvText), gnsslog.Options{Keep: func(name string) bool { return name == "work" }})
	require.NoError(t, err)
	for _, c := range []struct{ name, format, driver string }{{"day.shp", "Shapefile", "ESRI Shapefile"}, {"day.gpkg", "GeoPackage", "GPKG"}, {"day.gpx", "GPX 1.1", "GPX"}} {
		args := []string{"-f", c.driver, at(c.name), at("day.csv"), "-oo", "X_POSSIBLE_NAMES=lon", "-oo", "Y_POSSIBLE_NAMES=lat", "-a_srs", "EPSG:4326"}
		if c.driver == "GPX" { // its points of a track need numbers for track and segment
			args = append(args, "-dialect", "SQLite", "-sql", "SELECT *, 0 AS track_fid, 0 AS track_seg_id, 0 AS track_seg_point_id FROM day", "-nln", "track_points")
		}
		out, err := exec.Command("ogr2ogr", args...).CombinedOutput()
		require.NoError(t, err, string(out))
		f, err := os.Open(at(c.name))
		require.NoError(t, err)
		log, err := everything.Log(format.Input{Name: c.name, From: f, Beside: source.Files{FS: os.DirFS(dir)}.Beside(c.name, format.MostOfLog)},
			gnsslog.Options{Keep: func(name string) bool { return name == "work" }})
		f.Close()
		require.NoError(t, err, c.name)
		assert.Equal(t, c.format, log.Format)
		require.Len(t, log.Fixes, len(want.Fixes))
		for i, w := range want.Fixes {
			g := log.Fixes[i]
			// GDAL writes 9 decimals of a degree into GPX, whole numbers of bits into the rest.
			require.InDelta(t, w.At.Lon, g.At.Lon, 1e-9)
			require.InDelta(t, w.At.Lat, g.At.Lat, 1e-9)
			if c.driver != "GPX" {
				require.Equal(t, w.Time, g.Time, c.name)
				require.InDelta(t, w.Speed, g.Speed, 1e-9)
				require.Equal(t, want.Columns[0].Distinct[want.Columns[0].Codes[i]], log.Columns[0].Distinct[log.Columns[0].Codes[i]])
			}
		}
		out, err = exec.Command("ogrinfo", "-ro", "-al", "-so", at(c.name)).CombinedOutput()
		require.NoError(t, err, string(out))
		layer := string(out)
		if i := strings.Index(layer, "Layer name: track_points"); i >= 0 {
			layer = layer[i:]
		}
		assert.Contains(t, layer, fmt.Sprintf("Feature Count: %d", len(log.Fixes)))
		extent := regexp.MustCompile(`Extent: \((\S+), (\S+)\) - \((\S+), (\S+)\)`).FindStringSubmatch(layer)
		require.Len(t, extent, 5, layer)
		var box [4]float64
		for i := range box {
			box[i], err = strconv.ParseFloat(extent[i+1], 64)
			require.NoError(t, err)
		}
		west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
		for _, g := range log.Fixes {
			west, east = min(west, g.At.Lon), max(east, g.At.Lon)
			south, north = min(south, g.At.Lat), max(north, g.At.Lat)
		}
		for i, v := range []float64{west, south, east, north} {
			assert.InDelta(t, v, box[i], 0.6e-6, "ogrinfo prints 6 decimals")
		}
	}
}

// GDAL's ogr2ogr knows dates, times of day and both, and writes each as a format
// has it: 2026/05/04 in CSV, the date of a whole time alone in a .dbf. The fixes
// have the same times in all.
func TestTimeColumnsOfOGR(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	dir := t.TempDir()
	var text strings.Builder
	text.WriteString("lat,lon,timestamp,date,time\n")
	begin := time.Date(2026, 5, 4, 23, 59, 0, 0, time.UTC)
	for i := range 120 {
		at := begin.Add(time.Duration(i) * time.Second)
		fmt.Fprintf(&text, "%.6f,-2.4,%s,%s,%s\n", 51.7+float64(i)*1e-5, at.Format(time.RFC3339), at.Format("2006-01-02"), at.Format("15:04:05"))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "in.csv"), []byte(text.String()), 0o644))
	for _, c := range []struct{ driver, name, columns string }{
		{"CSV", "both.csv", "lat,lon,date,time"},
		{"CSV", "all.csv", "lat,lon,timestamp,date,time"},
		{"CSV", "beside.csv", "lat,lon,timestamp,date"},
		{"ESRI Shapefile", "all.shp", "lat,lon,timestamp,date,time"},
		{"GPKG", "both.gpkg", "lat,lon,date,time"},
		{"GPKG", "all.gpkg", "lat,lon,timestamp,date,time"},
	} {
		out, err := exec.Command(tool, "-f", c.driver, filepath.Join(dir, c.name), filepath.Join(dir, "in.csv"), "-select", c.columns, "-mapFieldType", "Time=String", "-oo", "AUTODETECT_TYPE=YES",
			"-oo", "X_POSSIBLE_NAMES=lon", "-oo", "Y_POSSIBLE_NAMES=lat", "-oo", "KEEP_GEOM_COLUMNS=YES", "-a_srs", "EPSG:4326").CombinedOutput()
		require.NoError(t, err, string(out))
		found, err := everything.Look(source.Files{FS: os.DirFS(dir)}, c.name, c.name, gnsslog.Options{})
		require.NoError(t, err, c.name)
		require.NotNil(t, found.Log, c.name)
		require.Len(t, found.Log.Fixes, 120)
		for i, f := range found.Log.Fixes {
			require.Equal(t, begin.Add(time.Duration(i)*time.Second), f.Time.Time(), c.name)
		}
	}
}
