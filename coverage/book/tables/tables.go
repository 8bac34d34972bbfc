// Package tables is a book in the tables of a database, and what is asked of them in
// SQL. Databases differ in a [Dialect]: how tables are made, how a shape is written.
// The package comment of book tells what each table holds.
//
//	migrate.go  the tables, from any version to the newest
//	put.go      a job into the tables
//	field.go    which field an assessment is of
//	features.go what it shows, as features and tiles
//	figures.go  what machines did, causes of waste, where a field is on the map
//	ask.go      who asks, in a book that is open to people
//	years.go    questions over years
//	overview.go the map of all fields
//	door.go     what is asked before it is known who comes
//	members.go  farms, people and what they may do
//
// Statements count their values from $1 in the order in which they stand, which both
// databases take.
package tables

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/geo"
	"lapwing/geo/tile"
)

// A Dialect is what is a database's own.
type Dialect struct {
	// Migrations make the tables, each from the version before. They are not changed
	// once they are released.
	Migrations []string
	// Begin is what each transaction that writes does first, so that one waits for
	// the other; "" where the database sees to that.
	Begin string
	// End is what each transaction that puts a job does last; "" for nothing.
	End string
	// Polygons and Lines give a shape as a value, which stands at a mark, such as $3, as
	// Shape writes it. ShapeOf asks for a shape, which ReadPolygons and ReadLines read.
	Polygons     func([]geo.Polygon) any
	Lines        func([][]geo.LonLat) any
	Shape        func(mark string) string
	ShapeOf      func(column string) string
	ReadPolygons func([]byte) ([]geo.Polygon, error)
	ReadLines    func([]byte) ([][]geo.LonLat, error)
	// Near is the condition that the box of a row of a table meets that from west and south
	// (the marks of the number first and the next) to east and north (the two after those);
	// Meets that the shape of the row meets it.
	Near  func(table string, first int) string
	Meets func(first int) string
	// Reach asks for the west, south, east and north of all shapes of a table.
	Reach func(table string) string
	// Tile asks for a vector tile, as package tile draws it, of columns of rows that stand
	// where from has them; nil where the database draws none.
	Tile func(layer, columns, from string, at tile.Tile, points bool) string
	// Holds is where in a text another one, ?, stands, from 1; 0 where it does not.
	Holds func(text string) string
	// Floor is a number that is not below zero without what stands behind its point.
	Floor func(number string) string
	// Time gives a time in UTC as a value.
	Time func(time.Time) any
	// Ask has the rest of a transaction see what a person ($1) may see of a farm ($2), and
	// no more. AsksToWrite says that the database holds that for what is written too.
	Ask         string
	AsksToWrite bool
	// Door is what is asked before it is known who comes.
	Door DoorQueries
	// StoredOf asks for what is stored of a job, whose key only who has its files can know.
	StoredOf string
	// IsTaken reports whether an error is that a name is taken; IsForbidden that the
	// database refused who asks.
	IsTaken, IsForbidden func(error) bool
	// IsDisk reports whether an error is that the disk is full or cannot be written.
	IsDisk func(error) bool
}

// A Shelf keeps what is in files, by its hash.
type Shelf interface {
	// Has reports whether it was kept.
	Has(ctx context.Context, sha256 string) (bool, error)
	// Add keeps it. Until it is kept whole it is not there; an error of from is one of
	// its own, after which nothing is kept.
	Add(ctx context.Context, sha256 string, from io.Reader) error
	// Open opens it; [book.ErrNotFound] where it is not there.
	Open(ctx context.Context, sha256 string) (io.ReadCloser, error)
}

// A Book is a [book.Store] in tables.
type Book struct {
	db      *sql.DB
	dialect *Dialect
	shelf   Shelf
	seen    *sql.DB // what people ask, of a book that is open to them; nil for another
}

// Open brings the tables in a database to the newest version and returns the book. It
// closes the database where that fails.
func Open(ctx context.Context, db *sql.DB, dialect *Dialect, shelf Shelf) (*Book, error) {
	b := &Book{db: db, dialect: dialect, shelf: shelf}
	if err := b.migrate(ctx); err != nil {
		db.Close()
		return nil, err
	}
	return b, nil
}

