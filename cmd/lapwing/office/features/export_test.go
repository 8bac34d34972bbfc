package features_test

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkb"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/geo"
	"lapwing/geo/geopackage"
	"lapwing/geo/tile"
)

// tileOfNorth is the tile of zoom 14 where the field North of booktest is, at 98.4 degrees
// west and 50 north: x = floor((lon + 180) / 360 * 2^14), y by the formula of the tile matrix
// set (OGC 17-083r4, annex D.1).
var tileOfNorth = tile.Tile{Z: 14, X: 3713, Y: 5556}

func TestTiles(t *testing.T) { tiles(t, newHouse(t)) }

func tiles(t *testing.T, h *house) {
	for _, l := range book.Layers {
		res, body := h.get(t, "ada", "/tiles/"+l.Name+"/14/3713/5556.mvt")
		require.Equal(t, http.StatusOK, res.StatusCode, l.Name)
		assert.Equal(t, "application/vnd.mapbox-vector-tile", res.Header.Get("Content-Type"))
		drawn := booktest.Drawn(t, l.Name, body)
		assert.NotEmpty(t, drawn)
		for _, f := range drawn {
			assert.Equal(t, "North", f.Properties["field"])
		}
		res, body = h.get(t, "bo", "/tiles/"+l.Name+"/14/3713/5556.mvt")
		assert.Equal(t, http.StatusNoContent, res.StatusCode)
		assert.Empty(t, body)
	}
	res, _ := h.get(t, "ada", "/tiles/ground/14/3713/5556.mvt?year=2025")
	assert.Equal(t, http.StatusNoContent, res.StatusCode)
}

// info is what GDAL's ogrinfo says, which must have nothing to object.
func info(t *testing.T, env []string, args ...string) string {
	t.Helper()
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		require.NotEqual(t, "all", os.Getenv("LAPWING_STRANGERS"), "no ogrinfo: install gdal-bin")
		t.Skip("no ogrinfo (Debian's gdal-bin): it was not asked")
	}
	var said, wrong bytes.Buffer
	c := exec.CommandContext(t.Context(), ogrinfo, append([]string{"-ro"}, args...)...)
	c.Env = append(os.Environ(), env...)
	c.Stdout, c.Stderr = &said, &wrong
	require.NoError(t, c.Run(), wrong.String())
	require.Empty(t, wrong.String())
	return said.String()
}

func counted(t *testing.T, said string) int {
	t.Helper()
	found := regexp.MustCompile(`Feature Count: (\d+)`).FindStringSubmatch(said)
	require.NotNil(t, found, said)
	n, err := strconv.Atoi(found[1])
	require.NoError(t, err)
	return n
}

// A GeoPackage of a selection is read by our own reader, and by GDAL with the types that its
// columns have.
func TestGeoPackage(t *testing.T) { geoPackage(t, newHouse(t)) }

func geoPackage(t *testing.T, h *house) {
	layersOf := func(who, at string) (rows map[string]int, data []byte) {
		t.Helper()
		res, data := h.get(t, who, at)
		require.Equal(t, http.StatusOK, res.StatusCode, "%s", data)
		assert.Equal(t, "application/geopackage+sqlite3", res.Header.Get("Content-Type"))
		assert.Contains(t, res.Header.Get("Content-Disposition"), `attachment; filename="fields.gpkg"`)
		f, err := geopackage.Open(data)
		require.NoError(t, err)
		defer f.Close()
		rows = map[string]int{}
		for i := range f.Layers {
			rows[f.Layers[i].Name] = 0
			require.NoError(t, f.Each(&f.Layers[i], func(geopackage.Row) error {
				rows[f.Layers[i].Name]++
				return nil
			}))
		}
		return rows, data
	}
	all, want := map[string]int{}, map[string]int{}
	for _, l := range book.Layers {
		all[l.Name], want[l.Name] = len(h.featuresOf(t, h.crowd.Max, book.Selection{Layer: l.Name})), len(h.featuresOf(t, h.crowd.Ada, book.Selection{Layer: l.Name}))
		require.NotZero(t, want[l.Name])
	}
	rows, _ := layersOf("max", "/export.gpkg")
	assert.Equal(t, all, rows)
	rows, _ = layersOf("max", "/export.gpkg?farm=Aspen&year=2026&machine=drill+A")
	assert.Equal(t, want, rows)
	rows, _ = layersOf("cy", "/export.gpkg")
	assert.Equal(t, map[string]int{"fields": 0, "ground": 0, "passes": 0, "skips": 0, "overlaps": 0}, rows)
	rows, _ = layersOf("max", "/export.gpkg?cause=none")
	assert.Equal(t, map[string]int{"skips": 0, "overlaps": 0}, rows, "only what has causes")
	rows, data := layersOf("ada", "/export.gpkg?collections=ground,skips,ground")
	assert.Equal(t, map[string]int{"ground": want["ground"], "skips": want["skips"]}, rows)

	path := filepath.Join(t.TempDir(), "fields.gpkg")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	said := info(t, nil, "-al", path)
	for _, has := range []string{"Layer name: ground", "Layer name: skips", "Geometry: Multi Polygon", "mistake: Integer(Boolean)", "last_work: DateTime", "area_m2: Real", `ID["EPSG",4326]`,
		"farm (String) = Aspen", "first_work (DateTime) = 2026/05/04 09:00:00+00"} {
		assert.Contains(t, said, has)
	}
}

