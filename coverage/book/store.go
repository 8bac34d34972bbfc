//go:build !js

package book

import (
	"context"
	"errors"
	"io"
	"time"
)

// A Store is a book. Many may ask it at a time, from several programs.
type Store interface {
	// Stored returns the assessments of the job of a key, one for each of its parts, as
	// they were put; [ErrNotFound] where no such job was ever put.
	Stored(ctx context.Context, key string) (parts [][]byte, err error)

	// Has reports whether a job of a key was ever put.
	Has(ctx context.Context, key string) (bool, error)

	// JobAt returns the key of the job that stands at a source, for the farm that is asked
	// of where one is; [ErrNotFound] where none does.
	JobAt(ctx context.Context, source string) (key string, err error)

	// AddFile keeps what is in a file, unless that is kept already. It fails where that
	// has another hash than the file's.
	AddFile(ctx context.Context, file File, open func() (io.ReadCloser, error)) error

	// OpenFile opens what was kept under a hash; [ErrNotFound] where nothing was.
	OpenFile(ctx context.Context, sha256 string) (io.ReadCloser, error)

	// Job returns a job, with its files; [ErrNotFound] where no such job was ever put.
	Job(ctx context.Context, key string) (*Sought, error)

	// Put keeps a job, all of it or nothing, and that it stands at a source, in the place
	// of any that stood there before; with the source "" it stands nowhere. Its files must
	// have been added. What is stored of a job stays as it was put first; names are told
	// as where it was put last.
	Put(ctx context.Context, source string, job *Sought, parts []*Part) error

	// Standing lists what stands in the book now, the latest work first, and says how many
	// those are in all.
	Standing(ctx context.Context, of Choice) (list []Standing, all int, err error)

	// Holds counts what stands in the book now.
	Holds(ctx context.Context) (Contents, error)

	Close() error
}

// A Choice is which of what stands in a book is listed. The zero value is nothing of it.
type Choice struct {
	Named  string // a part of the field's name, in small letters or large; "" for any
	Except string // not of jobs that stand at a source that begins so; "" for any
	Most   int    // so many at most
}

// A Standing is a field and an operation of a job that stands in a book.
type Standing struct {
	Job         string // its key
	Part        int
	Field       string
	Operation   string    // "" where there is but one
	First, Last time.Time // of the work, in UTC; zero where no log has a clock
	Area        float64   // of the field, in m²
	Machines    []string  // their names, each once
	Farm        int64     // that it stands for
	// Skip is the ground left out in m², without what is not worked yet, Overlap that worked
	// twice or more, Open how much of the edge is open in m, and Wasted the N put down twice
	// or outside in kg; NaN where that is not known.
	Skip, Overlap, Open, Wasted float64
}

// ErrNotFound is of what a book does not have.
var ErrNotFound = errors.New("not in the book")

// A DiskError is of a book whose disk is full or cannot be written. What the book had it
// has still, and of what was to be put it has nothing.
type DiskError struct{ Err error }

func (e *DiskError) Error() string {
	return "the disk of the book is full, or cannot be written: " + e.Err.Error()
}

// Unwrap is what the system or the database says.
func (e *DiskError) Unwrap() error { return e.Err }

// Contents are how much a book holds.
type Contents struct {
	Fields, Assessments, Machines, Operators int
	// First and Last are the years of the work; 0 where none has a clock.
	First, Last int
}
