//go:build unix

package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/geo"
	"lapwing/geo/geopackage/geopackagetest"
)

// A smallLand is two laps of a drill of 6 m that laps itself by 1 m, as files of every
// format.
type smallLand struct {
	scene *covertest.Scene
	shell []geo.LonLat // not closed
	fixes []smallFix
}

type smallFix struct {
	at      geo.LonLat
	time    time.Time
	working bool
}

func newSmallLand() *smallLand {
	s := &smallLand{scene: covertest.Lanes("0-6 5-11", 40)}
	for _, p := range s.scene.Field.Boundary[0].Rings()[0] {
		s.shell = append(s.shell, s.scene.Field.Frame.ToEarth(p))
	}
	track := &s.scene.Machines[0].Tracks[0]
	for i, x := range track.Fixes {
		if i%6 == 0 { // every three seconds
			track.Fixes[i/6] = x
		}
	}
	track.Fixes = track.Fixes[:(len(track.Fixes)+5)/6]
	for _, x := range track.Fixes {
		s.fixes = append(s.fixes, smallFix{x.At, x.Time.Time(), x.Working})
	}
	return s
}

// job is one job three times: as plain files, as shapefiles and as a task set.
func (s *smallLand) job(f *testing.F) map[string][]byte {
	dir := f.TempDir()
	require.NoError(f, covertest.WriteTaskSet(dir, s.scene.Field, s.scene.Machines))
	fileOf := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(f, err)
		return data
	}
	m := s.scene.Machines[0]
	var log, field bytes.Buffer
	require.NoError(f, covertest.WriteTrack(&log, m.Tracks[0], m.Implement, 8))
	require.NoError(f, covertest.WriteBoundary(&field, s.scene.Field, 50))
	const products = `products:
  - {name: anhydrous ammonia, analysis: 82-0-0, rate: 70 lb N/ac, price: 800 USD/ton, tank: 145 gal, fill: 85 %, temperature: 50 F}
  - {name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}
crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}
`
	return map[string][]byte{
		"plain/log":   log.Bytes(),
		"plain/field": field.Bytes(),
		"plain/later": s.gpx(24 * time.Hour),
		"plain/job.yaml": []byte(`field: small
boundary: field
time_zone: Europe/Copenhagen
machines:
  - name: drill A
    implement: implement.yaml
    tracks: [log]
headland: {rounds: 1, lap: 1 ft}
` + products),
		"plain/implement.yaml": []byte(`name: small drill
openers: 24
row_spacing: 25 cm
mount: towed
antenna_to_hitch: 1 m
hitch_to_bar: 3 m
cart: {hitch_to_axle: 2 m, axle_to_hitch: 1 m}
sections: 2
ground_delay: {on: 1 s, off: 0.5 s}
start_heading: 0 deg
`),
		"shapes/job.yaml":        []byte("boundary: field.shp\ntime_zone: UTC\nmachines:\n  - {name: drill, implement: {width: 6 m}, tracks: [day.shp]}\n"),
		"shapes/day.shp":         s.points(),
		"shapes/day.dbf":         s.rows(),
		"shapes/day.prj":         []byte(degrees),
		"shapes/field.shp":       s.polygon(),
		"shapes/field.dbf":       table([]string{"ID C 4", "Name C 12"}, []string{"7", "long piece"}),
		"shapes/field.prj":       []byte(degrees),
		"tasks/job.yaml":         []byte("boundary: USB\nmachines:\n  - {name: drill, tracks: [USB]}\n" + products),
		"tasks/USB/TASKDATA.XML": fileOf("TASKDATA.XML"),
		"tasks/USB/TLG00001.XML": fileOf("TLG00001.XML"),
		"tasks/USB/TLG00001.BIN": fileOf("TLG00001.BIN"),
	}
}

// A fuzzSeed is what one of fuzzFiles may hold.
type fuzzSeed struct {
	file int
	data []byte
}

// seeds are the files of a job, and others that may stand in their place.
func (s *smallLand) seeds(f *testing.F, job map[string][]byte) (out []fuzzSeed) {
	add := func(path string, packed bool, data []byte) {
		for i, file := range fuzzFiles {
			if file.path == path && (file.as != nil) == packed {
				out = append(out, fuzzSeed{i, data})
				return
			}
		}
		f.Fatalf("no file %s", path)
	}
	for _, file := range fuzzFiles {
		if file.as == nil {
			add(file.path, false, job[file.path])
		}
	}
	add("plain/log", true, job["plain/log"])
	add("plain/field", true, s.kml())
	add("tasks/USB", true, job["tasks/USB/TASKDATA.XML"])
	for _, log := range s.logs(f) {
		add("plain/log", false, log)
	}
	for _, boundary := range s.boundaries(f) {
		add("plain/field", false, boundary)
	}
	for _, text := range otherJobs {
		add("plain/job.yaml", false, []byte(text))
	}
	return out
}

