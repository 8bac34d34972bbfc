//go:build unix

package postgis_test

import (
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/postgis/pgtest"
)

func TestPostGIS(t *testing.T) {
	server := pgtest.Start(t)
	t.Run("book", func(t *testing.T) {
		address := server.Database(t)
		c := connect(t, address)
		booktest.Run(t, func(t *testing.T) func(*testing.T) book.Store {
			_, err := c.Exec(t.Context(), "DROP SCHEMA IF EXISTS lapwing CASCADE") // quicker than another database
			require.NoError(t, err)
			return func(t *testing.T) book.Store { return open(t, address) }
		})
	})
	t.Run("files in a folder", func(t *testing.T) {
		dir := t.TempDir()
		address := server.Database(t)
		b := open(t, address+"?files="+url.QueryEscape("file://"+dir))
		defer b.Close()
		booktest.Sample(t, b)
		kept, err := filepath.Glob(filepath.Join(dir, "*", "*.gz"))
		require.NoError(t, err)
		assert.Len(t, kept, 1)
		var inside int
		require.NoError(t, connect(t, address).QueryRow(t.Context(), "SELECT count(*) FROM lapwing.file_bytes").Scan(&inside))
		assert.Zero(t, inside)
	})
	t.Run("shapes", func(t *testing.T) { shapes(t, server) })
	t.Run("passwords", func(t *testing.T) { passwords(t, server) })
	t.Run("rights", func(t *testing.T) { rights(t, server) })
	t.Run("newer", func(t *testing.T) { newer(t, server) })
	t.Run("people", func(t *testing.T) { people(t, server) })
	t.Run("map of many fields", func(t *testing.T) { manyFields(t, server) })
	t.Run("rows keep apart", func(t *testing.T) { rowsKeepApart(t, server) })
	t.Run("places indexed", func(t *testing.T) { placesIndexed(t, server) })
	t.Run("roles", func(t *testing.T) { roles(t, server) })
	t.Run("restart", func(t *testing.T) { restart(t, server) })
}

func open(t testing.TB, address string) book.Store {
	t.Helper()
	b, err := postgis.Open(t.Context(), address)
	require.NoError(t, err)
	return b
}

func connect(t *testing.T, address string) *pgx.Conn {
	t.Helper()
	c, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	t.Cleanup(func() { c.Close(t.Context()) })
	return c
}

// PostGIS holds all shapes for valid, and measures their ground on the ellipsoid as this
// program does: edges here are straight on the field's plane and there on the ellipsoid,
// which over a quarter mile differ by a few centimetres of ground. Each layer has its
// index by place, and the query by place uses it.
func shapes(t *testing.T, server *pgtest.Server) {
	address := server.Database(t)
	b := open(t, address)
	defer b.Close()
	parts := booktest.Sample(t, b)
	c := connect(t, address)
	for _, layer := range []string{"fields", "assessments", "skips", "overlaps", "passes"} {
		var n, valid, indexed int
		require.NoError(t, c.QueryRow(t.Context(), fmt.Sprintf(`SELECT count(*), count(*) FILTER (WHERE ST_IsValid(geom) AND ST_SRID(geom) = 4326) FROM lapwing."%s"`, layer)).Scan(&n, &valid))
		assert.NotZero(t, n, layer)
		assert.Equal(t, n, valid, layer)
		require.NoError(t, c.QueryRow(t.Context(), "SELECT count(*) FROM pg_indexes WHERE schemaname = 'lapwing' AND tablename = $1 AND indexdef LIKE '%USING gist (geom)'", layer).Scan(&indexed))
		assert.Equal(t, 1, indexed, layer)
	}
	for _, layer := range []string{"assessments", "skips", "overlaps"} {
		rows, err := c.Query(t.Context(), fmt.Sprintf(`SELECT area_m2, ST_Area(geom::geography) FROM lapwing."%s"`, layer))
		require.NoError(t, err)
		var ours, theirs float64
		_, err = pgx.ForEachRow(rows, []any{&ours, &theirs}, func() error {
			assert.LessOrEqual(t, math.Abs(ours-theirs), 0.01+2e-6*ours, "%s: %v m2, PostGIS finds %v", layer, ours, theirs)
			return nil
		})
		require.NoError(t, err)
	}
	var skips int
	require.NoError(t, c.QueryRow(t.Context(), "SELECT sum(skips) FROM lapwing.assessments").Scan(&skips))
	assert.Equal(t, len(parts[0].Skips)+len(parts[1].Skips), skips)
}