// A GeoParquet file is read by a reader that knows nothing of us, and says of itself what
// GeoParquet 1.1.0 wants (https://geoparquet.org/releases/v1.1.0/): the section is named at
// each check.
func TestGeoParquet(t *testing.T) { geoParquet(t, newHouse(t)) }

func geoParquet(t *testing.T, h *house) {
	for _, l := range book.Layers {
		res, data := h.get(t, "ada", "/collections/"+l.Name+"/items.parquet?year=2026")
		require.Equal(t, http.StatusOK, res.StatusCode, "%s", data)
		assert.Equal(t, "application/vnd.apache.parquet", res.Header.Get("Content-Type"), "its media type, Additional information")
		f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		want := h.featuresOf(t, h.crowd.Ada, book.Selection{Layer: l.Name})
		require.EqualValues(t, len(want), f.NumRows())

		text, ok := f.Lookup("geo")
		require.True(t, ok, "File metadata: under the key geo")
		var said struct {
			Version string
			Primary string `json:"primary_column"`
			Columns map[string]map[string]any
		}
		require.NoError(t, json.Unmarshal([]byte(text), &said))
		assert.Equal(t, "1.1.0", said.Version, "File metadata: version")
		require.Len(t, said.Columns, 1)
		about := said.Columns[said.Primary]
		require.NotNil(t, about, "File metadata: primary_column is one of columns")
		kind := "MultiPolygon"
		if l.Lines {
			kind = "MultiLineString"
		}
		assert.Equal(t, "WKB", about["encoding"], "Column metadata: encoding")
		assert.Equal(t, []any{kind}, about["geometry_types"], "geometry_types: strictly those that are there")
		assert.NotContains(t, about, "crs", "crs: without one OGC:CRS84 holds; null would be an unknown one")
		assert.Equal(t, "planar", about["edges"], "edges")
		assert.NotContains(t, about, "epoch", "epoch: is of another crs")

		shape, ok := f.Schema().Lookup(said.Primary)
		require.True(t, ok, "Geometry columns: at the root")
		assert.Equal(t, parquet.ByteArray, shape.Node.Type().Kind(), "Geometry columns: BYTE_ARRAY")
		assert.False(t, shape.Node.Repeated(), "Repetition: required or optional")
		covering := about["covering"].(map[string]any)["bbox"].(map[string]any)
		var sides []parquet.LeafColumn
		for _, side := range []string{"xmin", "ymin", "xmax", "ymax"} {
			at := covering[side].([]any)
			require.Len(t, at, 2, "bbox covering encoding: column and field")
			column, ok := f.Schema().Lookup(at[0].(string), at[1].(string))
			require.True(t, ok)
			assert.Equal(t, side, at[1], "bbox covering encoding: the names of the fields")
			assert.Equal(t, parquet.Double, column.Node.Type().Kind(), "bbox covering encoding: FLOAT or DOUBLE, all of them the same")
			sides = append(sides, column)
		}
		for i, field := range f.Schema().Fields() {
			if field.Name() == "bbox" {
				assert.Equal(t, shape.Node.Optional(), field.Optional(), "bbox covering encoding: its repetition is that of the shape")
				for k, side := range field.Fields() {
					assert.Equal(t, []string{"xmin", "ymin", "xmax", "ymax"}[k], side.Name(), "bbox covering encoding: in this order")
				}
				assert.Equal(t, len(f.Schema().Fields())-1, i)
			}
		}

		whole := geom.NewBounds(geom.XY)
		rows := rowsOf(t, f)
		for i, row := range rows {
			assert.Equal(t, want[i].ID, row[0].Int64())
			g, err := wkb.Unmarshal(row[shape.ColumnIndex].ByteArray())
			require.NoError(t, err)
			switch g := g.(type) {
			case *geom.MultiPolygon:
				assert.Equal(t, want[i].Polygons, polygonsOf(g))
				for p := range g.NumPolygons() {
					for r := range g.Polygon(p).NumLinearRings() {
						assert.Equal(t, r == 0, counterclockwise(g.Polygon(p).LinearRing(r).Coords()), "orientation: shells go counterclockwise, holes clockwise")
					}
				}
				assert.Equal(t, "counterclockwise", about["orientation"])
			case *geom.MultiLineString:
				assert.NotContains(t, about, "orientation")
				assert.Equal(t, len(want[i].Lines), g.NumLineStrings())
				assert.Equal(t, want[i].Lines[0][0], geo.LonLat{Lon: g.Coords()[0][0].X(), Lat: g.Coords()[0][0].Y()})
			default:
				t.Errorf("found a %T", g)
			}
			b := g.Bounds()
			for k, v := range []float64{b.Min(0), b.Min(1), b.Max(0), b.Max(1)} {
				assert.Equal(t, v, row[sides[k].ColumnIndex].Double(), "bbox covering: around the shape")
			}
			whole.Extend(g)
			for k, p := range l.Properties {
				column, ok := f.Schema().Lookup(p.Name)
				require.True(t, ok, p.Name)
				value := row[column.ColumnIndex]
				switch v := want[i].Values[k].(type) {
				case nil:
					assert.True(t, value.IsNull(), p.Name)
				case string:
					assert.Equal(t, v, string(value.ByteArray()))
				case int64:
					assert.Equal(t, v, value.Int64())
				case float64:
					assert.Equal(t, v, value.Double())
				case bool:
					assert.Equal(t, v, value.Boolean())
				case time.Time:
					assert.Equal(t, v, time.UnixMilli(value.Int64()).UTC())
				}
			}
		}
		assert.Equal(t, []any{whole.Min(0), whole.Min(1), whole.Max(0), whole.Max(1)}, about["bbox"], "bbox: xmin, ymin, xmax, ymax")
	}

	_, data := h.get(t, "cy", "/collections/skips/items.parquet")
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	assert.Zero(t, f.NumRows())
	text, _ := f.Lookup("geo")
	assert.Contains(t, text, `"geometry_types":[]`, "geometry_types: none are known")
}

