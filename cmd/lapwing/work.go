package main

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/signals"
	"lapwing/cmd/lapwing/work"
	"lapwing/cmd/lapwing/workers"
	"lapwing/coverage/book/queue"
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
	q, err := workers.QueueOf(ctx, k.Store, bookProgram())
	if err != nil {
		return err
	}
	dir, remove, err := output.NewTempDir("lapwing-work")
	if err != nil {
		return err
	}
	defer remove()
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
	doer := &work.Doer{Book: k.Store, Dir: dir, Time: f.longest, Memory: f.memory << 20}
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

// handingOut hands the jobs of a call to workers, and says so. wait returns when they have
// done with the job at a path; back is to be called when the call has what it waits for,
// or stops.
func handingOut(c *cobra.Command, address string, a workers.Asking, jobs []jobfiles.Job) (wait func(ctx context.Context, path string) error, back func(), err error) {
	h, err := workers.HandOut(c.Context(), a, bookProgram(), jobs)
	if err != nil {
		return nil, nil, err
	}
	if n := h.Count(); n > 0 {
		fmt.Fprintf(c.ErrOrStderr(), "Left to workers, lapwing work --book %s: %s\n", shownBook(address), words.Count(n, "job"))
	}
	return h.Wait, func() {
		if c.Context().Err() != nil {
			h.TakeBack(c.Context())
		}
	}, nil
}
