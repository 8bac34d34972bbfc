// Package workers has the jobs of a call measured by workers: puts them into the queue of
// a book, and waits until each is done. What a worker does with one is package work.
package workers

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"time"

	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/coverage/book"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/queue"
	"lapwing/coverage/book/tables"
)

// QueueOf opens the queue of a book for a program.
func QueueOf(ctx context.Context, store book.Store, program string) (*queue.Queue, error) {
	switch b := store.(type) {
	case *postgis.Book:
		return queue.InPostgreSQL(ctx, b, program)
	case *tables.Book:
		return queue.InSQLite(ctx, b, program)
	}
	return nil, fmt.Errorf("found a book of another kind (%T), which has no queue", store)
}

// A Batch is the jobs of a call that workers measure.
type Batch struct {
	q    *queue.Queue
	book *book.Keeper
	jobs map[string]queue.Job // by the path of a job file
	ids  map[string]int64     // in the queue, by that path
	mine []int64              // of those that this call put there

	priority int
	mu       sync.Mutex // of mine and ids
}

// An Asking is a question for workers.
type Asking struct {
	Book     *book.Keeper
	Question book.Question
	// Offer returns a job as workers are to measure it; nil where they need not.
	Offer func(context.Context, jobfiles.Job) (*book.Sought, error)
}

// HandOut puts the jobs of a call into the queue of its book, but for those that the book
// has the answer of already.
func HandOut(ctx context.Context, a Asking, program string, jobs []jobfiles.Job) (*Batch, error) {
	q, err := QueueOf(ctx, a.Book.Store, program)
	if err != nil {
		return nil, err
	}
	a.Book.Store = patientBook{a.Book.Store}
	ask, err := json.Marshal(a.Question)
	if err != nil {
		return nil, err
	}
	b := &Batch{q: q, book: a.Book, jobs: map[string]queue.Job{}, ids: map[string]int64{}}
	aside, err := q.SetAside(ctx)
	if err != nil {
		return nil, err
	}
	before := map[string]int64{}
	for _, a := range aside {
		before[a.Key] = a.ID
	}
	var paths []string
	var out []queue.Job
	for _, j := range jobs {
		sought, err := a.Offer(ctx, j)
		if err != nil {
			return nil, err
		}
		if sought == nil {
			continue
		}
		job := queue.NewJob(sought, ask)
		b.jobs[j.Path] = job
		if id, ok := before[job.Key]; ok {
			b.ids[j.Path] = id
			continue
		}
		paths, out = append(paths, j.Path), append(out, job)
	}
	b.priority = priorityOf(len(out))
	ids, mine, err := q.Add(ctx, out, b.priority)
	if err != nil {
		return nil, err
	}
	b.mine = mine
	for i, path := range paths {
		b.ids[path] = ids[i]
	}
	return b, nil
}

// priorityOf is how urgent the jobs of a call are that waits for so many: a person who
// waits for one field does not wait for the whole season of another.
func priorityOf(jobs int) int {
	const some = 20 // what a few workers do in a minute; judgement
	switch {
	case jobs <= 1:
		return queue.Urgent
	case jobs <= some:
		return queue.Soon
	}
	return queue.InTurn
}

// Wait returns when workers have done with the job at a path.
func (b *Batch) Wait(ctx context.Context, path string) error {
	job, ok := b.jobs[path]
	if !ok {
		return nil // it is in the book, or cannot be
	}
	const look, patience = 200 * time.Millisecond, time.Minute
	answered := time.Now()
	for {
		over, err := b.look(ctx, path, job)
		switch {
		case over || ctx.Err() != nil:
			return errors.Join(err, ctx.Err())
		case err == nil:
			answered = time.Now()
		case time.Since(answered) > patience: // the book does not answer
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(look):
		}
	}
}

// look reports whether workers have done with a job. An error with true is the job's, one
// with false the book's.
func (b *Batch) look(ctx context.Context, path string, job queue.Job) (over bool, err error) {
	if there, err := b.book.Has(ctx, job.Key); err != nil || there {
		return there, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	standing, why, err := b.q.Standing(ctx, b.ids[path], job.Key)
	if err != nil {
		return false, err
	}
	switch standing {
	case queue.Waiting:
	case queue.Aside:
		var wrong *queue.WrongError
		if errors.As(why, &wrong) {
			return true, nil // this run finds the same, and says it of the files as they are called
		}
		return true, fmt.Errorf("%s: set aside by the workers: %w", path, why)
	case queue.Gone:
		// Done a moment ago, or taken out by another run that waited for it too.
		if there, err := b.book.Has(ctx, job.Key); err != nil || there {
			return there, err
		}
		ids, mine, err := b.q.Add(ctx, []queue.Job{job}, b.priority)
		if err != nil {
			return false, err
		}
		b.ids[path] = ids[0]
		b.mine = append(b.mine, mine...)
	}
	return false, nil
}

// TakeBack takes out of the queue what is not begun of what this run put there.
func (b *Batch) TakeBack(ctx context.Context) {
	const atMost = 100 * time.Millisecond // a signal leaves a run no more time; a job that stays is measured in vain
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), atMost)
	defer cancel()
	b.mu.Lock()
	defer b.mu.Unlock()
	_ = b.q.Remove(ctx, b.mine)
}

// Count is how many jobs workers measure for the call.
func (b *Batch) Count() int { return len(b.jobs) }
