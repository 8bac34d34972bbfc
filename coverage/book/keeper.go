//go:build !js

package book

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"sync"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
)

// A Keeper asks one question of jobs. It takes the answer from a book where that has it, and
// keeps the other answers there.
type Keeper struct {
	Store
	Inputs   job.Inputs
	Program  string // the program that asks: another build may find something else
	Question string // all that the answer depends on beside the job and its files
	// Place is the computer and folder where the jobs lie: the source of each is Place and its
	// path. Where it is "" the jobs stand at no source, and are in no table for people.
	Place string
	Farm  int64 // that they are of; [WholeBook] for the one that they are of already, or none
	Fresh bool  // measure all jobs anew

	mu     sync.Mutex
	unkept []string // the paths of jobs
}

// Unkept lists the paths of the jobs that the book could not keep.
func (k *Keeper) Unkept() []string {
	k.mu.Lock()
	defer k.mu.Unlock()
	return slices.Sorted(slices.Values(k.unkept))
}

// source is where the job at a path stands.
func (k *Keeper) source(path string) string {
	if k.Place == "" {
		return ""
	}
	return k.Place + k.Inputs.Abs(path)
}

// Stands reports whether the job of a record is in the book as it is now. For a nil Keeper,
// where there is no book, it is true.
func (k *Keeper) Stands(ctx context.Context, path string, now *Record) (bool, error) {
	if k == nil {
		return true, nil
	}
	job, err := Seek(k.Inputs, path, now, k.Program, k.Question)
	if errors.Is(err, errUnkept) {
		return true, nil // such a job is never in the book
	}
	if err != nil {
		return false, err
	}
	source := k.source(path)
	if source == "" {
		return k.Has(ctx, job.Key)
	}
	key, err := k.JobAt(k.of(ctx), source)
	if errors.Is(err, ErrNotFound) {
		return false, nil
	}
	return key == job.Key, err
}

// Offer returns the job at a path for workers to measure, and puts its files into the book;
// now is the record of the job. It returns nil where the book has the answer already, and
// where a book cannot keep the job.
func (k *Keeper) Offer(ctx context.Context, path string, now *Record) (*Sought, error) {
	job, err := Seek(k.Inputs, path, now, k.Program, k.Question)
	if errors.Is(err, errUnkept) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	there, err := k.Has(ctx, job.Key)
	if err != nil || there {
		return nil, err
	}
	return job, k.addFiles(ctx, job)
}

// Assess returns the assessments of the parts of the job at a path, of which now is the
// record. They come from the book, and then taken is true, or from measure, and then the
// book keeps them unless a file has changed meanwhile. measure is given the files under
// neutral names (see [Names]).
func (k *Keeper) Assess(ctx context.Context, path string, now *Record, measure func(in job.Inputs, path string) ([]*assess.Assessment, error)) (found []*assess.Assessment, taken bool, err error) {
	job, err := Seek(k.Inputs, path, now, k.Program, k.Question)
	if errors.Is(err, errUnkept) {
		k.mu.Lock()
		k.unkept = append(k.unkept, path)
		k.mu.Unlock()
		found, err = measure(k.Inputs, path)
		return found, false, err
	}
	if err != nil {
		return nil, false, err
	}
	var stored [][]byte // of what is found, under neutral names
	if !k.Fresh {
		if stored, found, err = k.take(ctx, job.Key); err != nil {
			return nil, false, err
		}
	}
	names := NamesOf(path)
	if taken = stored != nil; !taken {
		if found, err = measure(names.Inputs(k.Inputs), names.Path()); err != nil && ctx.Err() == nil {
			// The error is to name the files as they are called.
			found, err = measure(k.Inputs, path)
			return found, false, err
		}
		if err != nil {
			return nil, false, err
		}
		for _, a := range found {
			var b bytes.Buffer
			if err := a.Encode(&b); err != nil {
				return nil, false, err
			}
			stored = append(stored, b.Bytes())
		}
	}
	var parts []*Part // their figures and shapes bear the names that people know
	for i, a := range found {
		if err := a.Rename(names.Real); err != nil {
			return nil, false, err
		}
		parts = append(parts, partOf(a, stored[i]))
	}
	// A file that was changed while it was measured is not the one of the record.
	if taken || now.untouched(k.Inputs) {
		if err := k.put(ctx, path, job, parts); err != nil {
			return nil, false, err
		}
	}
	return found, taken, nil
}

// take takes the assessments of a job from the book: as bytes, and read. Both are nil where
// the book has none.
func (k *Keeper) take(ctx context.Context, key string) (stored [][]byte, found []*assess.Assessment, err error) {
	stored, err = k.Stored(ctx, key)
	if errors.Is(err, ErrNotFound) {
		return nil, nil, nil
	}
	for _, text := range stored {
		a, err := assess.Decode(bytes.NewReader(text))
		if err != nil {
			return nil, nil, err
		}
		found = append(found, a)
	}
	return stored, found, err
}

// put puts a job with its files into the book.
func (k *Keeper) put(ctx context.Context, path string, job *Sought, parts []*Part) error {
	if err := k.addFiles(ctx, job); err != nil {
		return err
	}
	return k.Put(k.of(ctx), k.source(path), job, parts)
}

// of is a context in which the keeper's farm is asked of, where it has one.
func (k *Keeper) of(ctx context.Context) context.Context {
	if k.Farm == WholeBook {
		return ctx
	}
	return As(ctx, Asks{Person: AskedBy(ctx).Person, Farm: k.Farm})
}

// addFiles puts the files of a job into the book.
func (k *Keeper) addFiles(ctx context.Context, job *Sought) error {
	for _, f := range job.Files {
		err := k.AddFile(ctx, f, func() (io.ReadCloser, error) { return k.Inputs.Open(f.Path) })
		if err != nil {
			return err
		}
	}
	return nil
}