// otherJobs say what the small job does not.
var otherJobs = []string{`boundary: worked
machines:
  - {name: a, implement: {width: 20 ft, sections: [5 ft, 15 ft], offset: 1 ft}, tracks: [log], working: speed > 1 m/s}
  - {name: b, operator: Q, implement: {openers: 10, row_spacing: 7.5 in}, tracks: [later], working: inferred}
edge_allowance: 1 ft
`, `boundary: field
machines: [{name: a, implement: implement.yaml, tracks: [log]}]
rain_at: 2026-05-04T18:00
products: [{name: UAN, analysis: 28-0-0, density: 10.67 lb/gal, rate: 5 gal/ac, machines: [a]}]
`, `boundary: [field, field]
machines: &m [{name: a, implement: {width: 6 m}, tracks: &t [log]}]
`}

// logs are the log in the other formats that are one file, and with other columns.
func (s *smallLand) logs(f *testing.F) [][]byte {
	var bare, split, nmea, points, line strings.Builder
	bare.WriteString("Latitude;Longitude\r\n")
	split.WriteString("date,time,lat,lng,Speed(mph),machine,swath_width_ft,section,state\n")
	points.WriteString(`{"type":"FeatureCollection","features":[` + "\n")
	line.WriteString(`{"type":"LineString","coordinates":[`)
	db := geopackagetest.New(f)
	db.Layer("drilling", "POINT", 4326, `, "time" DATETIME, "Speed(km/h)" REAL, implement_status INTEGER`)
	for i, x := range s.fixes {
		comma := map[bool]string{true: ",", false: ""}[i > 0]
		at := x.time.Format("2006-01-02T15:04:05Z")
		work := map[bool]int{true: 1}[x.working]
		fmt.Fprintf(&bare, "%.8f;%.8f\r\n", x.at.Lat, x.at.Lon)
		fmt.Fprintf(&split, "%s,%s,%.8f,%.8f,4.5,%c,%d,%d,%d\n", at[:10], at[11:19], x.at.Lat, x.at.Lon, 'a'+i/40, 20-i%2, i%2, work)
		fmt.Fprintf(&points, `%s{"type":"Feature","properties":{"time":%q,"working":%d},"geometry":{"type":"Point","coordinates":[%.8f,%.8f]}}`+"\n", comma, at, work, x.at.Lon, x.at.Lat)
		fmt.Fprintf(&line, "%s[%.8f,%.8f]", comma, x.at.Lon, x.at.Lat)
		nmea.WriteString(sentence(x))
		db.Exec(`INSERT INTO drilling (geom, "time", "Speed(km/h)", implement_status) VALUES (?, ?, 7.2, ?)`, geopackagetest.Point(x.at.Lon, x.at.Lat), at, work)
	}
	points.WriteString("]}\n")
	line.WriteString("]}\n")
	return [][]byte{[]byte(bare.String()), []byte(split.String()), s.gpx(0), []byte(nmea.String()), []byte(points.String()), []byte(line.String()), db.Bytes()}
}

// gpx is the log as GPX, so much later.
func (s *smallLand) gpx(later time.Duration) []byte {
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="seed"><trk><trkseg>` + "\n")
	for _, x := range s.fixes {
		fmt.Fprintf(&b, "<trkpt lat=\"%.8f\" lon=\"%.8f\"><time>%s</time></trkpt>\n", x.at.Lat, x.at.Lon, x.time.Add(later).Format(time.RFC3339))
	}
	b.WriteString("</trkseg></trk></gpx>\n")
	return []byte(b.String())
}

// sentence is a fix as an RMC sentence of NMEA 0183.
func sentence(x smallFix) string {
	minutes := func(degrees float64, width int, plus, minus string) string {
		side := plus
		if degrees < 0 {
			degrees, side = -degrees, minus
		}
		whole := math.Floor(degrees)
		return fmt.Sprintf("%0*d%010.7f,%s", width, int(whole), 60*(degrees-whole), side)
	}
	text := fmt.Sprintf("GPRMC,%s,A,%s,%s,3.9,0,%s,,", x.time.Format("150405.00"), minutes(x.at.Lat, 2, "N", "S"), minutes(x.at.Lon, 3, "E", "W"), x.time.Format("020106"))
	sum := byte(0)
	for _, c := range []byte(text) {
		sum ^= c
	}
	return fmt.Sprintf("$%s*%02X\r\n", text, sum)
}

// boundaries are the field in the other formats that are one file.
func (s *smallLand) boundaries(f *testing.F) [][]byte {
	var text, numbers []string
	var flat []float64
	for _, p := range append(s.shell, s.shell[0]) {
		text = append(text, fmt.Sprintf("%.9f %.9f", p.Lon, p.Lat))
		numbers = append(numbers, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
		flat = append(flat, p.Lon, p.Lat)
	}
	ring := strings.Join(numbers, ",")
	db := geopackagetest.New(f)
	db.Layer("fields", "POLYGON", 4326, ", name TEXT")
	db.Exec("INSERT INTO fields (geom, name) VALUES (?, 'long piece'), (NULL, 'nowhere')", geopackagetest.Polygon(flat))
	return [][]byte{
		s.kml(), db.Bytes(),
		[]byte("POLYGON((" + strings.Join(text, ",") + "))\n"),
		[]byte("SRID=4326;MULTIPOLYGON(((" + strings.Join(text, ",") + ")))\n"),
		[]byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"small"},"geometry":{"type":"Polygon","coordinates":[[` + ring +
			`]]}},{"type":"Feature","properties":{"name":"b"},"geometry":{"type":"Polygon","coordinates":[[` + ring + `]]}}]}`),
		archived(map[string][]byte{"field.shp": s.polygon(), "field.prj": []byte(degrees)}),
	}
}

