package gpkg

import (
	"context"
	"fmt"
	"strings"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
	"github.com/ncruces/go-sqlite3/ext/rtree"

	"lapwing/coverage/book/tables"
)

// Serve opens the book at a path as [OpenWith] does, for people. What they ask is asked
// over connections of their own, on which each table is a view of the rows that they may
// see, by the one predicate of [views].
func Serve(ctx context.Context, path, files string) (*tables.Book, error) {
	b, at, err := open(ctx, path, files)
	if err != nil {
		return nil, err
	}
	seen, err := driver.Open(at+seenCache, func(c *sqlite3.Conn) error {
		for _, prepare := range []func(*sqlite3.Conn) error{rtree.Register, register, views} {
			if err := prepare(c); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, ofBook(path, err)
	}
	seen.SetMaxOpenConns(4) // reading, they do not wait for one another
	b.Serve(seen)
	return b, nil
}

// seenCache has a connection keep 32 MB of the file, which holds the index of a map of
// 100,000 fields; else that is read anew for each view of all of it.
const seenCache = "&_pragma=cache_size(-32000)"

// views gives a connection, for each table, a view in the table's place: names without a
// schema mean the temporary one first (https://www.sqlite.org/lang_naming.html).
func views(c *sqlite3.Conn) error {
	var person, farm int64 // who asks in the transaction
	err := c.CreateFunction("ask", 2, sqlite3.DIRECTONLY, func(ctx sqlite3.Context, arg ...sqlite3.Value) {
		person, farm = arg[0].Int64(), arg[1].Int64()
	})
	if err != nil {
		return err
	}
	for name, of := range map[string]*int64{"asks": &person, "of_farm": &farm} {
		if err := c.CreateFunction(name, 0, 0, func(ctx sqlite3.Context, _ ...sqlite3.Value) { ctx.ResultInt64(*of) }); err != nil {
			return err
		}
	}
	farms := func(least int) string {
		return fmt.Sprintf(`(SELECT f.id FROM main.farms f WHERE of_farm() IN (0, f.id) AND EXISTS (SELECT 1 FROM main.rights r
			JOIN main.people p ON p.id = r.person WHERE r.person = asks() AND r.farm IN (0, f.id) AND r.may >= %d AND p.ended_at IS NULL))`, least)
	}
	where := map[string]string{
		"jobs":      "key IN (SELECT job FROM temp.sources)",
		"job_files": "job IN (SELECT job FROM temp.sources)",
		"stored":    "job IN (SELECT job FROM temp.sources)",
		"files":     "sha256 IN (SELECT sha256 FROM temp.job_files)",
		"farms":     "id IN " + farms(1),
		"people":    "id = asks() OR id IN (SELECT person FROM main.rights WHERE farm IN " + farms(3) + ") OR 0 IN " + farms(3),
		"rights":    "person = asks() OR farm IN " + farms(3),
		"tokens":    "person = asks()",
		"audit":     "farm IN " + farms(3),
		"sessions":  "0",
	}
	for _, shown := range []string{"sources", "fields", "assessments", "machines", "operators", "crops", "assessment_machines", "skips", "overlaps", "passes", "wastes", "squares", "links"} {
		where[shown] = "farm IN " + farms(1)
	}
	var script strings.Builder
	for name, condition := range where {
		fmt.Fprintf(&script, "CREATE TEMP VIEW \"%s\" AS SELECT * FROM main.\"%s\" WHERE %s;\n", name, name, condition)
	}
	return c.Exec(script.String())
}

var door = tables.DoorQueries{
	WhoSignsIn: who("sign_in = $1"),
	OfSubject:  who("subject = $1"),
	Person:     who("id = $1"),
	OfToken: `SELECT people.id, people.name, '', stamp, tokens.may FROM tokens JOIN people ON people.id = person
		WHERE hash = $1 AND ends_at > $2 AND ended_at IS NULL`,
	OfLink: `SELECT links.name, assessment FROM links JOIN stored ON stored.job = links.job AND stored.part = links.part
		WHERE hash = $1 AND ends_at > $2 AND EXISTS (SELECT 1 FROM sources WHERE sources.farm = links.farm AND sources.job = links.job)`,
	Session:     "SELECT content FROM sessions WHERE hash = $1 AND ends_at > $2",
	KeepSession: "INSERT INTO sessions (hash, content, ends_at) VALUES ($1, $2, $3) ON CONFLICT (hash) DO UPDATE SET content = excluded.content, ends_at = excluded.ends_at",
	EndSession:  "DELETE FROM sessions WHERE hash = $1 OR ends_at <= $2",
	Note:        "INSERT INTO audit (at, person, farm, did, about, from_address) VALUES ($1, $2, $3, $4, $5, $6)",
	SignsIn:     "SELECT id FROM main.people WHERE sign_in = $1",
}

func who(where string) string {
	return "SELECT id, name, coalesce(password, ''), stamp FROM people WHERE " + where + " AND ended_at IS NULL"
}