// DB is the database, for the queue that stands in it too.
func (b *Book) DB() *sql.DB { return b.db }

// Close closes the database, and the shelf.
func (b *Book) Close() error {
	err := b.db.Close()
	if b.seen != nil && b.seen != b.db {
		err = errors.Join(err, b.seen.Close())
	}
	if shelf, ok := b.shelf.(io.Closer); ok {
		err = errors.Join(err, shelf.Close())
	}
	return err
}

// Update calls do in a transaction, of which all is done or nothing.
func (b *Book) Update(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return b.OfDisk(err)
	}
	if err := b.asking(ctx, tx, b.dialect.AsksToWrite, do); err != nil {
		// On a full disk SQLite has undone it already.
		if undone := tx.Rollback(); undone != nil && ctx.Err() == nil && !b.dialect.IsDisk(err) {
			return errors.Join(err, undone)
		}
		return b.OfDisk(err)
	}
	return b.OfDisk(tx.Commit())
}

// OfDisk makes an error of the database a [book.DiskError] where it is one.
func (b *Book) OfDisk(err error) error {
	var known *book.DiskError
	if err == nil || errors.As(err, &known) || !b.dialect.IsDisk(err) {
		return err
	}
	return &book.DiskError{Err: err}
}

// Stored is [book.Store]'s.
func (b *Book) Stored(ctx context.Context, key string) ([][]byte, error) {
	parts, err := listOf[[]byte](ctx, b, b.dialect.StoredOf, key)
	if err == nil && len(parts) == 0 {
		err = book.ErrNotFound
	}
	return parts, err
}

// Has is [book.Store]'s.
func (b *Book) Has(ctx context.Context, key string) (bool, error) {
	keys, err := listOf[string](ctx, b, "SELECT key FROM jobs WHERE key = $1", key)
	return len(keys) > 0, err
}

// Job is [book.Store]'s.
func (b *Book) Job(ctx context.Context, key string) (*book.Sought, error) {
	job := &book.Sought{Key: key}
	err := b.Read(ctx, func(db Asker) error {
		err := db.QueryRowContext(ctx, "SELECT program, question FROM jobs WHERE key = $1", key).Scan(&job.Program, &job.Question)
		if errors.Is(err, sql.ErrNoRows) {
			return book.ErrNotFound
		}
		if err != nil {
			return err
		}
		return each(ctx, db, func(scan scanner) error {
			var f book.File
			if err := scan(&f.Name, &f.Size, &f.SHA256); err != nil {
				return err
			}
			job.Files = append(job.Files, f)
			return nil
		}, "SELECT name, size, job_files.sha256 FROM job_files JOIN files ON files.sha256 = job_files.sha256 WHERE job = $1 ORDER BY place", key)
	})
	if err != nil {
		return nil, err
	}
	return job, nil
}

// latestFirst is the order of the list of fields. Which are on it is found out by what an index
// has of them, and only those are read.
const latestFirst = " ORDER BY last_work IS NULL, last_work DESC, name, id"

// Standing is [book.Store]'s.
func (b *Book) Standing(ctx context.Context, of book.Choice) (list []book.Standing, all int, err error) {
	c := &clause{}
	c.and("1 = 1")
	b.called(c, of.Named)
	if of.Except != "" {
		c.and("NOT EXISTS (SELECT 1 FROM sources WHERE sources.job = assessments.job AND substr(source, 1, length(CAST(? AS TEXT))) = ?)", of.Except, of.Except)
	}
	err = b.Read(ctx, func(db Asker) error {
		if err := db.QueryRowContext(ctx, "SELECT count(*) FROM assessments WHERE "+c.String(), c.values...).Scan(&all); err != nil || all == 0 {
			return err
		}
		list, err = standing(ctx, db, `SELECT job, part, name, coalesce(operation, ''), first_work, last_work, area_m2,
			farm, skip_m2 - remainder_m2, overlap_m2, edge_open_m, wasted_n_kg,
			(SELECT string_agg(machines.name, '`+between+`' ORDER BY place) FROM assessment_machines JOIN machines ON machines.id = machine WHERE assessment = assessments.id)
			FROM assessments WHERE id IN (SELECT id FROM assessments WHERE `+c.String()+latestFirst+" LIMIT "+strconv.Itoa(of.Most)+")"+latestFirst, c.values...)
		return err
	})
	return list, all, err
}

