//go:build unix

package postgis_test

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/postgis/pgtest"
)

// served opens a new book as its owner, who is no superuser, and gives the address for those
// who serve it and for workers.
func served(t *testing.T, server *pgtest.Server) (owner *postgis.Book, web, worker string) {
	t.Helper()
	roles := server.Roles(t)
	owner, err := postgis.Open(t.Context(), roles.Owner)
	require.NoError(t, err)
	require.NoError(t, owner.Admit(t.Context()))
	require.NoError(t, owner.Admit(t.Context()), "a second time")
	roles.Grant()
	return owner, roles.Web, roles.Worker
}

// crowdOf is a crowd at a new book, and a connection as the role that serves it.
func crowdOf(t *testing.T, server *pgtest.Server) (*booktest.Crowd, *pgx.Conn) {
	t.Helper()
	owner, web, _ := served(t, server)
	t.Cleanup(func() { owner.Close() })
	crowd := booktest.NewCrowd(t, owner, func() book.Served {
		b, err := postgis.Serve(t.Context(), web)
		require.NoError(t, err)
		return b
	})
	t.Cleanup(func() { crowd.Book.Close() })
	c := connect(t, web)
	return crowd, c
}

func mustParse(t *testing.T, address string) *url.URL {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	return u
}

func people(t *testing.T, server *pgtest.Server) {
	booktest.RunServed(t, func(t *testing.T) (book.Owned, func() book.Served) {
		owner, web, _ := served(t, server)
		return owner, func() book.Served {
			b, err := postgis.Serve(t.Context(), web)
			require.NoError(t, err)
			return b
		}
	})
}

func manyFields(t *testing.T, server *pgtest.Server) {
	owner, web, _ := served(t, server)
	admin := connect(t, web)
	t.Cleanup(func() { owner.Close() })
	booktest.ManyFields(t, os.Getenv("LAPWING_LONG") != "", owner, func() book.Served {
		b, err := postgis.Serve(t.Context(), web)
		require.NoError(t, err)
		return b
	})
	var size int64
	require.NoError(t, admin.QueryRow(t.Context(), "SELECT pg_database_size(current_database())").Scan(&size))
	t.Logf("the book takes %.0f MB", float64(size)/1e6)
}

