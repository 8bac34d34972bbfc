package workers

import (
	"context"
	"errors"
	"io"
	"time"

	"lapwing/coverage/book"
)

// A patientBook is a book for a call that waits for workers: where its database is
// restarted meanwhile, each question is asked again once the database answers. No question
// to a book does harm when it is asked twice.
type patientBook struct{ book.Store }

// again calls do until it succeeds. It waits for a book that does not answer at all, and
// gives up where the book answers other questions but not this one.
func (p patientBook) again(ctx context.Context, do func() error) (err error) {
	const tries, pause, patience = 5, 200 * time.Millisecond, time.Minute
	for range tries {
		var full *book.DiskError
		if err = do(); err == nil || errors.Is(err, book.ErrNotFound) || errors.As(err, &full) {
			return err
		}
		for asked := time.Now(); ; {
			select {
			case <-ctx.Done():
				return err
			case <-time.After(pause):
			}
			if _, silent := p.Store.Has(ctx, ""); silent == nil || time.Since(asked) > patience {
				break
			}
		}
	}
	return err
}

// Stored is [book.Store]'s, as are all that follow.
func (p patientBook) Stored(ctx context.Context, key string) (parts [][]byte, err error) {
	err = p.again(ctx, func() error { parts, err = p.Store.Stored(ctx, key); return err })
	return parts, err
}

func (p patientBook) Has(ctx context.Context, key string) (there bool, err error) {
	err = p.again(ctx, func() error { there, err = p.Store.Has(ctx, key); return err })
	return there, err
}

func (p patientBook) JobAt(ctx context.Context, source string) (key string, err error) {
	err = p.again(ctx, func() error { key, err = p.Store.JobAt(ctx, source); return err })
	return key, err
}

func (p patientBook) AddFile(ctx context.Context, file book.File, open func() (io.ReadCloser, error)) error {
	return p.again(ctx, func() error { return p.Store.AddFile(ctx, file, open) })
}

func (p patientBook) Put(ctx context.Context, source string, job *book.Sought, parts []*book.Part) error {
	return p.again(ctx, func() error { return p.Store.Put(ctx, source, job, parts) })
}

func (p patientBook) Holds(ctx context.Context) (c book.Contents, err error) {
	err = p.again(ctx, func() error { c, err = p.Store.Holds(ctx); return err })
	return c, err
}
