package postgis

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"errors"
	"io"

	"lapwing/coverage/book"
	"lapwing/coverage/book/tables"
)

// inDatabase is a tables.Shelf in the database itself.
type inDatabase struct{ book *tables.Book }

// Has reports whether the file of a hash is there.
func (d *inDatabase) Has(ctx context.Context, sha256 string) (there bool, err error) {
	err = d.book.Read(ctx, func(db tables.Asker) error {
		return db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM file_bytes WHERE sha256 = $1)", sha256).Scan(&there)
	})
	return there, err
}

// Add keeps what from gives, packed.
func (d *inDatabase) Add(ctx context.Context, sha256 string, from io.Reader) error {
	var b bytes.Buffer
	packed := gzip.NewWriter(&b)
	if _, err := io.Copy(packed, from); err != nil {
		return err
	}
	if err := packed.Close(); err != nil {
		return err
	}
	return d.book.Update(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO file_bytes (sha256, packed) VALUES ($1, $2) ON CONFLICT DO NOTHING", sha256, b.Bytes())
		return err
	})
}

// Open opens the file of a hash; [book.ErrNotFound] where it is not there.
func (d *inDatabase) Open(ctx context.Context, sha256 string) (io.ReadCloser, error) {
	var packed []byte
	err := d.book.Read(ctx, func(db tables.Asker) error {
		return db.QueryRowContext(ctx, "SELECT packed FROM file_bytes WHERE sha256 = $1", sha256).Scan(&packed)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return nil, book.ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return gzip.NewReader(bytes.NewReader(packed))
}
