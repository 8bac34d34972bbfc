// Package postgis keeps a book in PostgreSQL with PostGIS: for many people and
// computers. Its tables stand in the schema lapwing.
//
// What is in the files of jobs stands in the database too, unless the address names a
// folder for it that all who use the book have, postgres://host/farm?files=/srv/files, or a
// bucket (package bucket), as the last that it says and to its end:
// postgres://host/farm?files=s3://bucket?region=eu-north-1.
//
// A password stands in the environment (PGPASSWORD), in ~/.pgpass or in the file that
// PGPASSFILE names, as for all programs of PostgreSQL. One in the address is taken, but
// other users of the computer may see it there; it stands in no error of this package.
package postgis

import (
	"bytes"
	"context"
	"database/sql"
	_ "embed" // the migrations
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkb"

	"lapwing/coverage/book/bucket"
	"lapwing/coverage/book/tables"
	"lapwing/geo"
)

//go:embed migrations/001.sql
var first string

//go:embed migrations/002.sql
var second string

//go:embed migrations/003.sql
var third string

//go:embed migrations/004.sql
var fourth string

// one is the number of the lock that whoever writes into a book holds until its
// transaction ends: "lapw".
const one = 0x6c617077

var dialect = tables.Dialect{
	Migrations:   []string{first, second, third, fourth},
	Begin:        fmt.Sprintf("SELECT pg_advisory_xact_lock(%d)", one),
	Polygons:     func(p []geo.Polygon) any { return wellKnown(multiPolygon(p)) },
	Lines:        func(l [][]geo.LonLat) any { return wellKnown(multiLine(l)) },
	Shape:        func(mark string) string { return "ST_GeomFromWKB(" + mark + ", 4326)" },
	ShapeOf:      func(column string) string { return "ST_AsBinary(" + column + ")" },
	ReadPolygons: readPolygons,
	ReadLines:    readLines,
	Near:         func(_ string, first int) string { return "geom && " + box(first) },
	Meets:        func(first int) string { return "ST_Intersects(geom, " + box(first) + ")" },
	Reach: func(table string) string {
		return fmt.Sprintf(`SELECT ST_XMin(e), ST_YMin(e), ST_XMax(e), ST_YMax(e) FROM (SELECT ST_Extent(geom) AS e FROM "%s") r`, table)
	},
	Tile:        drawTile,
	Time:        func(t time.Time) any { return t },
	IsDisk:      isDisk,
	Ask:         "SELECT set_config('lapwing.person', CAST($1::BIGINT AS TEXT), true), set_config('lapwing.farm', CAST($2::BIGINT AS TEXT), true)",
	AsksToWrite: true,
	Door:        door,
	StoredOf:    "SELECT stored_of($1)",
	IsTaken:     func(err error) bool { return is(err, uniqueViolation) },
	IsForbidden: func(err error) bool { return is(err, noRight) },
	Holds:       func(text string) string { return "strpos(" + text + ", ?)" },
	Floor:       func(number string) string { return "CAST(floor(" + number + ") AS INTEGER)" },
}

// Of PostgreSQL's errcodes, appendix A.
const (
	uniqueViolation = "23505"
	noRight         = "42501"
	noFile          = "58P01"
	notSupported    = "0A000"
	diskFull        = "53100"
	ioError         = "58030"
)

// is reports whether an error is of a code.
func is(err error, code string) bool {
	var refused *pgconn.PgError
	return errors.As(err, &refused) && refused.Code == code
}

// isDisk reports whether an error is that the server's disk is full or fails.
func isDisk(err error) bool { return is(err, diskFull) || is(err, ioError) }

// Open opens the book at an address, postgres://host/database, which is made where the
// database has none. No error tells a password.
func Open(ctx context.Context, address string) (*Book, error) {
	b, secrets, err := open(ctx, address)
	switch {
	case err == nil:
		return b, nil
	case ctx.Err() != nil:
		return nil, ctx.Err()
	}
	return nil, hide(err, secrets)
}

func open(ctx context.Context, address string) (b *Book, secrets []string, err error) {
	address, files := bucket.Cut(address)
	u, err := url.Parse(address)
	if err != nil { // which tells all of it
		return nil, nil, errors.New("found an address that cannot be read, want one such as postgres://host:5432/database")
	}
	values := u.Query()
	password, _ := u.User.Password()
	secrets = append(secrets, password, values.Get("password"), values.Get("sslpassword"))
	config, err := pgxpool.ParseConfig(u.String())
	if err != nil {
		return nil, secrets, err
	}
	secrets = append(secrets, config.ConnConfig.Password) // of the environment or a file
	// Where else PostGIS often is; a schema that is not there is passed over.
	config.ConnConfig.RuntimeParams["search_path"] = "lapwing,public,postgis,extensions"
	// Questions are short, and are asked by many at once: to compile one takes longer than
	// to answer it.
	config.ConnConfig.RuntimeParams["jit"] = "off"
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, secrets, err
	}
	if err := prepare(ctx, pool); err != nil {
		pool.Close()
		return nil, secrets, err
	}
	db := stdlib.OpenDBFromPool(pool)
	inside := &inDatabase{}
	var shelf tables.Shelf = inside
	if files != "" {
		if shelf, err = bucket.Shelf(ctx, files); err != nil {
			pool.Close()
			return nil, secrets, err
		}
	}
	inTables, err := tables.Open(ctx, db, &dialect, shelf)
	if err != nil {
		pool.Close()
		return nil, secrets, err
	}
	inside.book = inTables
	return &Book{inTables, pool, db}, secrets, nil
}

