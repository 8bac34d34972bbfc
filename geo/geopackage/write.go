package geopackage

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/ncruces/go-sqlite3"
	_ "github.com/ncruces/go-sqlite3/vfs" // files on disk
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkb"

	"lapwing/geo"
)

// A Writer makes a GeoPackage 1.3 of layers in longitude and latitude on
// WGS 84. It writes in one transaction and keeps no journal: a file is good
// once Close has returned, so give it a temporary name until then.
type Writer struct {
	conn    *sqlite3.Conn
	changed string
	layers  []*LayerWriter
	err     error // the first
}

// A Column is one property of the features of a layer.
type Column struct {
	Name string
	Kind string // "TEXT", "INTEGER" or "REAL"
}

// Create begins a GeoPackage in an empty or missing file. note is kept in the
// file's list of tables; changed is the time its layers are said to be of, so
// that the same content gives the same bytes.
func Create(path, note string, changed time.Time) (*Writer, error) {
	conn, err := sqlite3.OpenFlags(path, sqlite3.OPEN_READWRITE|sqlite3.OPEN_CREATE)
	if err != nil {
		return nil, err
	}
	w := &Writer{conn: conn, changed: changed.UTC().Format("2006-01-02T15:04:05.000Z")}
	for _, statement := range []string{
		"PRAGMA application_id = 0x47504B47",
		"PRAGMA user_version = 10300",
		"PRAGMA journal_mode = OFF",
		"PRAGMA synchronous = OFF",
		"BEGIN",
		"CREATE TABLE gpkg_spatial_ref_sys (" + "/* " + strings.ReplaceAll(note, "*/", "") + " */" + ` srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY,
			organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT)`,
		`INSERT INTO gpkg_spatial_ref_sys VALUES
			('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]', 'longitude/latitude coordinates in decimal degrees on the WGS 84 spheroid'),
			('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinate reference system'),
			('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system')`,
		`CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '',
			last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
			CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id))`,
		`CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL,
			z TINYINT NOT NULL, m TINYINT NOT NULL, CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
			CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
			CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id))`,
	} {
		w.exec(statement)
	}
	if w.err != nil {
		conn.Close()
		return nil, w.err
	}
	return w, nil
}

func (w *Writer) exec(statement string) {
	if w.err == nil {
		w.err = w.conn.Exec(statement)
	}
}

// insert runs a statement with its values.
func (w *Writer) insert(statement string, values ...any) {
	if w.err != nil {
		return
	}
	stmt, _, err := w.conn.Prepare(statement)
	if err != nil {
		w.err = err
		return
	}
	defer stmt.Close()
	w.err = run(stmt, values)
}

func run(stmt *sqlite3.Stmt, values []any) error {
	for i, v := range values {
		var err error
		switch v := v.(type) {
		case nil:
			err = stmt.BindNull(i + 1)
		case string:
			err = stmt.BindText(i+1, v)
		case int:
			err = stmt.BindInt64(i+1, int64(v))
		case float64:
			err = stmt.BindFloat(i+1, v)
		case []byte:
			err = stmt.BindBlob(i+1, v)
		default:
			err = fmt.Errorf("a %T, want text, a number or nil", v)
		}
		if err != nil {
			return err
		}
	}
	if err := stmt.Exec(); err != nil {
		return err
	}
	return stmt.ClearBindings()
}

// A LayerWriter adds features to one table.
type LayerWriter struct {
	w     *Writer
	name  string
	plain bool // without geometry
	stmt  *sqlite3.Stmt
	box   *geom.Bounds
}