func rowsOf(t *testing.T, f *parquet.File) (rows []parquet.Row) {
	t.Helper()
	r := parquet.NewReader(f)
	defer r.Close()
	for {
		buffer := make([]parquet.Row, 1)
		n, err := r.ReadRows(buffer)
		if n == 1 {
			rows = append(rows, buffer[0].Clone())
		}
		if err == io.EOF {
			return rows
		}
		require.NoError(t, err)
	}
}

// counterclockwise tells by the surveyor's formula.
func counterclockwise(ring []geom.Coord) bool {
	sum := 0.
	for i := 1; i < len(ring); i++ {
		sum += (ring[i].X() - ring[i-1].X()) * (ring[i].Y() + ring[i-1].Y())
	}
	return sum < 0
}

func polygonsOf(g *geom.MultiPolygon) (out []geo.Polygon) {
	for _, rings := range g.Coords() {
		var p geo.Polygon
		for i, ring := range rings {
			var places []geo.LonLat
			for _, at := range ring {
				places = append(places, geo.LonLat{Lon: at.X(), Lat: at.Y()})
			}
			if i == 0 {
				p.Shell = places
			} else {
				p.Holes = append(p.Holes, places)
			}
		}
		out = append(out, p)
	}
	return out
}

// GDAL's driver for OGC API - Features (https://gdal.org/en/latest/drivers/vector/oapif.html)
// lists the collections and reads them, page after page, as whoever its token is.
func TestAgainstOGR(t *testing.T) { againstOGR(t, newHouse(t)) }

func againstOGR(t *testing.T, h *house) {
	as := func(who string) []string { return []string{"GDAL_HTTP_HEADERS=Authorization: Bearer " + who} }
	at := "OAPIF:" + h.root
	said := info(t, as("max"), "-oo", "PAGE_SIZE=2", at)
	for i, l := range book.Layers {
		assert.Contains(t, said, strconv.Itoa(i+1)+": "+l.Name)
	}
	for _, l := range book.Layers {
		for who, person := range map[string]int64{"max": h.crowd.Max, "ada": h.crowd.Ada, "cy": h.crowd.Cy} {
			want := h.featuresOf(t, person, book.Selection{Layer: l.Name})
			said := info(t, as(who), "-oo", "PAGE_SIZE=2", at, l.Name)
			assert.Equal(t, len(want), counted(t, said), "%s of %s", l.Name, who)
			assert.Len(t, regexp.MustCompile(`OGRFeature\(`).FindAllString(said, -1), len(want), "%s of %s", l.Name, who)
		}
	}
	box := h.page(t, "ada", "/collections/fields").Extent.Spatial.Bbox[0]
	spat := []string{"-spat"}
	for _, v := range box {
		spat = append(spat, strconv.FormatFloat(v, 'f', 6, 64))
	}
	said = info(t, as("max"), append(spat, at, "ground")...)
	assert.Equal(t, 1, counted(t, said))
	for _, has := range []string{"field (String) = North", "farm (String) = Aspen", "year (Integer", "MULTIPOLYGON (((-98.4"} {
		assert.Contains(t, said, has)
	}
	assert.NotContains(t, said, "South")
	said = info(t, as("max"), "-where", "farm = 'Birch'", at, "skips")
	assert.Equal(t, len(h.featuresOf(t, h.crowd.Bo, book.Selection{Layer: "skips"})), counted(t, said))
	assert.NotContains(t, said, "North")
}
