package store

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report"
)

// A memory is a file system, and a store that writes all or none.
func TestMemory(t *testing.T) {
	m := NewMemory(time.Now)
	write := func(name, text string) report.File { return FileOf(name, []byte(text)) }
	require.NoError(t, m.Put(context.Background(), []report.File{write("a/b/c.txt", "c"), write("a/d.txt", "d"), write("e.txt", "e")}))
	names := []string{}
	require.NoError(t, fs.WalkDir(m, ".", func(name string, d fs.DirEntry, err error) error {
		names = append(names, name)
		return err
	}))
	assert.Equal(t, []string{".", "a", "a/b", "a/b/c.txt", "a/d.txt", "e.txt"}, names)
	bad := report.File{Name: "f.txt", Write: func(io.Writer) error { return errors.New("no") }}
	require.Error(t, m.Put(context.Background(), []report.File{write("e.txt", "other"), bad}))
	require.Error(t, m.Put(context.Background(), []report.File{write("../e.txt", "other")}))
	text, err := fs.ReadFile(m, "e.txt")
	require.NoError(t, err)
	assert.Equal(t, "e", string(text))
	require.NoError(t, m.Remove("a/b/c.txt", "none"))
	_, err = fs.Stat(m, "a/b")
	assert.ErrorIs(t, err, fs.ErrNotExist)
	_, err = m.Open("../x")
	assert.ErrorIs(t, err, fs.ErrInvalid)
	_, err = m.ReadDir("e.txt")
	assert.Error(t, err)
}
