package gpkg_test

import (
	"database/sql"
	"testing"

	"github.com/stretchr/testify/require"
)

// migrate notes in a book that it is of a version.
func migrate(t *testing.T, path string, version int) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path)
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("INSERT INTO book_migrations VALUES ($1)", version)
	require.NoError(t, err)
}
