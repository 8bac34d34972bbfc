package geopackage

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/ncruces/go-sqlite3"
)

// Attach opens another GeoPackage that a Writer left, of which the layers of this one may
// take rows: to copy them takes a fifth of the time of making them.
func (w *Writer) Attach(path string) {
	w.exec("PRAGMA trusted_schema = OFF")
	w.insert("ATTACH ? AS former", path)
	if w.err == nil {
		w.err = w.conn.CreateFunction("noted", 1, sqlite3.DIRECTONLY, func(ctx sqlite3.Context, of ...sqlite3.Value) {
			if blob := of[0].RawBlob(); len(blob) >= envelopeEnd && w.noting != nil {
				w.noting.join(envelope(blob))
			}
			ctx.ResultValue(of[0])
		})
	}
}

// envelope is the box that [Geometry.end] writes.
func envelope(blob []byte) box {
	side := func(i int) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(blob[8+8*i:])) }
	return box{west: side(0), east: side(1), south: side(2), north: side(3)}
}

// Former gives the rows of the layer of this name in the attached GeoPackage, without their
// geometry; numbers are float64. It is an error if that has no layer with the same columns.
func (l *LayerWriter) Former(each func(values []any)) error {
	if l.w.err != nil {
		return l.w.err
	}
	var create string
	if err := l.w.ask(func(s *sqlite3.Stmt) { create = s.ColumnText(0) }, "SELECT sql FROM former.sqlite_schema WHERE type = 'table' AND name = ?", l.name); err != nil {
		return err
	}
	if create != l.create {
		return fmt.Errorf("%s: found a layer of other columns, want the same to take its rows", l.name)
	}
	return l.w.ask(func(s *sqlite3.Stmt) {
		values := make([]any, s.ColumnCount())
		for i := range values {
			switch s.ColumnType(i) {
			case sqlite3.INTEGER, sqlite3.FLOAT:
				values[i] = s.ColumnFloat(i)
			case sqlite3.TEXT:
				values[i] = s.ColumnText(i)
			}
		}
		each(values)
	}, "SELECT "+strings.Join(l.columns[1:], ", ")+" FROM former."+quoted(l.name, '"')+" ORDER BY fid")
}

// ask calls each for the rows that a question has.
func (w *Writer) ask(each func(*sqlite3.Stmt), question string, values ...any) error {
	stmt, _, err := w.conn.Prepare(question)
	if err != nil {
		return err
	}
	defer stmt.Close()
	if err := bind(stmt, values); err != nil {
		return err
	}
	for stmt.Step() {
		each(stmt)
	}
	return stmt.Err()
}

// A taking is what takes rows of a layer out of the attached GeoPackage.
type taking struct {
	last   int           // key there
	number *sqlite3.Stmt // asks for the first column of a row by its key
	rows   *sqlite3.Stmt // takes rows from one key to another
}

// Take adds those rows of the layer of this name in the attached GeoPackage that have one
// number in their first column after the geometry, in their order, with another there. The rows
// there have to be in the order of their numbers.
func (l *LayerWriter) Take(was, is int) {
	if l.w.err == nil {
		l.w.err = l.takeRows(was, is)
	}
}

func (l *LayerWriter) takeRows(was, is int) error {
	if l.taking == nil {
		if err := l.beginTaking(); err != nil {
			return err
		}
	}
	from, err := l.taking.firstFrom(was, 1)
	if err != nil {
		return err
	}
	after, err := l.taking.firstFrom(was+1, from)
	if err != nil || from == after {
		return err
	}
	l.w.noting = &l.box
	return run(l.taking.rows, []any{is, from, after})
}

func (l *LayerWriter) beginTaking() (err error) {
	t, table := &taking{}, quoted(l.name, '"')
	l.taking = t
	if err := l.w.ask(func(s *sqlite3.Stmt) { t.last = s.ColumnInt(0) }, "SELECT max(fid) FROM former."+table); err != nil {
		return err
	}
	if t.number, _, err = l.w.conn.Prepare("SELECT " + l.columns[1] + " FROM former." + table + " WHERE fid = ?"); err != nil {
		return err
	}
	t.rows, _, err = l.w.conn.Prepare("INSERT INTO main." + table + " (" + strings.Join(l.columns, ", ") + ") SELECT " +
		strings.Join(append([]string{"noted(geom)", "?"}, l.columns[2:]...), ", ") + " FROM former." + table + " WHERE fid >= ? AND fid < ? ORDER BY fid")
	return err
}

// firstFrom returns the key of the first row, from one on, with a number or a larger one.
func (t *taking) firstFrom(number, from int) (key int, err error) {
	key = from + sort.Search(t.last+1-from, func(i int) bool {
		if err == nil {
			err = bind(t.number, []any{from + i})
		}
		if err != nil {
			return true
		}
		found := t.number.Step() && t.number.ColumnInt(0) >= number
		err = t.number.Reset()
		return found
	})
	return key, err
}

func (t *taking) close() error { return errors.Join(t.number.Close(), t.rows.Close()) }
