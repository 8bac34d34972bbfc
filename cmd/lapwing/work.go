package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/signals"
	"lapwing/cmd/lapwing/work"
	"lapwing/coverage/book"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/queue"
	"lapwing/coverage/book/tables"
	"lapwing/report/words"
)

type workFlags struct {
	book       string
	untilEmpty bool
	retry      bool
	jobs       int
	longest    time.Duration
	memory     int64
}

func newWork() *cobra.Command {
	var f workFlags
	c := &cobra.Command{
		Use:   "work --book URL",
		Short: "Measure the jobs that wait in a book, on as many computers as one likes",
		Long: `work takes jobs from the queue of a book, measures them and puts what it finds into
the book. season and waste put them there with --book URL --workers, and wait for
them. The files of a job are in the book, so workers need nothing of the computer that they come
from. Those that are waited for one by one are done before those of a long list.

As many workers as one likes may run at a time. Of one that is lost the others
notice within a quarter of a minute, and do its jobs. A job that could not be done is tried
three times, with a pause. One whose input is wrong, or that fails each time, is set
aside with what is wrong: who waits for it says so, and --retry has all of those wait again.

Each job is measured in a process of its own, which may take so much time and
memory. A signal ends the worker in order within 10 s, and puts back what is in
hand. One that finds a disk full ends too, with exit status 2, and no job is lost.
Jobs wait for workers of the program that asked for them: another build may
find something else.`,
		Example: `  lapwing work --book postgres://host/farm
  lapwing work --book file:book.gpkg --until-empty`,
		Args: surplus,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.book, "book", "", "the book: file:book.gpkg or postgres://host/database")
	fs.BoolVar(&f.untilEmpty, "until-empty", false, "end when no job waits and none is in anybody's hand")
	fs.BoolVar(&f.retry, "retry", false, "first have the jobs wait again that were set aside")
	fs.IntVar(&f.jobs, "jobs", 0, "jobs at a time (default one a processor)")
	fs.DurationVar(&f.longest, "max-time", 10*time.Minute, "the longest that a job may take")
	fs.Int64Var(&f.memory, "max-memory", 2048, "the most memory that a job may take, in MB")
	return c
}

func (f *workFlags) run(c *cobra.Command) error {
	switch {
	case f.book == "":
		return &callError{"--book: found none, want file:book.gpkg or postgres://host/database"}
	case f.jobs < 0:
		return &callError{fmt.Sprintf("--jobs: found %d, want 1 or more", f.jobs)}
	case f.longest <= 0:
		return &callError{fmt.Sprintf("--max-time: found %v, want a time such as 10m", f.longest)}
	case f.memory <= 0:
		return &callError{fmt.Sprintf("--max-memory: found %d, want MB such as 2048", f.memory)}
	case f.jobs == 0:
		f.jobs = runtime.GOMAXPROCS(0)
	}
	ctx := c.Context()
	k, err := openBook(c, f.book, false, "")
	if err != nil {
		return err
	}
	defer k.Close()
	q, err := queueOf(ctx, k.Store)
	if err != nil {
		return err
	}
	signals.EndsInOrder(ctx)
	if f.retry {
		n, err := q.Retry(ctx)
		if err != nil {
			return err
		}
		fmt.Fprintf(c.OutOrStdout(), "Jobs that were set aside and wait again: %d\n", n)
	}
	var mu sync.Mutex
	finished, aside := 0, 0
	say := func(text string) {
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintln(c.ErrOrStderr(), text)
	}
	doer := &work.Doer{Book: k.Store, Time: f.longest, Memory: f.memory << 20}
	err = q.Work(ctx, queue.Options{
		AtOnce: f.jobs, Longest: f.longest, UntilEmpty: f.untilEmpty,
		Begun: func() { fmt.Fprintf(c.OutOrStdout(), "work %s, %d at a time\n", shownBook(f.book), f.jobs) },
		Ends:  isDiskFull,
		Say:   func(text string) { say("warning: " + oneLine(errors.New(text))) },
		Ended: func(j queue.Job, why error) {
			if why != nil {
				say(fmt.Sprintf("set aside: job %.12s: %s", j.Key, oneLine(why)))
			}
			mu.Lock()
			defer mu.Unlock()
			if why == nil {
				finished++
			} else {
				aside++
			}
		},
	}, doer.Do)
	if err != nil {
		return fmt.Errorf("%w; jobs done: %d, with room the same command goes on", err, finished)
	}
	fmt.Fprintf(c.OutOrStdout(), "Jobs done: %d; set aside: %d\n", finished, aside)
	if other, err := q.Elsewhere(context.WithoutCancel(ctx)); err == nil && other > 0 {
		say(fmt.Sprintf("warning: jobs that wait for workers of another build of lapwing: %d", other))
	}
	return nil
}

