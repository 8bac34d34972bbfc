package geopackage

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/ncruces/go-sqlite3"
	_ "github.com/ncruces/go-sqlite3/vfs" // files on disk

	"lapwing/geo"
)

// A Writer makes a GeoPackage 1.3 of layers in longitude and latitude on
// WGS 84. It writes in one transaction and keeps no journal: a file is good
// once Close has returned, so give it a temporary name until then.
type Writer struct {
	conn    *sqlite3.Conn
	path    string
	changed string
	layers  []*LayerWriter
	noting  *box  // of the layer that takes rows, see [Writer.Attach]
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
	w := &Writer{conn: conn, path: path, changed: changed.UTC().Format("2006-01-02T15:04:05.000Z")}
	for _, statement := range slices.Concat([]string{
		"PRAGMA journal_mode = OFF", // first: nothing ever stands beside the file
		"PRAGMA synchronous = OFF",
		"PRAGMA secure_delete = ON", // so that the same rows give the same bytes, in however many steps they came
	}, Marks(), []string{"BEGIN"}, Tables(note)) {
		w.exec(statement)
	}
	if w.err != nil {
		conn.Close()
		return nil, ofFile(path, w.err)
	}
	return w, nil
}

// Marks are the statements that mark an empty database as a GeoPackage 1.3.
func Marks() []string {
	return []string{"PRAGMA application_id = 0x47504B47", "PRAGMA user_version = 10300"}
}