// Layer adds a table of features of a kind, "MULTIPOLYGON" or
// "MULTILINESTRING", or of rows without a place where kind is "".
func (w *Writer) Layer(name, kind, description string, columns []Column) *LayerWriter {
	l := &LayerWriter{w: w, name: name, plain: kind == "", box: geom.NewBounds(geom.XY)}
	w.layers = append(w.layers, l)
	table := quoted(name, '"')
	create, names, marks := "CREATE TABLE "+table+" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL", "", ""
	if !l.plain {
		create += ", geom " + kind
		names, marks = "geom", "?"
	}
	for _, c := range columns {
		create += ", " + quoted(c.Name, '"') + " " + c.Kind
		names += ", " + quoted(c.Name, '"')
		marks += ", ?"
	}
	w.exec(create + ")")
	data := "features"
	if l.plain {
		data = "attributes"
	}
	w.insert(`INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id) VALUES (?, ?, ?, ?, ?, ?)`,
		name, data, name, description, w.changed, system(l.plain))
	if !l.plain {
		w.insert(`INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, 4326, 0, 0)`, name, kind)
	}
	if w.err == nil {
		l.stmt, _, w.err = w.conn.Prepare("INSERT INTO " + table + " (" + strings.TrimPrefix(names, ", ") + ") VALUES (" + strings.TrimPrefix(marks, ", ") + ")")
	}
	return l
}

// system is the coordinate system of a table: none of one without places.
func system(plain bool) any {
	if plain {
		return nil
	}
	return 4326
}

// Polygons adds a feature that is polygons.
func (l *LayerWriter) Polygons(polygons []geo.Polygon, values ...any) {
	g := geom.NewMultiPolygon(geom.XY)
	for _, p := range polygons {
		flat := flatten(nil, p.Shell)
		ends := []int{len(flat)}
		for _, h := range p.Holes {
			flat = flatten(flat, h)
			ends = append(ends, len(flat))
		}
		l.keep(g.Push(geom.NewPolygonFlat(geom.XY, flat, ends)))
	}
	l.add(g, values)
}

// Lines adds a feature that is lines.
func (l *LayerWriter) Lines(lines [][]geo.LonLat, values ...any) {
	g := geom.NewMultiLineString(geom.XY)
	for _, line := range lines {
		l.keep(g.Push(geom.NewLineStringFlat(geom.XY, flatten(nil, line))))
	}
	l.add(g, values)
}

// flatten appends places as go-geom holds them.
func flatten(flat []float64, places []geo.LonLat) []float64 {
	flat = slices.Grow(flat, 2*len(places))
	for _, p := range places {
		flat = append(flat, p.Lon, p.Lat)
	}
	return flat
}

// Row adds a row without a place.
func (l *LayerWriter) Row(values ...any) {
	if l.w.err == nil {
		l.w.err = run(l.stmt, values)
	}
}

func (l *LayerWriter) add(g geom.T, values []any) {
	box := g.Bounds() // none: from +Inf to -Inf
	l.box.Extend(g)
	var b bytes.Buffer
	b.Write(header(box))
	l.keep(wkb.Write(&b, wkb.NDR, g))
	l.Row(append([]any{b.Bytes()}, values...)...)
}

// keep keeps the first error.
func (l *LayerWriter) keep(err error) {
	if l.w.err == nil {
		l.w.err = err
	}
}

// Close completes the file.
func (w *Writer) Close() error {
	for _, l := range w.layers {
		if l.stmt != nil {
			if err := l.stmt.Close(); w.err == nil {
				w.err = err
			}
		}
		if !l.plain && !l.box.IsEmpty() {
			w.insert("UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = ?",
				l.box.Min(0), l.box.Min(1), l.box.Max(0), l.box.Max(1), l.name)
		}
	}
	w.exec("COMMIT")
	if err := w.conn.Close(); w.err == nil {
		w.err = err
	}
	return w.err
}

// header is what stands before the well-known binary of a geometry (clause
// 2.1.3): with its envelope, and the coordinate system of all layers.
func header(box *geom.Bounds) []byte {
	const (
		envelopeXY = 0b0010
		little     = 0b0001
		system     = 4326
	)
	b := append(make([]byte, 0, 8+32), 'G', 'P', 0, envelopeXY|little)
	b = binary.LittleEndian.AppendUint32(b, system)
	for _, v := range []float64{box.Min(0), box.Max(0), box.Min(1), box.Max(1)} { // west, east, south, north
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b
}
