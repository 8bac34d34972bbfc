//go:build !js

package book

import (
	"context"
	"errors"
	"io"
)

// A Store is a book. Many may ask it at a time, from several programs.
type Store interface {
	// Stored returns the assessments of the job of a key, one for each of its parts, as
	// they were put; [ErrNotFound] where no such job was ever put.
	Stored(ctx context.Context, key string) (parts [][]byte, err error)

	// Has reports whether a job of a key was ever put.
	Has(ctx context.Context, key string) (bool, error)

	// JobAt returns the key of the job that stands at a source; [ErrNotFound] where none
	// does.
	JobAt(ctx context.Context, source string) (key string, err error)

	// AddFile keeps what is in a file, unless that is kept already. It fails where that
	// has another hash than the file's.
	AddFile(ctx context.Context, file File, open func() (io.ReadCloser, error)) error

	// OpenFile opens what was kept under a hash; [ErrNotFound] where nothing was.
	OpenFile(ctx context.Context, sha256 string) (io.ReadCloser, error)

	// Put keeps a job, all of it or nothing, and that it stands at a source, in the place
	// of any that stood there before; with the source "" it stands nowhere. Its files must
	// have been added. What is stored of a job stays as it was put first.
	Put(ctx context.Context, source string, job *Sought, parts []*Part) error

	// Holds counts what stands in the book now.
	Holds(ctx context.Context) (Contents, error)

	Close() error
}

// ErrNotFound is of what a book does not have.
var ErrNotFound = errors.New("not in the book")

// Contents are how much a book holds.
type Contents struct {
	Fields, Assessments, Machines, Operators int
	// First and Last are the years of the work; 0 where none has a clock.
	First, Last int
}
