// Package gpkg keeps a book in a GeoPackage, which any GIS opens: for one computer, on a
// disk of its own. What is in the files of its jobs stands in a folder beside it,
// book.files for book.gpkg, unless another one or a bucket is named for it.
//
// SQLite keeps a journal beside the file while it writes, so a book is as it was before
// or after a job was put, whenever the program ends or the power fails.
package gpkg

import (
	"context"
	_ "embed" // the migrations
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
	"github.com/ncruces/go-sqlite3/ext/rtree"
	_ "github.com/ncruces/go-sqlite3/vfs" // files on disk

	"lapwing/coverage/book"
	"lapwing/coverage/book/bucket"
	"lapwing/coverage/book/tables"
	"lapwing/geo"
	"lapwing/geo/geopackage"
)

//go:embed migrations/001.sql
var first string

//go:embed migrations/002.sql
var second string

//go:embed migrations/003.sql
var third string

//go:embed migrations/004.sql
var fourth string

var dialect = tables.Dialect{
	Migrations:   []string{first, second, third, fourth},
	End:          "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ', 'now')",
	Polygons:     func(p []geo.Polygon) any { return geopackage.MultiPolygon(p).Blob() },
	Lines:        func(l [][]geo.LonLat) any { return geopackage.MultiLine(l).Blob() },
	Shape:        func(mark string) string { return mark },
	ShapeOf:      func(column string) string { return column },
	ReadPolygons: readPolygons,
	ReadLines:    readLines,
	Near: func(table string, first int) string {
		return fmt.Sprintf("id IN (SELECT id FROM rtree_%s_geom WHERE maxx >= $%d AND maxy >= $%d AND minx <= $%d AND miny <= $%d)", table, first, first+1, first+2, first+3)
	},
	Meets: func(first int) string {
		return fmt.Sprintf("meets(geom, $%d, $%d, $%d, $%d)", first, first+1, first+2, first+3)
	},
	Reach: func(table string) string {
		return fmt.Sprintf(`SELECT min(minx), min(miny), max(maxx), max(maxy) FROM rtree_%s_geom WHERE id IN (SELECT id FROM "%s")`, table, table)
	},
	Time:     func(t time.Time) any { return t.Format("2006-01-02T15:04:05.000Z") },
	IsDisk:   isDisk,
	Ask:      "SELECT ask($1, $2)",
	Door:     door,
	StoredOf: "SELECT assessment FROM main.stored WHERE job = $1 ORDER BY part",
	Holds:    func(text string) string { return "instr(" + text + ", ?)" },
	Floor:    func(number string) string { return "CAST(" + number + " AS INTEGER)" },
	IsTaken: func(err error) bool {
		return errors.Is(err, sqlite3.CONSTRAINT_UNIQUE) || errors.Is(err, sqlite3.CONSTRAINT_PRIMARYKEY)
	},
	IsForbidden: func(error) bool { return false }, // what people may do is asked before
}

// Open opens the book at a path, which is made where it is missing. It is refused on a
// drive of another computer: there two programs may write at once and neither see the
// other's lock (https://www.sqlite.org/howtocorrupt.html, 2.1).
func Open(ctx context.Context, path string) (*tables.Book, error) { return OpenWith(ctx, path, "") }

// OpenWith is [Open] of a book whose files are at an address, see [bucket.Shelf]; "" is the
// folder beside it.
func OpenWith(ctx context.Context, path, files string) (*tables.Book, error) {
	b, _, err := open(ctx, path, files)
	return b, err
}

func open(ctx context.Context, path, files string) (b *tables.Book, name string, err error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, "", err
	}
	if kind, remote := onNetwork(filepath.Dir(full)); remote {
		return nil, "", fmt.Errorf("%s: found a network drive (%s), want a disk of this computer, or postgres://... for many", path, kind)
	}
	if files == "" {
		files = strings.TrimSuffix(full, filepath.Ext(full)) + ".files"
	}
	shelf, err := bucket.Shelf(ctx, files)
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", path, err)
	}
	at := url.URL{Scheme: "file", Path: filepath.ToSlash(full), RawQuery: "_txlock=immediate&_pragma=busy_timeout(30000)&_pragma=foreign_keys(1)"}
	if !strings.HasPrefix(at.Path, "/") {
		at.Path = "/" + at.Path // C:/book.gpkg
	}
	db, err := driver.Open(at.String(), func(c *sqlite3.Conn) error {
		for _, prepare := range []func(*sqlite3.Conn) error{rtree.Register, register, begin} {
			if err := prepare(c); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, "", ofBook(path, err)
	}
	// One at a time writes in any case, and what is read is read in an instant.
	db.SetMaxOpenConns(1)
	b, err = tables.Open(ctx, db, &dialect, shelf)
	return b, at.String(), ofBook(path, err)
}

// errOther is of a file that is a database and no book.
var errOther = errors.New("found a database that is no book, want a book or no file")

// begin makes of an empty file a GeoPackage, and refuses what is another database.
func begin(c *sqlite3.Conn) (err error) {
	tx, err := c.BeginImmediate()
	if err != nil {
		return err
	}
	defer tx.End(&err)
	count := func(where string) (n int) {
		stmt, _, failed := c.Prepare("SELECT count(*) FROM sqlite_schema WHERE " + where)
		if failed != nil {
			err = failed
			return 0
		}
		defer stmt.Close()
		if stmt.Step() {
			n = stmt.ColumnInt(0)
		}
		err = stmt.Err()
		return n
	}
	tablesThere := count("1")
	if err != nil {
		return err
	}
	if tablesThere > 0 {
		if count("name = 'book_migrations'") == 0 && err == nil {
			err = errOther
		}
		return err
	}
	// Its migrations follow in transactions of their own; from here on it is a book.
	for _, statement := range append(append(geopackage.Marks(), geopackage.Tables("a lapwing book")...),
		"CREATE TABLE book_migrations (version INTEGER NOT NULL PRIMARY KEY)") {
		if err := c.Exec(statement); err != nil {
			return err
		}
	}
	return nil
}

// isDisk reports whether an error is of a disk that is full or cannot be written. Of a
// full one SQLite is told no more, mostly, than that writing failed.
func isDisk(err error) bool {
	for _, why := range []error{sqlite3.FULL, sqlite3.IOERR_WRITE, sqlite3.IOERR_FSYNC, sqlite3.IOERR_TRUNCATE} {
		if errors.Is(err, why) {
			return true
		}
	}
	return false
}

// ofBook makes an error one of the book at a path.
func ofBook(path string, err error) error {
	switch {
	case err == nil:
		return nil
	case isDisk(err):
		var known *book.DiskError
		if !errors.As(err, &known) {
			err = &book.DiskError{Err: err}
		}
	case errors.Is(err, sqlite3.NOTADB):
		return fmt.Errorf("%s: found a file that is no database, want a book or no file", path)
	case errors.Is(err, sqlite3.CANTOPEN):
		return fmt.Errorf("%s: found no way to open or make it: %w", path, err)
	}
	return fmt.Errorf("%s: %w", path, err)
}
