package boundary_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkt"

	"lapwing/geo"
	"lapwing/geo/source"
)

const (
	wgs84 = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
	nad83 = `GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
	dhdn  = `PROJCS["DHDN_3_Degree_Gauss_Zone_3",GEOGCS["GCS_Deutsches_Hauptdreiecksnetz",DATUM["D_Deutsches_Hauptdreiecksnetz",SPHEROID["Bessel_1841",6377397.155,299.1528128]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Gauss_Kruger"],PARAMETER["False_Easting",3500000.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",1.0],UNIT["Meter",1.0]]`
)

// The field that is written in every format: a square with a square hole and,
// beside it, a triangle.
var farm = [][][]geo.LonLat{
	{
		{{Lon: 10, Lat: 50}, {Lon: 10.01, Lat: 50}, {Lon: 10.01, Lat: 50.01}, {Lon: 10, Lat: 50.01}, {Lon: 10, Lat: 50}},
		{{Lon: 10.002, Lat: 50.002}, {Lon: 10.002, Lat: 50.004}, {Lon: 10.004, Lat: 50.004}, {Lon: 10.004, Lat: 50.002}, {Lon: 10.002, Lat: 50.002}},
	},
	{{{Lon: 10.02, Lat: 50}, {Lon: 10.03, Lat: 50}, {Lon: 10.025, Lat: 50.01}, {Lon: 10.02, Lat: 50}}},
}

func asGeoJSON() string {
	var polygons []string
	for _, p := range farm {
		var rings []string
		for _, r := range p {
			var places []string
			for _, q := range r {
				places = append(places, fmt.Sprintf("[%v,%v]", q.Lon, q.Lat))
			}
			rings = append(rings, "["+strings.Join(places, ",")+"]")
		}
		polygons = append(polygons, "["+strings.Join(rings, ",")+"]")
	}
	return feature(`{"name":"Rapsfeld"}`, `{"type":"MultiPolygon","coordinates":[`+strings.Join(polygons, ",")+`]}`)
}

func asWKT(t *testing.T) string {
	g := geom.NewMultiPolygon(geom.XY)
	var coords [][][]geom.Coord
	for _, p := range farm {
		var rings [][]geom.Coord
		for _, r := range p {
			var ring []geom.Coord
			for _, q := range r {
				ring = append(ring, geom.Coord{q.Lon, q.Lat})
			}
			rings = append(rings, ring)
		}
		coords = append(coords, rings)
	}
	text, err := wkt.Marshal(g.MustSetCoords(coords))
	require.NoError(t, err)
	return text
}

func asKML() string {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document><name>farm</name>\n<Placemark><name>Rapsfeld</name><MultiGeometry>\n")
	for _, p := range farm {
		b.WriteString("<Polygon>")
		for i, r := range p {
			side := "outerBoundaryIs"
			if i > 0 {
				side = "innerBoundaryIs"
			}
			fmt.Fprintf(&b, "<%s><LinearRing><coordinates>\n", side)
			for _, q := range r {
				fmt.Fprintf(&b, "%v,%v,0\n", q.Lon, q.Lat)
			}
			fmt.Fprintf(&b, "</coordinates></LinearRing></%s>", side)
		}
		b.WriteString("</Polygon>\n")
	}
	b.WriteString("</MultiGeometry></Placemark></Document></kml>\n")
	return b.String()
}

// asShapefile writes the farm as one record of the type given.
func asShapefile(kind uint32) []byte {
	var places, starts []byte
	parts, points := uint32(0), uint32(0)
	for _, p := range farm {
		for _, r := range p {
			starts = binary.LittleEndian.AppendUint32(starts, points)
			parts++
			for i := range r {
				q := r[len(r)-1-i] // shapefiles wind shells clockwise
				places = binary.LittleEndian.AppendUint64(places, math.Float64bits(q.Lon))
				places = binary.LittleEndian.AppendUint64(places, math.Float64bits(q.Lat))
				points++
			}
		}
	}
	box := make([]byte, 0, 32)
	for _, x := range []float64{10, 50, 10.03, 50.01} {
		box = binary.LittleEndian.AppendUint64(box, math.Float64bits(x))
	}
	content := binary.LittleEndian.AppendUint32(nil, kind)
	content = append(content, box...)
	content = binary.LittleEndian.AppendUint32(content, parts)
	content = binary.LittleEndian.AppendUint32(content, points)
	content = append(append(content, starts...), places...)
	if kind == 15 { // range of heights, heights
		content = append(content, make([]byte, 16+8*points)...)
	}
	out := append([]byte("\x00\x00\x27\x0a"), make([]byte, 20)...)
	out = binary.BigEndian.AppendUint32(out, uint32(100+8+len(content))/2)
	out = binary.LittleEndian.AppendUint32(out, 1000)
	out = binary.LittleEndian.AppendUint32(out, kind)
	out = append(append(out, box...), make([]byte, 32)...)
	out = binary.BigEndian.AppendUint32(out, 1)
	out = binary.BigEndian.AppendUint32(out, uint32(len(content))/2)
	return append(out, content...)
}

// asTable writes a table of one record with an id and a name.
func asTable() []byte {
	column := func(name string, size byte) []byte {
		c := make([]byte, 32)
		copy(c, name)
		c[11], c[16] = 'C', size
		return c
	}
	out := make([]byte, 32)
	out[0], out[4] = 3, 1
	binary.LittleEndian.PutUint16(out[8:], 32+64+1)
	binary.LittleEndian.PutUint16(out[10:], 1+4+12)
	out = append(append(append(out, column("ID", 4)...), column("Name", 12)...), '\r')
	return append(out, " 7   Rapsfeld    \x1a"...)
}

func zipped(t *testing.T, files ...string) string {
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

// Whatever the format, the same ground comes out.
func TestFormatsAgree(t *testing.T) {
	want := read(t, asGeoJSON())
	require.Equal(t, "Rapsfeld", want.Boundaries[0].Name)
	table := string(asTable())
	for _, c := range []struct{ name, format, text, field string }{
		{"WKT", "WKT", asWKT(t), ""},
		{"WKT with a system", "WKT", "SRID=4326;" + asWKT(t), ""},
		{"KML", "KML", asKML(), "Rapsfeld"},
		{"KMZ", "KMZ", zipped(t, "images/a.png", "x", "doc.kml", "\xef\xbb\xbf"+asKML()), "Rapsfeld"},
		{"zipped shapefile", "Shapefile", zipped(t, "a/Farm.shp", string(asShapefile(5)), "a/Farm.prj", wgs84, "a/Farm.dbf", table), "Rapsfeld"},
		{"zipped shapefile with heights", "Shapefile", zipped(t, "FARM.SHP", string(asShapefile(15)), "FARM.PRJ", wgs84), ""},
		{"zipped shapefile with measures", "Shapefile", zipped(t, "farm.shp", string(asShapefile(25)), "farm.prj", wgs84), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := read(t, c.text)
			assert.Equal(t, c.format, got.Format)
			assert.Empty(t, got.Notes)
			require.Len(t, got.Boundaries, 1)
			assert.Equal(t, c.field, got.Boundaries[0].Name)
			area, length := onPlane(t, got.Boundaries[0])
			wanted, _ := onPlane(t, want.Boundaries[0])
			assert.InDelta(t, wanted, area, tickError(length))
			assert.Len(t, got.Boundaries[0].Parts, 2)
			if c.format != "Shapefile" { // its rings run the other way, so they start elsewhere
				assert.Equal(t, want.Boundaries[0].Parts, got.Boundaries[0].Parts)
			}
		})
	}
}

// What was read and is written again comes back the same, with nothing to repair.
func TestReadAgain(t *testing.T) {
	texts := []string{asGeoJSON(), polygon(`[0,0],[0.005,0.005],[0.01,0],[0.01,0.01],[0.005,0.005],[0,0.01]`)}
	for _, set := range []string{"parcels-denmark", "parcels-finland", "parcels-nl-blocks"} {
		texts = append(texts, string(shared(t, set+"/parcels.geojson")))
	}
	for _, text := range texts {
		first := read(t, text)
		var features []string
		for _, b := range first.Boundaries {
			var polygons []string
			for _, p := range b.Parts {
				var rings []string
				for _, r := range append([][]geo.LonLat{p.Shell}, p.Holes...) {
					var places []string
					for _, q := range append(r, r[0]) {
						places = append(places, fmt.Sprintf("[%v,%v]", q.Lon, q.Lat))
					}
					rings = append(rings, "["+strings.Join(places, ",")+"]")
				}
				polygons = append(polygons, "["+strings.Join(rings, ",")+"]")
			}
			features = append(features, feature(fmt.Sprintf(`{"name":%q}`, b.Name),
				`{"type":"MultiPolygon","coordinates":[`+strings.Join(polygons, ",")+`]}`))
		}
		again := read(t, collection(features...))
		assert.Empty(t, again.Notes)
		assert.Equal(t, first.Boundaries, again.Boundaries)
	}
}

func TestOpenFindsFilesBeside(t *testing.T) {
	dir := t.TempDir()
	at := filepath.Join(dir, "farm.shp")
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	write("farm.shp", string(asShapefile(5)))
	f, err := open(at)
	require.NoError(t, err)
	assert.Equal(t, []string{"1 x no .prj file: coordinates taken as longitude and latitude on WGS 84"}, notes(f))

	write("farm.PRJ", nad83)
	write("farm.dbf", string(asTable()))
	f, err = open(at)
	require.NoError(t, err)
	assert.Equal(t, "Rapsfeld", f.Boundaries[0].Name)
	assert.Equal(t, []string{"1 x NAD83 taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right"}, notes(f))

	write("farm.prj", dhdn)
	_, err = open(at)
	assert.EqualError(t, err, at+`: .prj: coordinate system "DHDN_3_Degree_Gauss_Zone_3": datum "DHDN", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`)

	_, err = open(filepath.Join(dir, "none.shp"))
	assert.ErrorIs(t, err, source.ErrMissing)
}

func TestFormatErrors(t *testing.T) {
	kml := func(inside string) string { return "<kml>\n<Placemark>" + inside + "</Placemark></kml>" }
	ring := func(text string) string {
		return "<Polygon><outerBoundaryIs><LinearRing><coordinates>" + text + "</coordinates></LinearRing></outerBoundaryIs></Polygon>"
	}
	lying := asShapefile(5)
	binary.LittleEndian.PutUint32(lying[100+8+40:], 4_000_000_000) // points
	inMetres := asShapefile(5)
	binary.LittleEndian.PutUint64(inMetres[36:], math.Float64bits(500_000)) // the least easting in the header
	short := asShapefile(5)
	binary.BigEndian.PutUint32(short[100+4:], 1<<30) // length of the record
	// 100 MB of blanks in 100 kB
	bomb := zipped(t, "doc.kml", strings.Repeat(" ", 100<<20))
	require.Less(t, len(bomb), 1<<20)
	for _, c := range []struct{ name, text, want string }{
		{"WKT crossing", "\nPOLYGON((0 0,1 1,1 0,0 1,0 0))", "f:2: ring[0]: a ring that crosses itself at 0.500000, 0.500000 (lon, lat), want a ring that does not"},
		{"WKT open ring", "POLYGON((0 0,1 0,\n1 1,0 1))", "f:2: polygon ring not closed, want well-known text of a polygon"},
		{"WKT latitude", "POLYGON((0 0,100 0,1 91,0 0))", "f:1: ring[0][2]: latitude 91, want degrees within 90"},
		{"WKT other system", "SRID=1;POLYGON((0 0,1 0,1 1,0 0))", "f:1: coordinate system SRID=1, want a number of the EPSG dataset such as SRID=4326"},
		{"WKT point", "POINT(1 2)", "f:1: no polygon (Point left out: only polygons bound a field), want one at least"},
		{"WKT nested", strings.Repeat("GEOMETRYCOLLECTION(", 100), "f:1: brackets nested more than 16 deep, want a polygon"},
		{"KML number", kml(ring("0,0\n1,zero 1,1")), `f:3: Polygon[0].outerBoundaryIs[1]: "1,zero", want longitude,latitude such as -104.5,49.1`},
		{"KML blank after comma", kml(ring("0, 0 1, 0")), `f:2: Polygon[0].outerBoundaryIs[0]: "0,", want longitude,latitude such as -104.5,49.1`},
		{"KML swapped", kml(ring("49,-104 49,-104.01 49.01,-104")), "f:2: Polygon[0].outerBoundaryIs[0]: latitude -104; latitude and longitude look swapped, want longitude first, within 180, then latitude, within 90"},
		{"KML cut off", "<kml>\n<Placemark>", "f:2: the text ends within <Placemark>, want </Placemark>"},
		{"KML crossed tags", "<kml><a></b></kml>", "f:1: broken XML: </b> closes nothing"},
		{"KML entity", "<kml>\n&b;</kml>", "f:2: broken XML: invalid character entity &b;"},
		{"KML deep", "<kml>" + strings.Repeat("<a>", 3_000_000), "f:1: XML elements nested more than 64 deep, want KML"},
		{"KML long tag", "<kml " + strings.Repeat(`a="" `, 1<<20) + ">", "f:1: an XML tag longer than 1 MiB, want KML"},
		{"KML encoding", `<?xml version="1.0" encoding="ISO-8859-1"?><kml/>`, `f:1: text encoded as "ISO-8859-1", want UTF-8`},
		{"other XML", "<gpx></gpx>", "f:1: XML of kind <gpx>, want <kml>"},
		{"KMZ bomb", bomb, "f/doc.kml: more than 64 MiB, want a field boundary"},
		{"path that climbs out", zipped(t, "../doc.kml", asKML()), "f: a path in the archive that leaves it: ../doc.kml"},
		{"zip without a boundary", zipped(t, "a.txt", ""), "f: an archive without a .kml, .shp or .gpkg file, want KMZ, a zipped shapefile or a zipped GeoPackage"},
		{"zip cut off", zipped(t, "doc.kml", asKML())[:200], "f: a damaged zip archive, want KMZ, a zipped shapefile or a zipped GeoPackage"},
		{"shapefile of another datum", zipped(t, "a.shp", string(asShapefile(5)), "a.prj", dhdn), `f/a.shp: .prj: coordinate system "DHDN_3_Degree_Gauss_Zone_3": datum "DHDN", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
		{"shapefile without its .prj", zipped(t, "a.shp", string(inMetres)), "f/a.shp: no .prj file, and coordinates that are no degrees, want the .prj file that belongs to it, or longitude and latitude on WGS 84"},
		{"shapefile with a count that lies", string(lying), "f: record 1: 3 parts and 4000000000 points in 280 bytes, want 64000000056 bytes"},
		{"shapefile with a length that lies", string(short), "f: record 1: a length of 2147483648 bytes, want 4 to 280"},
		{"database", "SQLite format 3\x00", "f: a database of 16 bytes, want a whole GeoPackage"},
		{"words", "hello", "f: a kind of file not known, want GeoJSON, KML, KMZ, well-known text, a shapefile or a GeoPackage"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, refused(t, "f", c.text).Error())
		})
	}
}
