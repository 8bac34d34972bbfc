// Package geopackage reads the feature layers of a GeoPackage (OGC 12-128r19),
// an SQLite database, from memory, and gives what is in them as features of
// any format. It writes them to a file too, for report.
//
// A database from elsewhere may be made to do harm. Only plain tables are
// read, no views, virtual tables or computed columns, and no more rows and
// bytes than a sound file of its size can hold.
//
// Geometries are not read by go-geom's encoding/wkb: it makes room for as many
// places as a count says, 128 GiB for nine bytes that lie, and follows
// collections within collections to the end of the stack; its one limit is a
// variable for the whole program. geometry.go believes a count as far as there
// are bytes for it, and says how many are missing. Nor are they written by it:
// write.go makes their bytes of the places at once, without a copy in between.
// go-geom stands beside both in the tests.
package geopackage

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/vfs/memdb"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

// Magic is how every SQLite database begins.
const Magic = "SQLite format 3\x00"

// A Fault says what is wrong with a GeoPackage.
type Fault = geo.Fault

// A File is an open GeoPackage.
type File struct {
	conn   *sqlite3.Conn
	memory string // its name in memory
	size   int
	Layers []Layer
}

// A Layer is a table of features.
type Layer struct {
	Name    string
	Columns []string // all but the geometry and the key
	Kind    string   // "POINT", "POLYGON", …, in upper case, as the file says
	// System is the coordinate system, such as "EPSG:4326", and SystemName
	// what the file calls it.
	System, SystemName string

	geometry    string   // its column
	definitions []string // of the coordinate system, the one that says more first
}

// A Row is one feature. It is good until the next.
type Row struct {
	Geometry []byte          // the GeoPackage's binary form; empty for NULL
	Values   []feature.Value // in the order of Layer.Columns; empty for NULL and for binary
}

// opened counts files, to give each a name of its own in memory.
var opened atomic.Int64

// smallest is the least size of a page, of which a database has one at least.
const smallest = 512

