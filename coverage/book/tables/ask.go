package tables

import (
	"context"
	"database/sql"
	"errors"

	"lapwing/coverage/book"
)

// Serve opens the book to people: from then on it shows and takes what the person who asks may see
// and do, see [book.As]. seen is what their questions are asked of.
func (b *Book) Serve(seen *sql.DB) { b.seen = seen }

// An Asker is a database or a transaction in it.
type Asker interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Read calls do with what may be asked: all of the book, or in one that is open to people
// what the person who asks may see.
func (b *Book) Read(ctx context.Context, do func(Asker) error) error {
	if b.seen == nil {
		return do(b.db)
	}
	tx, err := b.seen.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // nothing is written
	return b.asking(ctx, tx, true, func(tx *sql.Tx) error { return do(tx) })
}

// asking calls do in a transaction that is asked by the person who asks, where it is.
func (b *Book) asking(ctx context.Context, tx *sql.Tx, asked bool, do func(*sql.Tx) error) error {
	if b.seen != nil && asked {
		who := book.AskedBy(ctx)
		if _, err := tx.ExecContext(ctx, b.dialect.Ask, who.Person, who.Farm); err != nil {
			return err
		}
	}
	err := do(tx)
	if err != nil && b.seen != nil && b.dialect.IsForbidden(err) {
		return book.ErrForbidden
	}
	return err
}

// may returns an error unless the person who asks may do something for the farm that they ask of.
func (b *Book) may(ctx context.Context, what book.May) error {
	if b.seen == nil {
		return nil
	}
	return b.mayAt(ctx, book.AskedBy(ctx).Farm, what)
}

// mayAt is may, for a farm.
func (b *Book) mayAt(ctx context.Context, farm int64, what book.May) error {
	most, err := listOf[book.May](ctx, b, "SELECT may FROM rights WHERE person = $1 AND (farm = $2 OR farm = 0) ORDER BY may DESC", book.AskedBy(ctx).Person, farm)
	switch {
	case err != nil:
		return err
	case len(most) == 0:
		return book.ErrNotFound
	case most[0] < what:
		return book.ErrForbidden
	}
	return nil
}

// A scanner reads a row.
type scanner func(into ...any) error

// each calls do with each row that a query gives.
func each(ctx context.Context, db Asker, do func(scanner) error, query string, args ...any) error {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

// list returns the first column of all rows that a query gives.
func list[T any](ctx context.Context, db Asker, query string, args ...any) (out []T, err error) {
	err = each(ctx, db, func(scan scanner) error {
		var v T
		if err := scan(&v); err != nil {
			return err
		}
		out = append(out, v)
		return nil
	}, query, args...)
	return out, err
}

// rowsOf reads a row for each that a query gives of what the person who asks may see.
func rowsOf[T any](ctx context.Context, b *Book, read func(scanner, *T) error, query string, args ...any) (list []T, err error) {
	err = b.Read(ctx, func(db Asker) error {
		return each(ctx, db, func(scan scanner) error {
			var v T
			err := read(scan, &v)
			list = append(list, v)
			return err
		}, query, args...)
	})
	return list, err
}

// listOf is list of what the person who asks may see.
func listOf[T any](ctx context.Context, b *Book, query string, args ...any) ([]T, error) {
	return rowsOf(ctx, b, func(scan scanner, v *T) error { return scan(v) }, query, args...)
}

// one reads the one row of a query; [book.ErrNotFound] where there is none.
func one(ctx context.Context, db Asker, query string, args []any, into ...any) error {
	err := db.QueryRowContext(ctx, query, args...).Scan(into...)
	if errors.Is(err, sql.ErrNoRows) {
		return book.ErrNotFound
	}
	return err
}