// newAnswerJob is the process of a job, see package work.
func newAnswerJob() *cobra.Command {
	return &cobra.Command{
		Use: work.Command, Hidden: true, Args: surplus,
		RunE: func(c *cobra.Command, _ []string) error {
			return work.Answer(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
}

// queueOf opens the queue of a book for this program.
func queueOf(ctx context.Context, store book.Store) (*queue.Queue, error) {
	switch b := store.(type) {
	case *postgis.Book:
		return queue.InPostgreSQL(ctx, b, bookProgram())
	case *tables.Book:
		return queue.InSQLite(ctx, b, bookProgram())
	}
	return nil, fmt.Errorf("found a book of another kind (%T), which has no queue", store)
}

// workersFlag says that workers answer for a call.
type workersFlag bool

func (f *workersFlag) add(fs *pflag.FlagSet) {
	fs.BoolVar((*bool)(f), "workers", false, "with --book: have lapwing work measure what the book does not have, and wait for it")
}

// check refuses what does not go together with workers.
func (f workersFlag) check(address string, fresh bool) error {
	switch {
	case bool(f) && address == "":
		return &callError{"--workers: found no --book, want that of the workers"}
	case bool(f) && fresh:
		return &callError{"--workers: found --fresh too, want one of them: --fresh measures here"}
	}
	return nil
}

// A handing is the jobs of a call that workers measure.
type handing struct {
	q    *queue.Queue
	book *book.Keeper
	// By the path of a job file.
	jobs map[string]queue.Job
	ids  map[string]int64
	mine []int64

	priority int
	mu       sync.Mutex // of mine and ids
}

// An asking is a question for workers.
type asking struct {
	book     *book.Keeper
	question book.Question
	// offer returns a job for them; nil where they need not do it.
	offer func(context.Context, jobfiles.Job) (*book.Sought, error)
}

// handOut puts those of a call's jobs into the queue of its book that the book does not
// have yet.
func handOut(ctx context.Context, a asking, jobs []jobfiles.Job) (*handing, error) {
	q, err := queueOf(ctx, a.book.Store)
	if err != nil {
		return nil, err
	}
	a.book.Store = patientBook{a.book.Store}
	ask, err := json.Marshal(a.question)
	if err != nil {
		return nil, err
	}
	h := &handing{q: q, book: a.book, jobs: map[string]queue.Job{}, ids: map[string]int64{}}
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
		sought, err := a.offer(ctx, j)
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

// wait returns when workers have done with the job at a path.
func (h *handing) wait(ctx context.Context, path string) error {
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
func (h *handing) look(ctx context.Context, path string, job queue.Job) (over bool, err error) {
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

// takeBack takes out of the queue what is not begun of what this run put there.
func (h *handing) takeBack(ctx context.Context) {
	const atMost = 100 * time.Millisecond // a signal gives a run no more; what stays is done for nobody
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), atMost)
	defer cancel()
	h.mu.Lock()
	defer h.mu.Unlock()
	_ = h.q.Remove(ctx, h.mine)
}

// handingOut hands the jobs of a call to workers, and says so. wait returns when they have
// done with the job at a path; back is to be called when the call has what it waits for,
// or stops.
func handingOut(c *cobra.Command, address string, a asking, jobs []jobfiles.Job) (wait func(ctx context.Context, path string) error, back func(), err error) {
	h, err := handOut(c.Context(), a, jobs)
	if err != nil {
		return nil, nil, err
	}
	if n := len(h.jobs); n > 0 {
		fmt.Fprintf(c.ErrOrStderr(), "Left to workers, lapwing work --book %s: %s\n", shownBook(address), words.Count(n, "job"))
	}
	return h.wait, func() {
		if c.Context().Err() != nil {
			h.takeBack(c.Context())
		}
	}, nil
}