// A Book is a book in PostgreSQL.
type Book struct {
	*tables.Book
	pool *pgxpool.Pool
	db   *sql.DB
}

// Pool is the connections to the database, for the queue that stands in it too.
func (b *Book) Pool() *pgxpool.Pool { return b.pool }

// Close ends all connections.
func (b *Book) Close() error {
	err := b.Book.Close()
	b.pool.Close()
	return err
}

// errNoPostGIS tells what the owner of a database has to do.
var errNoPostGIS = errors.New("found a database without PostGIS and no right to add it, want an administrator to run in it: CREATE EXTENSION postgis")

// prepare makes the schema of the book, and adds PostGIS to a database that has it not
// yet.
func prepare(ctx context.Context, pool *pgxpool.Pool) error {
	tx, err := pool.Begin(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }() // after Commit it does nothing
	if _, err := tx.Exec(ctx, dialect.Begin); err != nil {
		return err
	}
	var there bool
	if err := tx.QueryRow(ctx, "SELECT to_regclass('lapwing.book_migrations') IS NOT NULL").Scan(&there); err != nil || there {
		return err
	}
	if _, err := tx.Exec(ctx, "CREATE SCHEMA IF NOT EXISTS lapwing"); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "CREATE EXTENSION IF NOT EXISTS postgis SCHEMA public"); err != nil {
		if is(err, noRight) || is(err, noFile) || is(err, notSupported) {
			return errNoPostGIS
		}
		return err
	}
	if err := tx.Commit(ctx); err != nil {
		return err
	}
	// Where two programs make a book at once, a connection that looked for the schema before
	// it was there may go on without it, and make tables in another one: seen in PostgreSQL
	// 15, once in some thirty times.
	pool.Reset()
	return nil
}

// hide returns an error that tells none of the secrets, and wraps none that would.
func hide(err error, secrets []string) error {
	text := err.Error()
	for _, secret := range secrets {
		for _, written := range []string{secret, url.QueryEscape(secret), url.PathEscape(secret)} {
			if written != "" {
				text = strings.ReplaceAll(text, written, "xxxxx")
			}
		}
	}
	return errors.New(text)
}

// wellKnown is a geometry in well-known binary.
func wellKnown(g geom.T) []byte {
	var b bytes.Buffer
	if err := wkb.Write(&b, wkb.NDR, g); err != nil {
		panic(err) // a multipolygon and lines have a form, and memory takes them
	}
	return b.Bytes()
}

func multiPolygon(polygons []geo.Polygon) geom.T {
	out := make([][][]geom.Coord, len(polygons))
	for i, p := range polygons {
		out[i] = append(out[i], coords(p.Shell))
		for _, hole := range p.Holes {
			out[i] = append(out[i], coords(hole))
		}
	}
	return geom.NewMultiPolygon(geom.XY).MustSetCoords(out)
}

func multiLine(lines [][]geo.LonLat) geom.T {
	out := make([][]geom.Coord, len(lines))
	for i, l := range lines {
		out[i] = coords(l)
	}
	return geom.NewMultiLineString(geom.XY).MustSetCoords(out)
}

func coords(places []geo.LonLat) []geom.Coord {
	out := make([]geom.Coord, len(places))
	for i, p := range places {
		out[i] = geom.Coord{p.Lon, p.Lat}
	}
	return out
}

// box is the box whose corners stand at a mark and the three after it. One without a width
// or a height is a line or a point, of which ST_MakeEnvelope would make no valid polygon.
func box(first int) string {
	return fmt.Sprintf("ST_SetSRID(ST_Envelope(ST_MakeLine(ST_MakePoint($%d, $%d), ST_MakePoint($%d, $%d))), 4326)", first, first+1, first+2, first+3)
}

// readLines reads lines in well-known binary; nothing of NULL.
func readLines(text []byte) ([][]geo.LonLat, error) {
	if text == nil {
		return nil, nil
	}
	g, err := wkb.Unmarshal(text)
	if err != nil {
		return nil, err
	}
	lines, ok := g.(*geom.MultiLineString)
	if !ok {
		return nil, fmt.Errorf("found a %T for a pass, want lines", g)
	}
	out := make([][]geo.LonLat, lines.NumLineStrings())
	for i := range out {
		for _, at := range lines.LineString(i).Coords() {
			out[i] = append(out[i], geo.LonLat{Lon: at.X(), Lat: at.Y()})
		}
	}
	return out, nil
}

// readPolygons reads polygons in well-known binary; nothing of NULL.
func readPolygons(text []byte) ([]geo.Polygon, error) {
	if text == nil {
		return nil, nil
	}
	g, err := wkb.Unmarshal(text)
	if err != nil {
		return nil, err
	}
	polygons, ok := g.(*geom.MultiPolygon)
	if !ok {
		return nil, fmt.Errorf("found a %T for a boundary, want polygons", g)
	}
	return tables.Ground(polygons.Coords(), func(at geom.Coord) geo.LonLat { return geo.LonLat{Lon: at.X(), Lat: at.Y()} }), nil
}
