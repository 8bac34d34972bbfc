package queue

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
)

// How often a job fails, or its worker is lost, before it is set aside. A worker may be
// lost for reasons that are not the job's. Judgement.
const (
	mostFailures = 3
	mostLosses   = 10
)

// keepAside is how long a job that was set aside is remembered.
const keepAside = 90 * 24 * time.Hour

// later is how long a job waits that could not be done because of the worker, such as
// one with a full disk.
const later = 3 * time.Second

// toFinish is how long jobs in hand may take when a worker is told to stop, before they
// are put back. The command has 10 s for all.
const toFinish = 5 * time.Second

// A WrongError is of a job whose input is wrong: it is set aside at once.
type WrongError struct{ Text string }

func (e *WrongError) Error() string { return e.Text }

// A LaterError is the error of a job that has no fault itself: another worker may do it, or
// the same one later.
type LaterError struct{ Err error }

func (e *LaterError) Error() string { return e.Err.Error() }

// Unwrap is the error that it is made of.
func (e *LaterError) Unwrap() error { return e.Err }

// Options say how a worker works.
type Options struct {
	AtOnce     int           // jobs at a time
	Longest    time.Duration // that a job takes at most, as do sees to
	UntilEmpty bool          // ends when no job waits or is in hand
	Begun      func()        // is told once the worker takes jobs
	// Say is told of trouble that is not of one job.
	Say func(string)
	// Ends reports whether an error, of the book or of do, is one that all jobs would have,
	// such as a full disk: the worker ends with it. Of none it is asked too.
	Ends func(error) bool
	// Ended is told of each job that was done, and with why of each set aside.
	Ended func(j Job, why error)
}

// Work takes jobs and has do do them, until ctx ends: then it waits a little for what is
// in hand, and puts the rest back. It ends so too with an error that [Options].Ends says ends
// it, and returns that. An error of do is one of the job, unless it is a
// [LaterError]; do heeds its context.
func (q *Queue) Work(ctx context.Context, o Options, do func(context.Context, Job) error) error {
	w := &worker{q: q, o: o, do: do, inHand: map[int64]bool{}, over: make(chan error, 1)}
	workers := river.NewWorkers()
	river.AddWorker(workers, w)
	// Time is bounded by do, and a lost worker is found by its silence; River's own bounds
	// are there should either fail.
	last := o.Longest + time.Minute
	c, err := q.open(&river.Config{
		Logger: silent, Queues: map[string]river.QueueConfig{q.name: {MaxWorkers: o.AtOnce}}, Workers: workers,
		FetchPollInterval: q.poll, FetchCooldown: min(q.poll, 100*time.Millisecond), PollOnly: q.pollOnly,
		JobTimeout: last, RescueStuckJobsAfter: 2 * last, SoftStopTimeout: toFinish, CancelledJobRetentionPeriod: keepAside,
	})
	if err != nil {
		return q.ofDisk(err)
	}
	endless := context.WithoutCancel(ctx)
	if err := c.Start(endless); err != nil {
		return q.ofDisk(err)
	}
	beating, still := context.WithCancel(endless)
	var beats sync.WaitGroup
	beats.Go(func() { w.beat(beating) })
	o.Begun()
	err = w.untilEnd(ctx)
	_ = c.Stop(endless)
	still()
	beats.Wait()
	return err
}

// untilEnd returns when ctx ends or, where that is asked for, no job is left.
func (w *worker) untilEnd(ctx context.Context) error {
	if !w.o.UntilEmpty {
		select {
		case err := <-w.over:
			return err
		case <-ctx.Done():
			return nil
		}
	}
	look := time.NewTicker(200 * time.Millisecond)
	defer look.Stop()
	for {
		// Where it cannot be told the beats say so.
		if empty, err := w.q.isEmpty(ctx); err == nil && empty {
			return nil
		}
		select {
		case err := <-w.over:
			return err
		case <-ctx.Done():
			return nil
		case <-look.C:
		}
	}
}

// A worker does jobs for River.
type worker struct {
	river.WorkerDefaults[Job]
	q  *Queue
	o  Options
	do func(context.Context, Job) error

	over chan error // why it ends before it is told to

	mu     sync.Mutex
	inHand map[int64]bool
}

// end ends the worker with an error.
func (w *worker) end(err error) {
	select {
	case w.over <- err:
	default: // it ends already
	}
}

// NextRetry is when a job that failed is tried again.
func (w *worker) NextRetry(row *river.Job[Job]) time.Time {
	failures, _ := history(row.JobRow)
	return time.Now().Add(time.Second << min(2*failures, 10))
}

// Work does one job.
func (w *worker) Work(ctx context.Context, row *river.Job[Job]) error {
	w.hold(row.ID, true)
	defer w.hold(row.ID, false)
	failures, losses := history(row.JobRow)
	if losses >= mostLosses {
		return w.setAside(row.Args, fmt.Errorf("its worker was lost %d times", losses))
	}
	err := w.do(ctx, row.Args)
	var wrong *WrongError
	var notNow *LaterError
	switch {
	case err == nil:
		w.o.Ended(row.Args, nil)
		return nil
	case ctx.Err() != nil:
		return river.JobSnooze(0) // the worker stops: back to where it was
	case w.o.Ends(err):
		w.end(err)
		return river.JobSnooze(0)
	case errors.As(err, &notNow):
		w.o.Say(fmt.Sprintf("a job waits for better times: %v", err))
		return river.JobSnooze(later)
	case errors.As(err, &wrong):
		return w.setAside(row.Args, err)
	}
	if failures+1 >= mostFailures {
		return w.setAside(row.Args, err)
	}
	return err
}

// setAside has River set a job aside.
func (w *worker) setAside(j Job, why error) error {
	w.o.Ended(j, why)
	var wrong *WrongError
	if errors.As(why, &wrong) {
		why = errors.New(wrongMark + why.Error())
	}
	return river.JobCancel(why)
}

// Of what River keeps of a job's errors this tells those apart that are not of the job,
// and those that its input is to blame for.
const (
	lostMark  = "lost: "
	wrongMark = "input: "
)

// history counts how often a job failed, and how often its worker was lost.
func history(row *rivertype.JobRow) (failures, losses int) {
	for _, e := range row.Errors {
		if strings.HasPrefix(e.Error, lostMark) {
			losses++
		} else {
			failures++
		}
	}
	return failures, losses
}

// whyAside is why a job was set aside.
func whyAside(row *rivertype.JobRow) error {
	if len(row.Errors) == 0 {
		return errors.New("taken out of the queue")
	}
	// River's word for a job that it is told to set aside stands before ours.
	text := strings.TrimPrefix(row.Errors[len(row.Errors)-1].Error, "JobCancelError: ")
	if of, ok := strings.CutPrefix(text, wrongMark); ok {
		return &WrongError{of}
	}
	return errors.New(text)
}