// Tables are the statements that make the tables that each GeoPackage has. note is kept
// in the file's list of tables.
func Tables(note string) []string {
	return []string{
		"CREATE TABLE gpkg_spatial_ref_sys (" + comment(note) + ` srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY,
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
	}
}

// NoteOf returns the note of a file that is as a Writer left it; "" of any other: SQLite
// counts in a file whenever it is changed, and how many pages it has.
func NoteOf(f io.ReaderAt, size int64) string {
	// The format of the file's header: https://www.sqlite.org/fileformat2.html, 1.3.
	const (
		pageSize, versions, changes, pages = 16, 18, 24, 28

		writes = 3 // two pragmas and the transaction
	)
	head := make([]byte, 4096)
	if _, err := f.ReadAt(head, 0); err != nil { // no file has less
		return ""
	}
	number := binary.BigEndian.Uint32
	if string(head[:len(Magic)]) != Magic ||
		head[versions] != 1 || head[versions+1] != 1 || // others keep a log beside the file
		number(head[changes:]) != writes ||
		int64(binary.BigEndian.Uint16(head[pageSize:]))*int64(number(head[pages:])) != size {
		return ""
	}
	_, note, _ := bytes.Cut(head, []byte(beforeNote))
	note, _, _ = bytes.Cut(note, []byte(afterNote))
	return string(note)
}

// The marks of a note, as it stands in the file.
const beforeNote, afterNote = "/* ", " */"

// comment is a note as it stands in the file.
func comment(note string) string { return beforeNote + strings.ReplaceAll(note, "*/", "") + afterNote }

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
	if err := bind(stmt, values); err != nil {
		return err
	}
	if err := stmt.Exec(); err != nil {
		return err
	}
	return stmt.ClearBindings()
}

// bind gives a statement its values.
func bind(stmt *sqlite3.Stmt, values []any) error {
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
	return nil
}

// A LayerWriter adds features to one table.
type LayerWriter struct {
	w       *Writer
	name    string
	plain   bool     // without geometry
	create  string   // the statement that made its table
	columns []string // as they stand in SQL, all but the key
	stmt    *sqlite3.Stmt
	taking  *taking // nil until rows are taken
	box     box
}

// Layer adds a table of features of a kind, "MULTIPOLYGON" or
// "MULTILINESTRING", or of rows without a place where kind is "".
func (w *Writer) Layer(name, kind, description string, columns []Column) *LayerWriter {
	l := &LayerWriter{w: w, name: name, plain: kind == "", box: nowhere}
	w.layers = append(w.layers, l)
	table := quoted(name, '"')
	create, marks := "CREATE TABLE "+table+" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL", ""
	var names []string
	if !l.plain {
		create += ", geom " + kind
		names, marks = append(names, "geom"), "?"
	}
	for _, c := range columns {
		create += ", " + quoted(c.Name, '"') + " " + c.Kind
		names = append(names, quoted(c.Name, '"'))
		marks += ", ?"
	}
	l.create, l.columns = create+")", names
	w.exec(l.create)
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
		l.stmt, _, w.err = w.conn.Prepare("INSERT INTO " + table + " (" + strings.Join(names, ", ") + ") VALUES (" + strings.TrimPrefix(marks, ", ") + ")")
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

// A Geometry is a geometry as a GeoPackage holds it. To make it takes as long as
// to write it, so it is made by itself, several at a time.
type Geometry struct {
	blob []byte
	box  box
}

// Blob is the geometry as it stands in a table.
func (g Geometry) Blob() []byte { return g.blob }

// WKB is the geometry in well-known binary, without what a GeoPackage has before it.
func (g Geometry) WKB() []byte { return g.blob[envelopeEnd:] }

// MultiPolygon returns the geometry of a feature that is polygons.
func MultiPolygon(polygons []geo.Polygon) Geometry {
	size := geometryHead
	for _, p := range polygons {
		size += wkbHead + ringSize(p.Shell)
		for _, h := range p.Holes {
			size += ringSize(h)
		}
	}
	g := begin(size, wkbMultiPolygon, len(polygons))
	for _, p := range polygons {
		g.head(wkbPolygon, 1+len(p.Holes))
		g.places(p.Shell)
		for _, h := range p.Holes {
			g.places(h)
		}
	}
	return g.end()
}

// MultiLine returns the geometry of a feature that is lines.
func MultiLine(lines [][]geo.LonLat) Geometry {
	size := geometryHead
	for _, l := range lines {
		size += wkbPartHead + ringSize(l)
	}
	g := begin(size, wkbMultiLine, len(lines))
	for _, l := range lines {
		g.part(wkbLine)
		g.places(l)
	}
	return g.end()
}

// The types of geometry in well-known binary (OGC 06-103r4, section 8), and how
// many bytes stand before what they hold: the byte order and the type, and for
// most of them a count.
const (
	wkbLine         = 2
	wkbPolygon      = 3
	wkbMultiLine    = 5
	wkbMultiPolygon = 6

	wkbPartHead  = 1 + 4
	wkbHead      = wkbPartHead + 4
	envelopeEnd  = 8 + 4*8 // the GeoPackage's own header, with the envelope
	geometryHead = envelopeEnd + wkbHead
)

func ringSize(places []geo.LonLat) int { return 4 + 16*len(places) }

// begin begins a geometry of many parts. Its envelope is known at its end.
func begin(size int, kind uint32, parts int) *Geometry {
	g := &Geometry{make([]byte, envelopeEnd, size), nowhere}
	g.head(kind, parts)
	return g
}

func (g *Geometry) part(kind uint32) {
	g.blob = binary.LittleEndian.AppendUint32(append(g.blob, 1), kind) // 1: the least byte first
}

func (g *Geometry) head(kind uint32, parts int) {
	g.part(kind)
	g.blob = binary.LittleEndian.AppendUint32(g.blob, uint32(parts))
}

// places appends a list of places.
func (g *Geometry) places(places []geo.LonLat) {
	b := binary.LittleEndian.AppendUint32(g.blob, uint32(len(places)))
	for _, p := range places {
		g.box.add(p)
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Lon))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Lat))
	}
	g.blob = b
}

// end writes what stands before the well-known binary (clause 2.1.3): with the
// envelope, and the coordinate system of all layers.
func (g *Geometry) end() Geometry {
	const (
		envelopeXY = 0b0010
		little     = 0b0001
		system     = 4326
	)
	b := append(g.blob[:0], 'G', 'P', 0, envelopeXY|little)
	b = binary.LittleEndian.AppendUint32(b, system)
	for _, v := range []float64{g.box.west, g.box.east, g.box.south, g.box.north} {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return *g
}

// A box is the smallest around some places.
type box struct{ west, south, east, north float64 }

// nowhere is the box around none.
var nowhere = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func (b *box) add(p geo.LonLat) {
	b.west, b.south = min(b.west, p.Lon), min(b.south, p.Lat)
	b.east, b.north = max(b.east, p.Lon), max(b.north, p.Lat)
}

func (b *box) join(o box) {
	b.west, b.south = min(b.west, o.west), min(b.south, o.south)
	b.east, b.north = max(b.east, o.east), max(b.north, o.north)
}

// Add adds a feature.
func (l *LayerWriter) Add(g Geometry, values ...any) {
	l.box.join(g.box)
	l.Row(append([]any{g.blob}, values...)...)
}

// Row adds a row without a place.
func (l *LayerWriter) Row(values ...any) {
	if l.w.err == nil {
		l.w.err = run(l.stmt, values)
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
		if l.taking != nil {
			if err := l.taking.close(); w.err == nil {
				w.err = err
			}
		}
		if !l.plain && l.box != nowhere {
			w.insert("UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = ?",
				l.box.west, l.box.south, l.box.east, l.box.north, l.name)
		}
	}
	w.exec("COMMIT")
	if err := w.conn.Close(); w.err == nil {
		w.err = err
	}
	return ofFile(w.path, w.err)
}

// ofFile makes what SQLite says of the disk an error of the file.
func ofFile(path string, err error) error {
	if errors.Is(err, sqlite3.FULL) || errors.Is(err, sqlite3.IOERR) || errors.Is(err, sqlite3.CANTOPEN) {
		return &fs.PathError{Op: "write", Path: path, Err: err}
	}
	return err
}