// A password is found in the address, in the environment and in a file of passwords.
// Where it stands in the address, or is wrong, no error tells it.
func passwords(t *testing.T, server *pgtest.Server) {
	with := server.Database(t)
	u, err := url.Parse(with)
	require.NoError(t, err)
	u.User = url.User("owner")
	without := u.String()
	file := filepath.Join(t.TempDir(), "pgpass")
	escaped := strings.NewReplacer(`\`, `\\`, ":", `\:`).Replace(pgtest.Password)
	require.NoError(t, os.WriteFile(file, []byte("127.0.0.1:*:*:owner:"+escaped+"\n"), 0o600))
	empty := filepath.Join(t.TempDir(), "none")

	t.Setenv("PGPASSFILE", empty)
	open(t, with).Close()
	_, err = postgis.Open(t.Context(), without)
	require.ErrorContains(t, err, "password")
	t.Setenv("PGPASSFILE", file)
	open(t, without).Close()
	t.Setenv("PGPASSFILE", empty)
	t.Setenv("PGPASSWORD", pgtest.Password)
	open(t, without).Close()

	const secret = "hoopoe 7%/"
	t.Setenv("PGPASSWORD", secret)
	wrong := func(change func(*url.URL)) string {
		w := *u
		change(&w)
		return w.String()
	}
	in := func(w *url.URL) { w.User = url.UserPassword("owner", secret) }
	query := func(more string) func(*url.URL) {
		return func(w *url.URL) { w.RawQuery = "password=" + url.QueryEscape(secret) + more }
	}
	for _, address := range []string{
		without, wrong(in), wrong(query("")), wrong(query("&sslmode=perhaps")), wrong(query("&connect_timeout=x")),
		wrong(func(w *url.URL) { in(w); w.Host = "127.0.0.1:1" }), wrong(func(w *url.URL) { in(w); w.Host = "127.0.0.1:99999" }),
		wrong(func(w *url.URL) { in(w); w.Path = "/none" }), wrong(func(w *url.URL) { in(w); w.RawQuery = "sslmode=verify-full" }),
		"postgres://owner:" + secret + "@127.0.0.1/book", "postgres://owner:" + secret + "@[::1/book", "postgres://owner:hoopoe 7@h:x/",
	} {
		_, err := postgis.Open(t.Context(), address)
		require.Error(t, err, address)
		for _, form := range []string{"%v", "%+v", "%#v"} {
			assert.NotContains(t, fmt.Sprintf(form, err), "hoopoe")
		}
	}
}

// Whoever may not add PostGIS hears who has to.
func rights(t *testing.T, server *pgtest.Server) {
	owner := connect(t, server.Address("postgres"))
	for _, statement := range []string{
		"CREATE ROLE hand LOGIN PASSWORD 'x'", "CREATE DATABASE plain OWNER hand TEMPLATE template1",
	} {
		_, err := owner.Exec(t.Context(), statement)
		require.NoError(t, err)
	}
	u, err := url.Parse(server.Address("plain"))
	require.NoError(t, err)
	u.User = url.UserPassword("hand", "x")
	_, err = postgis.Open(t.Context(), u.String())
	require.ErrorContains(t, err, "want an administrator to run in it: CREATE EXTENSION postgis")
	_, err = connect(t, server.Address("plain")).Exec(t.Context(), "CREATE EXTENSION postgis")
	require.NoError(t, err)
	b := open(t, u.String())
	defer b.Close()
	booktest.Sample(t, b)
}

func newer(t *testing.T, server *pgtest.Server) {
	address := server.Database(t)
	require.NoError(t, open(t, address).Close())
	_, err := connect(t, address).Exec(t.Context(), "INSERT INTO lapwing.book_migrations VALUES (7)")
	require.NoError(t, err)
	_, err = postgis.Open(t.Context(), address)
	require.ErrorContains(t, err, "found a book of version 7, want 4 at most: a newer lapwing has used it")
}

// A server that is gone is an error; once it is back the same book goes on, with what it
// held.
func restart(t *testing.T, server *pgtest.Server) {
	b := open(t, server.Database(t))
	defer b.Close()
	booktest.Sample(t, b)
	want, err := b.Holds(t.Context())
	require.NoError(t, err)
	server.Kill()
	_, err = b.Holds(t.Context())
	require.Error(t, err)
	server.Run(t)
	got, err := b.Holds(t.Context())
	require.NoError(t, err)
	assert.Equal(t, want, got)
}