// rowsKeepApart asks each table itself, as the role that serves has it, in SQL of any kind,
// over one connection for all people: what the program asks is not what keeps them apart.
func rowsKeepApart(t *testing.T, server *pgtest.Server) {
	crowd, c := crowdOf(t, server)
	as := func(person int64, do func(tx pgx.Tx) error) error {
		return pgx.BeginFunc(t.Context(), c, func(tx pgx.Tx) error {
			if person != 0 {
				if _, err := tx.Exec(t.Context(), "SELECT set_config('lapwing.person', $1, true)", fmt.Sprint(person)); err != nil {
					return err
				}
			}
			return do(tx)
		})
	}
	count := func(person int64, table, where string) (n int) {
		t.Helper()
		require.NoError(t, as(person, func(tx pgx.Tx) error {
			return tx.QueryRow(t.Context(), "SELECT count(*) FROM lapwing."+table+" WHERE "+where).Scan(&n)
		}), table)
		return n
	}

	// Every table keeps its rows, or is none of those that this role touches at all.
	rows, err := c.Query(t.Context(), `SELECT quote_ident(relname), relrowsecurity AND relforcerowsecurity,
		has_table_privilege(c.oid, 'SELECT') OR has_any_column_privilege(c.oid, 'SELECT'), has_table_privilege(c.oid, 'INSERT'), has_table_privilege(c.oid, 'UPDATE, DELETE, TRUNCATE')
		FROM pg_class c WHERE relnamespace = 'lapwing'::regnamespace AND relkind IN ('r', 'p', 'v', 'm') ORDER BY relname`)
	require.NoError(t, err)
	type table struct {
		name                    string
		kept, reads, adds, more bool
	}
	tables, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (x table, err error) {
		err = row.Scan(&x.name, &x.kept, &x.reads, &x.adds, &x.more)
		return x, err
	})
	require.NoError(t, err)
	require.Greater(t, len(tables), 20)
	for _, x := range tables {
		if x.name == "book_migrations" {
			assert.False(t, x.adds || x.more)
			continue
		}
		assert.True(t, x.kept || !x.reads && !x.adds && !x.more, "%s is open to all", x.name)
		if !x.reads || x.name == "people" || x.name == "farms" || x.name == "rights" {
			continue
		}
		assert.Zero(t, count(0, x.name, "true"), "%s: nobody sees", x.name)
		assert.Zero(t, count(crowd.Cy, x.name, "true"), "%s: who may nothing sees", x.name)
	}

	shown := []string{"sources", "fields", "assessments", "machines", "operators", "crops", "assessment_machines", "skips", `"overlaps"`, "passes", "wastes"}
	for _, x := range append([]string{"jobs", "job_files", "stored", "files", "file_bytes", "squares"}, shown...) {
		ada, bo, max := count(crowd.Ada, x, "true"), count(crowd.Bo, x, "true"), count(crowd.Max, x, "true")
		assert.NotZero(t, ada, x)
		assert.NotZero(t, bo, x)
		assert.Equal(t, max, ada+bo, "%s: theirs and no more", x)
	}
	for _, x := range shown {
		assert.Zero(t, count(crowd.Ada, x, fmt.Sprintf("farm <> %d", crowd.Aspen)), x)
		assert.NotZero(t, count(crowd.Max, x, fmt.Sprintf("farm = %d", crowd.Aspen)), x)
		// Nothing of another's is changed or dropped, whatever the condition.
		for _, statement := range []string{"UPDATE lapwing." + x + " SET farm = farm", "DELETE FROM lapwing." + x + fmt.Sprintf(" WHERE farm = %d", crowd.Aspen)} {
			var changed int64
			err := as(crowd.Bo, func(tx pgx.Tx) error {
				tag, err := tx.Exec(t.Context(), statement)
				changed = tag.RowsAffected()
				return err
			})
			if strings.HasPrefix(statement, "DELETE") {
				require.NoError(t, err, statement)
				assert.Zero(t, changed, statement)
			}
		}
		assert.NotZero(t, count(crowd.Ada, x, "true"), x)
		assert.True(t, refused(as(crowd.Bo, func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), fmt.Sprintf("UPDATE lapwing.%s SET farm = %d", x, crowd.Aspen))
			return err
		})), "%s: one's own is given to no other farm", x)
	}
	for name, statement := range map[string]string{
		"a source of another farm": fmt.Sprintf("INSERT INTO lapwing.sources (source, job, farm) SELECT 'farm:%[1]d/x', job, %[1]d FROM lapwing.sources LIMIT 1", crowd.Aspen),
		"a source under another's name": fmt.Sprintf("INSERT INTO lapwing.sources (source, job, farm) SELECT 'farm:%d/one', job, %d FROM lapwing.sources LIMIT 1",
			crowd.Aspen, crowd.Birch), // a clash would tell that it is there
		"a right":              fmt.Sprintf("INSERT INTO lapwing.rights (person, farm, may) VALUES (%d, %d, 3)", crowd.Bo, crowd.Aspen),
		"a farm":               "INSERT INTO lapwing.farms (id, name) VALUES (9, 'Cedar')",
		"a person":             "INSERT INTO lapwing.people (id, sign_in, name, made_at) VALUES (9, 'eve', 'Eve', now())",
		"another's name":       fmt.Sprintf("UPDATE lapwing.people SET sign_in = 'x' WHERE id = %d", crowd.Bo),
		"a password":           "SELECT password FROM lapwing.people",
		"a session":            "SELECT * FROM lapwing.sessions",
		"a token of another":   fmt.Sprintf("INSERT INTO lapwing.tokens (id, person, name, hash, may, made_at, ends_at) VALUES (1, %d, 'x', 'x', 3, now(), now())", crowd.Ada),
		"a link of another":    fmt.Sprintf("INSERT INTO lapwing.links (id, hash, farm, job, part, name, made_by, made_at, ends_at) SELECT 1, 'x', %d, job, 0, 'x', %d, now(), now() FROM lapwing.sources LIMIT 1", crowd.Aspen, crowd.Bo),
		"a link in a name":     fmt.Sprintf("INSERT INTO lapwing.links (id, hash, farm, job, part, name, made_by, made_at, ends_at) SELECT 1, 'x', %d, job, 0, 'x', %d, now(), now() FROM lapwing.sources LIMIT 1", crowd.Birch, crowd.Ada),
		"a line of the trail":  "INSERT INTO lapwing.audit (at, farm, did, about, from_address) VALUES (now(), 0, 'x', 'x', 'x')",
		"no policies":          "ALTER TABLE lapwing.skips DISABLE ROW LEVEL SECURITY",
		"no row security":      "SET LOCAL row_security = off; SELECT * FROM lapwing.skips",
		"the owner's role":     "SET LOCAL ROLE owner",
		"a table":              "CREATE TABLE lapwing.x (a INTEGER)",
		"what was found, else": "UPDATE lapwing.stored SET assessment = ''",
		"a file, else":         "UPDATE lapwing.file_bytes SET packed = ''",
	} {
		err := as(crowd.Bo, func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), statement)
			return err
		})
		assert.True(t, refused(err), "%s: %v", name, err)
	}
	require.NoError(t, as(crowd.Bo, func(tx pgx.Tx) error {
		tag, err := tx.Exec(t.Context(), "UPDATE lapwing.rights SET may = 3")
		assert.Zero(t, tag.RowsAffected(), "nobody gives themselves more")
		return err
	}))
	farms, err := crowd.Book.Farms(book.As(context.Background(), book.Asks{Person: crowd.Bo}))
	require.NoError(t, err)
	assert.Equal(t, []book.Farm{{ID: crowd.Birch, Name: "Birch", May: book.MayWork}}, farms)

	// One connection, one person after the other, and then nobody.
	for range 2 {
		assert.Equal(t, 1, count(crowd.Ada, "assessments", "name = 'North'"))
		assert.Equal(t, 0, count(crowd.Bo, "assessments", "name = 'North'"))
		assert.Equal(t, 0, count(0, "assessments", "true"))
	}
	// Where a transaction fails, the next one is nobody's still.
	require.Error(t, as(crowd.Ada, func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), "SELECT 1/0")
		return err
	}))
	assert.Equal(t, 0, count(0, "assessments", "true"))
}

