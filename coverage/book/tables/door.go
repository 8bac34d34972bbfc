package tables

import (
	"context"
	"database/sql"
	"time"

	"lapwing/coverage/book"
)

// DoorQueries are what is asked of a database before it is known who comes. In one that
// keeps people apart by itself each is a function that gives one row for a secret.
type DoorQueries struct {
	// WhoSignsIn ($1 a name), OfSubject ($1) and Person ($1 a number) give number, name,
	// password and stamp of a person; OfToken ($1 a hash, $2 now) also what it lets do.
	WhoSignsIn, OfSubject, Person, OfToken string
	// OfLink gives name and stored assessment of a link ($1 a hash, $2 now).
	OfLink string
	// Session gives what a session has ($1 a hash, $2 now); KeepSession keeps it ($1 a hash,
	// $2 content, $3 until); EndSession ends it, and those whose time is over.
	Session, KeepSession, EndSession string
	// Note writes a line of the audit trail: when, who, farm, what, of what, from where.
	Note string
	// SignsIn gives the number of who signs in by a name ($1), to who manages a farm.
	SignsIn string
}

// PersonWhoSignsIn is [book.Door]'s.
func (b *Book) PersonWhoSignsIn(ctx context.Context, name string) (book.Who, error) {
	return b.who(ctx, b.dialect.Door.WhoSignsIn, name)
}

// PersonOfSubject is [book.Door]'s.
func (b *Book) PersonOfSubject(ctx context.Context, subject string) (book.Who, error) {
	return b.who(ctx, b.dialect.Door.OfSubject, subject)
}

// PersonOf is [book.Door]'s.
func (b *Book) PersonOf(ctx context.Context, id int64) (book.Who, error) {
	return b.who(ctx, b.dialect.Door.Person, id)
}

func (b *Book) who(ctx context.Context, query string, by any) (w book.Who, err error) {
	err = one(ctx, b.db, query, []any{by}, &w.ID, &w.Name, &w.Password, &w.Stamp)
	return w, err
}

// PersonOfToken is [book.Door]'s.
func (b *Book) PersonOfToken(ctx context.Context, hash string, now time.Time) (w book.Who, may book.May, err error) {
	err = one(ctx, b.db, b.dialect.Door.OfToken, []any{hash, b.dialect.Time(now.UTC())}, &w.ID, &w.Name, &w.Password, &w.Stamp, &may)
	return w, may, err
}

// FieldOfLink is [book.Door]'s.
func (b *Book) FieldOfLink(ctx context.Context, hash string, now time.Time) (name string, stored []byte, err error) {
	err = one(ctx, b.db, b.dialect.Door.OfLink, []any{hash, b.dialect.Time(now.UTC())}, &name, &stored)
	return name, stored, err
}

// Session is [book.Door]'s.
func (b *Book) Session(ctx context.Context, hash string, now time.Time) (content []byte, err error) {
	err = one(ctx, b.db, b.dialect.Door.Session, []any{hash, b.dialect.Time(now.UTC())}, &content)
	return content, err
}

// KeepSession is [book.Door]'s.
func (b *Book) KeepSession(ctx context.Context, hash string, content []byte, ends time.Time) error {
	return b.write(ctx, b.dialect.Door.KeepSession, hash, content, b.dialect.Time(ends.UTC()))
}

// EndSession is [book.Door]'s.
func (b *Book) EndSession(ctx context.Context, hash string, now time.Time) error {
	return b.write(ctx, b.dialect.Door.EndSession, hash, b.dialect.Time(now.UTC()))
}

// Note is [book.Door]'s.
func (b *Book) Note(ctx context.Context, n book.Note) error {
	return b.write(ctx, b.dialect.Door.Note, b.dialect.Time(n.At.UTC()), orNull(n.Person), n.Farm, n.Did, n.About, n.Address)
}

// write does one statement.
func (b *Book) write(ctx context.Context, statement string, args ...any) error {
	return b.Update(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, statement, args...)
		return err
	})
}