// Open opens the GeoPackage in data, which must not change until it is closed. An error is
// a [*Fault].
func Open(data []byte) (*File, error) {
	if !bytes.HasPrefix(data, []byte(Magic)) {
		return nil, &Fault{Found: "no SQLite database", Want: "a GeoPackage"}
	}
	if len(data) < smallest {
		return nil, &Fault{Found: fmt.Sprintf("a database of %d bytes", len(data)), Want: "a whole GeoPackage"}
	}
	f := &File{memory: fmt.Sprintf("geopackage-%d", opened.Add(1)), size: len(data)}
	memdb.Create(f.memory, data)
	conn, err := sqlite3.OpenFlags("file:/"+f.memory+"?vfs=memdb", sqlite3.OPEN_READONLY|sqlite3.OPEN_URI)
	if err != nil {
		memdb.Delete(f.memory)
		return nil, f.damaged("", err)
	}
	f.conn = conn
	if err := f.prepare(); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// Close gives the memory back.
func (f *File) Close() {
	f.conn.Close() // nothing was written: there is nothing to lose
	memdb.Delete(f.memory)
}

// mostColumns is how many columns a layer may have; wider tables are not read
// by SQLite either.
const mostColumns = 2000

func (f *File) prepare() error {
	f.conn.Limit(sqlite3.LIMIT_LENGTH, max(f.size, 1<<20))
	f.conn.Limit(sqlite3.LIMIT_COLUMN, mostColumns)
	for _, set := range []struct {
		what sqlite3.DBConfig
		on   bool
	}{
		{sqlite3.DBCONFIG_TRUSTED_SCHEMA, false},
		{sqlite3.DBCONFIG_ENABLE_VIEW, false},
		{sqlite3.DBCONFIG_ENABLE_TRIGGER, false},
		{sqlite3.DBCONFIG_DEFENSIVE, true},
	} {
		if _, err := f.conn.Config(set.what, set.on); err != nil {
			return f.damaged("", err)
		}
	}
	return f.layers()
}

// damaged is the error for what SQLite cannot read.
func (f *File) damaged(where string, err error) *Fault {
	text, _, _ := strings.Cut(err.Error(), "\n")
	return &Fault{Where: where, Found: "a database that cannot be read (" + strings.TrimPrefix(text, "sqlite3: ") + ")", Want: "a whole GeoPackage"}
}

// query calls do for each row of a query whose tables are the file's.
func (f *File) query(where, sql string, do func(*sqlite3.Stmt) error) error {
	stmt, _, err := f.conn.Prepare(sql)
	if err != nil {
		return f.damaged(where, err)
	}
	defer stmt.Close()
	left := f.size // a row takes a byte at least
	for stmt.Step() {
		if left--; left < 0 {
			return &Fault{Where: where, Found: "more rows than the file has room for", Want: "a sound database"}
		}
		if err := do(stmt); err != nil {
			return err
		}
	}
	if err := stmt.Err(); err != nil {
		return f.damaged(where, err)
	}
	return nil
}

// layers lists the feature layers (clauses 1.1.3, 2.1.5).
func (f *File) layers() error {
	plain := map[string]bool{} // tables that are no view and not virtual, in lower case
	err := f.query("", "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table'", func(s *sqlite3.Stmt) error {
		plain[strings.ToLower(s.ColumnText(0))] = true
		return nil
	})
	if err != nil {
		return err
	}
	for _, table := range []string{"gpkg_contents", "gpkg_geometry_columns", "gpkg_spatial_ref_sys"} {
		if !plain[table] {
			return &Fault{Found: "an SQLite database without the table " + table, Want: "a GeoPackage"}
		}
	}
	newer := "NULL" // the definition in the later well-known text, where the file has one (annex F.10)
	err = f.query("gpkg_spatial_ref_sys", "SELECT 1 FROM pragma_table_xinfo('gpkg_spatial_ref_sys') WHERE name = 'definition_12_063' AND hidden = 0", func(*sqlite3.Stmt) error {
		newer = "s.definition_12_063"
		return nil
	})
	if err != nil {
		return err
	}
	err = f.query("gpkg_geometry_columns", `SELECT g.table_name, g.column_name, upper(g.geometry_type_name), s.organization, s.organization_coordsys_id, s.srs_name, `+newer+`, s.definition
		FROM gpkg_geometry_columns g JOIN gpkg_contents c ON c.table_name = g.table_name AND c.data_type = 'features'
		LEFT JOIN gpkg_spatial_ref_sys s ON s.srs_id = g.srs_id`, func(s *sqlite3.Stmt) error {
		l := Layer{Name: s.ColumnText(0), geometry: s.ColumnText(1), Kind: s.ColumnText(2),
			System: strings.ToUpper(s.ColumnText(3)) + ":" + s.ColumnText(4), SystemName: s.ColumnText(5)}
		for i := 6; i < 8; i++ {
			if text := strings.TrimSpace(s.ColumnText(i)); text != "" && !strings.EqualFold(text, "undefined") {
				l.definitions = append(l.definitions, text)
			}
		}
		if !plain[strings.ToLower(l.Name)] {
			return &Fault{Where: "layer " + l.Name, Found: "no plain table of this name", Want: "a table of features"}
		}
		f.Layers = append(f.Layers, l)
		return nil
	})
	if err != nil {
		return err
	}
	for i := range f.Layers {
		if err := f.columns(&f.Layers[i]); err != nil {
			return err
		}
	}
	return nil
}

// columns lists the columns of a layer. Computed ones are left out: what they
// compute is up to the file.
func (f *File) columns(l *Layer) error {
	return f.query("layer "+l.Name, "SELECT name, pk FROM pragma_table_xinfo("+quoted(l.Name, '\'')+") WHERE hidden = 0", func(s *sqlite3.Stmt) error {
		if name := s.ColumnText(0); !strings.EqualFold(name, l.geometry) && s.ColumnInt(1) == 0 {
			l.Columns = append(l.Columns, name)
		}
		return nil
	})
}

// quoted is a name between quotation marks, for SQL.
func quoted(name string, mark byte) string {
	m := string(mark)
	return m + strings.ReplaceAll(name, m, m+m) + m
}

// Each calls do for the features of a layer, in the order of the table.
func (f *File) Each(l *Layer, do func(Row) error) error {
	names := []string{quoted(l.geometry, '"')}
	for _, c := range l.Columns {
		names = append(names, quoted(c, '"'))
	}
	row := Row{Values: make([]feature.Value, len(l.Columns))}
	left := f.size
	return f.query("layer "+l.Name, "SELECT "+strings.Join(names, ", ")+" FROM main."+quoted(l.Name, '"'), func(s *sqlite3.Stmt) error {
		row.Geometry = nil
		if s.ColumnType(0) == sqlite3.BLOB {
			row.Geometry = s.ColumnRawBlob(0)
		}
		left -= len(row.Geometry)
		for i := range row.Values {
			row.Values[i] = feature.Value{}
			switch s.ColumnType(i + 1) {
			case sqlite3.NULL, sqlite3.BLOB:
				continue
			case sqlite3.TEXT:
				row.Values[i].Text = s.ColumnRawText(i + 1)
				left -= len(row.Values[i].Text)
			default:
				number := s.ColumnFloat(i + 1) // first: asking for text turns it into one
				row.Values[i] = feature.Value{Text: []byte(s.ColumnText(i + 1)), Number: number, Binary: true}
			}
		}
		if left < 0 {
			return &Fault{Where: "layer " + l.Name, Found: "more bytes than the file has room for", Want: "a sound database"}
		}
		return do(row)
	})
}

// Filled reports whether a layer has a feature.
func (f *File) Filled(l *Layer) (bool, error) {
	filled := false
	err := f.query("layer "+l.Name, "SELECT 1 FROM main."+quoted(l.Name, '"')+" LIMIT 1", func(*sqlite3.Stmt) error {
		filled = true
		return nil
	})
	return filled, err
}

// Projection is the coordinate system of a layer: by its number, if that is of
// the EPSG dataset and known, or else as its definition says.
func (l *Layer) Projection() (*projection.System, error) {
	found := fmt.Sprintf("coordinate system %s (%.60q)", l.System, l.SystemName)
	system, err := projection.Named(l.System)
	var shift *projection.ShiftError
	for _, text := range l.definitions {
		if err == nil || errors.As(err, &shift) {
			break
		}
		system, err = projection.Parse(text)
	}
	var fault *Fault
	switch {
	case err == nil:
		return system, nil
	case errors.As(err, &fault) && (errors.As(err, &shift) || len(l.definitions) > 0):
		return nil, &Fault{Where: "layer " + l.Name, Found: found + ": " + fault.Found, Want: fault.Want}
	}
	return nil, &Fault{Where: "layer " + l.Name, Found: found, Want: "one that is known by number or has a definition"}
}
