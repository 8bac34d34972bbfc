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

	"lapwing/cmd/lapwing/disk"
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

// A Handing is the jobs of a call that workers measure.
type Handing struct {
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
	// Offer returns a job for them; nil where they need not do it.
	Offer func(context.Context, jobfiles.Job) (*book.Sought, error)
}

// HandOut puts those of a call's jobs into the queue of its book that the book does not
// have yet.
func HandOut(ctx context.Context, a Asking, program string, jobs []jobfiles.Job) (*Handing, error) {
	q, err := QueueOf(ctx, a.Book.Store, program)
	if err != nil {
		return nil, err
	}
	a.Book.Store = patientBook{a.Book.Store}
	ask, err := json.Marshal(a.Question)
	if err != nil {
		return nil, err
	}
	h := &Handing{q: q, book: a.Book, jobs: map[string]queue.Job{}, ids: map[string]int64{}}
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
		h.jobs[j.Path] = job
		if id, ok := before[job.Key]; ok {
			h.ids[j.Path] = id
			continue
		}
		paths, out = append(paths, j.Path), append(out, job)
	}
	h.priority = priorityOf(len(out))
	ids, mine, err := q.Add(ctx, out, h.priority)
	if err != nil {
		return nil, err
	}
	h.mine = mine
	for i, path := range paths {
		h.ids[path] = ids[i]
	}
	return h, nil
}

// priorityOf is how urgent the jobs of a call are that waits for so many: who waits for
// one field is not kept waiting by who has a whole season measured.
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
func (h *Handing) Wait(ctx context.Context, path string) error {
	job, ok := h.jobs[path]
	if !ok {
		return nil // it is in the book, or cannot be
	}
	const look, patience = 200 * time.Millisecond, time.Minute
	answered := time.Now()
	for {
		over, err := h.look(ctx, path, job)
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

// look reports whether workers have done with a job. An error with it is of the job, one
// without of the book.
func (h *Handing) look(ctx context.Context, path string, job queue.Job) (over bool, err error) {
	if there, err := h.book.Has(ctx, job.Key); err != nil || there {
		return there, err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	standing, why, err := h.q.Standing(ctx, h.ids[path], job.Key)
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
		if there, err := h.book.Has(ctx, job.Key); err != nil || there {
			return there, err
		}
		ids, mine, err := h.q.Add(ctx, []queue.Job{job}, h.priority)
		if err != nil {
			return false, err
		}
		h.ids[path] = ids[0]
		h.mine = append(h.mine, mine...)
	}
	return false, nil
}

// TakeBack takes out of the queue what is not begun of what this run put there.
func (h *Handing) TakeBack(ctx context.Context) {
	const atMost = 100 * time.Millisecond // a signal gives a run no more; what stays is done for nobody
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), atMost)
	defer cancel()
	h.mu.Lock()
	defer h.mu.Unlock()
	_ = h.q.Remove(ctx, h.mine)
}

// Count is how many jobs workers measure for the call.
func (h *Handing) Count() int { return len(h.jobs) }

// isFull reports whether an error says that the disk of a book is full.
func isFull(err error) bool {
	var full *book.DiskError
	return errors.As(err, &full) || disk.IsFull(err)
}