// refused reports whether the database allowed something not: insufficient_privilege of
// PostgreSQL's errcodes, appendix A.
func refused(err error) bool {
	pg, ok := err.(*pgconn.PgError)
	return ok && pg.Code == "42501"
}

// placesIndexed: PostgreSQL asks the policies of a table before all that may tell of rows, so
// that an index by place is of use to who serves only where an administrator has said that the
// operator tells nothing (LEAKPROOF; CREATE FUNCTION, PostgreSQL 15).
func placesIndexed(t *testing.T, server *pgtest.Server) {
	crowd, c := crowdOf(t, server)
	uses := func() bool {
		t.Helper()
		for _, set := range []string{"SET enable_seqscan = off", "SET enable_indexscan = off", fmt.Sprintf("SET lapwing.person = '%d'", crowd.Ada)} {
			_, err := c.Exec(t.Context(), set)
			require.NoError(t, err)
		}
		rows, err := c.Query(t.Context(), "EXPLAIN SELECT id FROM lapwing.skips WHERE geom && ST_MakeEnvelope(-98.41, 49.99, -98.39, 50.01, 4326)")
		require.NoError(t, err)
		plan, err := pgx.CollectRows(rows, pgx.RowTo[string])
		require.NoError(t, err)
		return strings.Contains(strings.Join(plan, "\n"), "skips_by_place")
	}
	assert.False(t, uses(), "else nobody has to say it")
	_, err := connect(t, server.Address(c.Config().Database)).Exec(t.Context(), "ALTER FUNCTION geometry_overlaps(geometry, geometry) LEAKPROOF")
	require.NoError(t, err)
	assert.True(t, uses())
}

// roles: who serves owns nothing and stands above nothing; who works sees no people.
func roles(t *testing.T, server *pgtest.Server) {
	owner, web, worker := served(t, server)
	defer owner.Close()
	booktest.Sample(t, owner)
	_, err := postgis.Serve(t.Context(), worker)
	require.ErrorContains(t, err, "which is not in lapwing_serve, want an administrator to run: GRANT lapwing_serve TO")
	u := mustParse(t, web)
	u.User = url.UserPassword("owner_"+strings.TrimPrefix(u.Path, "/"), "x")
	_, err = postgis.Serve(t.Context(), u.String())
	require.ErrorContains(t, err, "which owns the book or stands above its policies, want one that is in lapwing_serve only")
	u.User = url.UserPassword("owner", pgtest.Password)
	_, err = postgis.Serve(t.Context(), u.String())
	require.ErrorContains(t, err, "stands above its policies")

	b, err := postgis.Open(t.Context(), worker)
	require.NoError(t, err)
	defer b.Close()
	c := connect(t, worker)
	for _, table := range []string{"people", "rights", "sessions", "tokens", "links", "audit", "assessments", "skips"} {
		_, err := c.Exec(t.Context(), "SELECT 1 FROM lapwing."+table)
		assert.True(t, refused(err), "%s: %v", table, err)
	}
}
