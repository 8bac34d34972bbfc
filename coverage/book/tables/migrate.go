package tables

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
)

// migrate brings the tables to the newest version. Each migration is one transaction
// with the note that it is done; two programs that come at once do each of them once.
func (b *Book) migrate(ctx context.Context) error {
	// Whoever uses a book need not be able to make one.
	var is int
	if err := b.db.QueryRowContext(ctx, "SELECT max(version) FROM book_migrations").Scan(&is); err == nil && is == len(b.dialect.Migrations) {
		return nil
	}
	for version := 1; version <= len(b.dialect.Migrations); version++ {
		if err := b.Update(ctx, func(tx *sql.Tx) error { return b.migrateTo(ctx, tx, version) }); err != nil {
			return fmt.Errorf("migration %d of the book: %w", version, err)
		}
	}
	var version int
	if err := b.db.QueryRowContext(ctx, "SELECT max(version) FROM book_migrations").Scan(&version); err != nil {
		return err
	}
	if known := len(b.dialect.Migrations); version > known {
		return fmt.Errorf("found a book of version %d, want %d at most: a newer lapwing has used it", version, known)
	}
	return nil
}

// withFigures is the migration that adds columns and tables for what is stored only.
const withFigures = 3

// migrateTo does one migration, unless it is done.
func (b *Book) migrateTo(ctx context.Context, tx *sql.Tx, version int) error {
	d := b.dialect
	if err := d.begin(ctx, tx); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "CREATE TABLE IF NOT EXISTS book_migrations (version INTEGER NOT NULL PRIMARY KEY)"); err != nil {
		return err
	}
	done, err := tx.ExecContext(ctx, "INSERT INTO book_migrations (version) VALUES ($1) ON CONFLICT DO NOTHING", version)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return err
	}
	for _, statement := range statements(d.Migrations[version-1]) {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return fmt.Errorf("%w, in: %s", err, strings.Join(strings.Fields(statement), " "))
		}
	}
	if version == withFigures {
		return b.showFigures(ctx, tx)
	}
	return nil
}

// begin does what each transaction that writes does first.
func (d *Dialect) begin(ctx context.Context, tx *sql.Tx) error {
	if d.Begin == "" {
		return nil
	}
	_, err := tx.ExecContext(ctx, d.Begin)
	return err
}

// statements are those of a migration. Between two of them stands an empty line, and a
// comment has its lines for itself.
func statements(text string) (out []string) {
	var statement strings.Builder
	for line := range strings.Lines(text + "\n\n") {
		switch line = strings.TrimRight(line, "\r\n"); {
		case strings.HasPrefix(line, "--"):
		case line != "":
			statement.WriteString(line + "\n")
		case statement.Len() > 0:
			out = append(out, statement.String())
			statement.Reset()
		}
	}
	return out
}
