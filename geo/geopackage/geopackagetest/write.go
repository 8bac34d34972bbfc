// Package geopackagetest writes GeoPackages whose content tests know.
package geopackagetest

import (
	"database/sql"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/ncruces/go-sqlite3/driver"
	"github.com/stretchr/testify/require"
)

// A Package is a GeoPackage being written.
type Package struct {
	t    testing.TB
	db   *sql.DB
	Path string
}

// New begins a GeoPackage 1.3 with its required tables (OGC 12-128r19, annex
// C) in a folder of the test.
func New(t testing.TB) *Package {
	path := filepath.Join(t.TempDir(), "test.gpkg")
	db, err := sql.Open("sqlite3", "file:"+path)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	p := &Package{t, db, path}
	for _, statement := range []string{
		"PRAGMA application_id = 0x47504B47",
		"PRAGMA user_version = 10300",
		`CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
			organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT)`,
		`INSERT INTO gpkg_spatial_ref_sys VALUES ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', NULL),
			('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', NULL),
			('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]', NULL),
			('WGS 84 / UTM zone 30N', 32630, 'EPSG', 32630, 'undefined', NULL)`,
		`CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
			last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER)`,
		`CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
			z TINYINT NOT NULL, m TINYINT NOT NULL, CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name))`,
	} {
		p.Exec(statement)
	}
	return p
}

// Exec runs a statement.
func (p *Package) Exec(statement string, args ...any) {
	p.t.Helper()
	_, err := p.db.Exec(statement, args...)
	require.NoError(p.t, err)
}

// Layer adds an empty table of features with a key fid, a geometry geom and
// the columns given as SQL.
func (p *Package) Layer(name, kind string, system int, columns string) {
	p.Exec(`CREATE TABLE "` + strings.ReplaceAll(name, `"`, `""`) + `" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom ` + kind + columns + `)`)
	p.Exec(`INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES (?, 'features', ?, ?)`, name, name, system)
	p.Exec(`INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)`, name, kind, system)
}

// Bytes closes the file and returns it.
func (p *Package) Bytes() []byte {
	p.t.Helper()
	require.NoError(p.t, p.db.Close())
	data, err := os.ReadFile(p.Path)
	require.NoError(p.t, err)
	return data
}

// header is that of a geometry without envelope, little-endian, on WGS 84.
func header() []byte { return append([]byte("GP\x00\x01"), 0xe6, 0x10, 0, 0) }

func floats(b []byte, of ...float64) []byte {
	for _, x := range of {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

func counted(b []byte, n int) []byte { return binary.LittleEndian.AppendUint32(b, uint32(n)) }

// Point is a point as a GeoPackage has it.
func Point(lon, lat float64) []byte { return floats(counted(append(header(), 1), 1), lon, lat) }

// Polygon is a polygon as a GeoPackage has it: rings of longitude and
// latitude in turn.
func Polygon(rings ...[]float64) []byte { return append(header(), polygon(rings)...) }

// MultiPolygon is several.
func MultiPolygon(polygons ...[][]float64) []byte {
	b := counted(counted(append(header(), 1), 6), len(polygons))
	for _, rings := range polygons {
		b = append(b, polygon(rings)...)
	}
	return b
}

func polygon(rings [][]float64) []byte {
	b := counted(counted([]byte{1}, 3), len(rings))
	for _, r := range rings {
		b = floats(counted(b, len(r)/2), r...)
	}
	return b
}