func (s *smallLand) kml() []byte {
	var b strings.Builder
	b.WriteString(`<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>small</name><Polygon><outerBoundaryIs><LinearRing><coordinates>` + "\n")
	for _, p := range append(s.shell, s.shell[0]) {
		fmt.Fprintf(&b, "%.9f,%.9f,0\n", p.Lon, p.Lat)
	}
	b.WriteString("</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>\n")
	return []byte(b.String())
}

// degrees is the coordinate system of a shapefile in degrees on WGS 84.
const degrees = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// mainFile is a shapefile's main file (ESRI Shapefile Technical Description, 1998)
// with records of one kind.
func mainFile(kind uint32, records ...[]byte) []byte {
	size := 100
	for _, r := range records {
		size += 8 + len(r)
	}
	out := append([]byte("\x00\x00\x27\x0a"), make([]byte, 20)...)
	out = binary.BigEndian.AppendUint32(out, uint32(size/2))
	out = binary.LittleEndian.AppendUint32(out, 1000)
	out = binary.LittleEndian.AppendUint32(out, kind)
	out = append(out, make([]byte, 64)...)
	for i, r := range records {
		out = binary.BigEndian.AppendUint32(out, uint32(i+1))
		out = append(binary.BigEndian.AppendUint32(out, uint32(len(r)/2)), r...)
	}
	return out
}

func appendPlace(to []byte, p geo.LonLat) []byte {
	to = binary.LittleEndian.AppendUint64(to, math.Float64bits(p.Lon))
	return binary.LittleEndian.AppendUint64(to, math.Float64bits(p.Lat))
}

// points are the log as the main file of a shapefile.
func (s *smallLand) points() []byte {
	var records [][]byte
	for _, x := range s.fixes {
		records = append(records, appendPlace(binary.LittleEndian.AppendUint32(nil, 1), x.at))
	}
	return mainFile(1, records...)
}

// rows are the table beside the points.
func (s *smallLand) rows() []byte {
	var rows [][]string
	for _, x := range s.fixes {
		rows = append(rows, []string{x.time.Format("20060102"), x.time.Format("15:04:05"), map[bool]string{true: "T", false: "F"}[x.working]})
	}
	return table([]string{"Date D 8", "Time C 8", "Work L 1"}, rows...)
}

// polygon is the field as the main file of a shapefile, whose shells are clockwise.
func (s *smallLand) polygon() []byte {
	r := binary.LittleEndian.AppendUint32(nil, 5)
	r = append(r, make([]byte, 32)...)
	r = binary.LittleEndian.AppendUint32(r, 1)
	r = binary.LittleEndian.AppendUint32(r, uint32(len(s.shell)+1))
	r = binary.LittleEndian.AppendUint32(r, 0)
	for i := range len(s.shell) + 1 {
		r = appendPlace(r, s.shell[(2*len(s.shell)-i)%len(s.shell)])
	}
	return mainFile(5, r)
}

// table is the .dbf of a shapefile; a column is "name type size".
func table(columns []string, rows ...[]string) []byte {
	out := make([]byte, 32)
	out[0] = 3
	size := 1
	var sizes []int
	for _, c := range columns {
		words := strings.Fields(c)
		n, _ := strconv.Atoi(words[2])
		one := make([]byte, 32)
		copy(one, words[0])
		one[11], one[16] = words[1][0], byte(n)
		out = append(out, one...)
		sizes = append(sizes, n)
		size += n
	}
	out = append(out, '\r')
	binary.LittleEndian.PutUint32(out[4:], uint32(len(rows)))
	binary.LittleEndian.PutUint16(out[8:], uint16(len(out)))
	binary.LittleEndian.PutUint16(out[10:], uint16(size))
	for _, row := range rows {
		out = append(out, ' ')
		for i, value := range row {
			out = fmt.Appendf(out, "%-*s", sizes[i], value)
		}
	}
	return append(out, 0x1a)
}
