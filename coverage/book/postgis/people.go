package postgis

import (
	"context"
	_ "embed" // the roles
	"errors"
	"fmt"

	"lapwing/coverage/book/tables"
)

//go:embed roles.sql
var roles string

// Serve opens the book at an address as [Open] does, for people. The role that it is opened
// as must be one of those that row-level security holds for: it owns none of the book's
// tables, is no superuser and bypasses nothing.
func Serve(ctx context.Context, address string) (*Book, error) {
	b, err := Open(ctx, address)
	if err != nil {
		return nil, err
	}
	if err := b.servesOnly(ctx); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	b.Book.Serve(b.db)
	return b, nil
}

// servesOnly returns an error unless the policies of the book hold for the role that it
// was opened as.
func (b *Book) servesOnly(ctx context.Context) error {
	var role string
	var above, owns, member bool
	err := b.pool.QueryRow(ctx, `SELECT current_user, rolsuper OR rolbypassrls,
		EXISTS (SELECT 1 FROM pg_class WHERE relnamespace = 'lapwing'::regnamespace AND pg_has_role(current_user, relowner, 'MEMBER')),
		EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'lapwing_serve') AND pg_has_role(current_user, (SELECT oid FROM pg_roles WHERE rolname = 'lapwing_serve'), 'MEMBER')
		FROM pg_roles WHERE rolname = current_user`).Scan(&role, &above, &owns, &member)
	switch {
	case err != nil:
		return err
	case above || owns:
		return fmt.Errorf("found the role %q, which owns the book or stands above its policies, want one that is in lapwing_serve only: "+
			"CREATE ROLE web LOGIN PASSWORD '...' IN ROLE lapwing_serve", role)
	case !member:
		return fmt.Errorf("found the role %q, which is not in lapwing_serve, want an administrator to run: GRANT lapwing_serve TO %q", role, role)
	}
	return nil
}

// Admit makes the roles of those who serve the book and who work for it, lapwing_serve and
// lapwing_work, where they are not there, and gives them what they need. It is for the one who
// owns the book, and may be done again.
func (b *Book) Admit(ctx context.Context) error {
	for _, name := range []string{"lapwing_serve", "lapwing_work"} {
		var there bool
		if err := b.pool.QueryRow(ctx, "SELECT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = $1)", name).Scan(&there); err != nil {
			return err
		}
		if there {
			continue
		}
		if _, err := b.pool.Exec(ctx, "CREATE ROLE "+name+" NOLOGIN"); is(err, noRight) {
			return fmt.Errorf("found no role %s and no right to make it, want an administrator to run: CREATE ROLE lapwing_serve NOLOGIN; CREATE ROLE lapwing_work NOLOGIN", name)
		} else if err != nil && !is(err, "42710") { // another program made it now
			return err
		}
	}
	_, err := b.pool.Exec(ctx, roles)
	return err
}

var door = tables.DoorQueries{
	WhoSignsIn:  "SELECT * FROM person_who_signs_in($1)",
	OfSubject:   "SELECT * FROM person_of_subject($1)",
	Person:      "SELECT * FROM person_of($1)",
	OfToken:     "SELECT * FROM person_of_token($1, $2)",
	OfLink:      "SELECT * FROM field_of_link($1, $2)",
	Session:     "SELECT * FROM session_of($1, $2)",
	KeepSession: "SELECT keep_session($1, $2, $3)",
	EndSession:  "SELECT end_session($1, $2)",
	Note:        "SELECT note($1, $2, $3, $4, $5, $6)",
	SignsIn:     "SELECT * FROM signs_in($1)",
}
