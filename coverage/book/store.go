//go:build !js

package book

import (
	"context"
	"errors"
	"io"
	"time"
)

// A Store is a book. Several programs and goroutines may use one at a time.
type Store interface {
	// Stored returns the assessments of the job of a key, one for each of its parts, as
	// they were put; [ErrNotFound] where no such job was ever put.
	Stored(ctx context.Context, key string) (parts [][]byte, err error)

	// Has reports whether a job of a key was ever put.
	Has(ctx context.Context, key string) (bool, error)

	// JobAt returns the key of the job that stands at a source, for the farm that is asked
	// of where one is; [ErrNotFound] where none does.
	JobAt(ctx context.Context, source string) (key string, err error)

	// AddFile keeps the bytes of a file, unless the book has them. It fails where the bytes
	// that open gives have another hash than the file says.
	AddFile(ctx context.Context, file File, open func() (io.ReadCloser, error)) error

	// OpenFile opens what was kept under a hash; [ErrNotFound] where nothing was.
	OpenFile(ctx context.Context, sha256 string) (io.ReadCloser, error)

	// Job returns a job, with its files; [ErrNotFound] where no such job was ever put.
	Job(ctx context.Context, key string) (*Sought, error)

	// Put keeps a job and its parts, all or nothing, and has the job stand at a source in the
	// place of the one that stood there before; with the source "" it stands nowhere. Its
	// files must have been added. Of a job that was put before, the assessments stay as they
	// were put first, and the names of its fields become those of this call.
	Put(ctx context.Context, source string, job *Sought, parts []*Part) error

	// Standing lists what stands in the book now, the latest work first. all is how many fit
	// the choice, with those beyond the limit of the list.
	Standing(ctx context.Context, of Choice) (list []Standing, all int, err error)

	// Holds counts what stands in the book now.
	Holds(ctx context.Context) (Contents, error)

	Close() error
}

// A Choice says which fields of a book are listed. The zero value lists none.
type Choice struct {
	Named  string // a part of the field's name, in small letters or large; "" for any
	Except string // not of jobs that stand at a source that begins so; "" for any
	Most   int    // so many at most
}

// A Standing is one part, a field and an operation, of a job that stands in a book.
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

// ErrNotFound says that a book does not have what was asked for.
var ErrNotFound = errors.New("not in the book")

// A DiskError says that the disk of a book is full or cannot be written. The book still has
// what it had, and nothing of what was to be put.
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