func standing(ctx context.Context, db Asker, query string, args ...any) (list []book.Standing, err error) {
	err = each(ctx, db, func(scan scanner) error {
		var s book.Standing
		var first, last sql.NullTime
		var machines sql.NullString
		var open, wasted sql.NullFloat64
		if err := scan(&s.Job, &s.Part, &s.Field, &s.Operation, &first, &last, &s.Area,
			&s.Farm, &s.Skip, &s.Overlap, &open, &wasted, &machines); err != nil {
			return err
		}
		s.Open, s.Wasted = orNaN(open), orNaN(wasted)
		if first.Valid && last.Valid {
			s.First, s.Last = first.Time.UTC(), last.Time.UTC()
		}
		for name := range strings.SplitSeq(machines.String, between) {
			if name != "" && !slices.Contains(s.Machines, name) {
				s.Machines = append(s.Machines, name)
			}
		}
		list = append(list, s)
		return nil
	}, query, args...)
	return list, err
}

// between stands between names in one text.
const between = "\n"

// JobAt is [book.Store]'s.
func (b *Book) JobAt(ctx context.Context, source string) (string, error) {
	keys, err := listOf[string](ctx, b, "SELECT job FROM sources WHERE source = $1 AND (CAST($2 AS BIGINT) = 0 OR farm = $2)", source, book.AskedBy(ctx).Farm)
	if err != nil {
		return "", err
	}
	if len(keys) == 0 {
		return "", book.ErrNotFound
	}
	return keys[0], nil
}

// Holds is [book.Store]'s.
func (b *Book) Holds(ctx context.Context) (c book.Contents, err error) {
	err = b.Read(ctx, func(db Asker) error {
		return db.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM fields), (SELECT count(*) FROM assessments),
			(SELECT count(*) FROM machines), (SELECT count(*) FROM operators),
			coalesce((SELECT min(year) FROM assessments), 0), coalesce((SELECT max(year) FROM assessments), 0)`).
			Scan(&c.Fields, &c.Assessments, &c.Machines, &c.Operators, &c.First, &c.Last)
	})
	return c, err
}

// AddFile is [book.Store]'s.
func (b *Book) AddFile(ctx context.Context, file book.File, open func() (io.ReadCloser, error)) error {
	if err := b.may(ctx, book.MayWork); err != nil {
		return err
	}
	known, err := listOf[string](ctx, b, "SELECT sha256 FROM files WHERE sha256 = $1", file.SHA256)
	if err != nil {
		return err
	}
	kept, err := b.shelf.Has(ctx, file.SHA256)
	if err != nil {
		return err
	}
	if !kept {
		if err := b.addToShelf(ctx, file, open); err != nil {
			return fmt.Errorf("%s: %w", file.Path, err)
		}
	}
	if len(known) > 0 {
		return nil
	}
	return b.Update(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO files (sha256, size) VALUES ($1, $2) ON CONFLICT DO NOTHING", file.SHA256, file.Size)
		return err
	})
}

func (b *Book) addToShelf(ctx context.Context, file book.File, open func() (io.ReadCloser, error)) error {
	from, err := open()
	if err != nil {
		return err
	}
	defer from.Close()
	return b.OfDisk(b.shelf.Add(ctx, file.SHA256, newChecked(from, file.SHA256)))
}

// OpenFile is [book.Store]'s.
func (b *Book) OpenFile(ctx context.Context, sha256 string) (io.ReadCloser, error) {
	if b.seen != nil { // the shelf knows of no people
		known, err := listOf[string](ctx, b, "SELECT sha256 FROM files WHERE sha256 = $1", sha256)
		if err != nil {
			return nil, err
		}
		if len(known) == 0 {
			return nil, book.ErrNotFound
		}
	}
	return b.shelf.Open(ctx, sha256)
}
