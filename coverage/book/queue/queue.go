package queue

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"

	"lapwing/coverage/book"
)

// A Job is a job that waits to be measured. Its files must be in the book before it is added.
type Job struct {
	Key      string          `json:"key" river:"unique"`
	Program  string          `json:"program"`
	Question string          `json:"question"`
	Ask      json.RawMessage `json:"ask"`   // the question, for the program that answers it
	Files    []File          `json:"files"` // the job file first
}

// A File is a file of a job, as [book.File] has it but for where it lay.
type File struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// NewJob returns a job of a book as one that waits.
func NewJob(s *book.Sought, ask json.RawMessage) Job {
	j := Job{Key: s.Key, Program: s.Program, Question: s.Question, Ask: ask}
	for _, f := range s.Files {
		j.Files = append(j.Files, File{f.Name, f.Size, f.SHA256})
	}
	return j
}

// Sought returns the job as books know it.
func (j *Job) Sought() *book.Sought {
	s := &book.Sought{Key: j.Key, Program: j.Program, Question: j.Question}
	for _, f := range j.Files {
		s.Files = append(s.Files, book.File{Name: f.Name, Size: f.Size, SHA256: f.SHA256})
	}
	return s
}

// Kind names what is done with the job, for River.
func (Job) Kind() string { return "measure" }

// Priorities: of a job that a call waits for alone, of one of some, of one of many.
const (
	Urgent = iota + 1
	Soon
	InTurn
)

// A Queue is the jobs of a book that wait for workers of one program.
type Queue struct {
	name string
	poll time.Duration
	// pollOnly says that the database cannot notify workers of a new job.
	pollOnly bool
	exec     riverdriver.Executor
	open     func(*river.Config) (client, error)
	client   client
	ofDisk   func(error) error // makes an error of a full disk a book.DiskError
	// now is the time on the one clock that all who use the queue have.
	now func(context.Context) (time.Time, error)
}

// A client is a river.Client, whatever its database.
type client interface {
	InsertMany(context.Context, []river.InsertManyParams) ([]*rivertype.JobInsertResult, error)
	JobDelete(context.Context, int64) (*rivertype.JobRow, error)
	JobDeleteMany(context.Context, *river.JobDeleteManyParams) (*river.JobDeleteManyResult, error)
	JobGet(context.Context, int64) (*rivertype.JobRow, error)
	JobList(context.Context, *river.JobListParams) (*river.JobListResult, error)
	Start(context.Context) error
	Stop(context.Context) error
	Stopped() <-chan struct{}
}

// InPostgreSQL opens the queue of a program in a database, which is made where there is
// none. Its clock is the server's.
func InPostgreSQL(ctx context.Context, b interface {
	Pool() *pgxpool.Pool
	OfDisk(error) error
}, program string) (*Queue, error) {
	pool := b.Pool()
	q := &Queue{poll: time.Second, ofDisk: b.OfDisk, now: func(ctx context.Context) (now time.Time, err error) {
		err = pool.QueryRow(ctx, "SELECT now()").Scan(&now)
		return now, err
	}}
	return begin(ctx, q, riverpgxv5.New(pool), program)
}

// InSQLite opens the queue of a program in a database of this computer, which is made
// where there is none.
func InSQLite(ctx context.Context, b interface {
	DB() *sql.DB
	OfDisk(error) error
}, program string) (*Queue, error) {
	db := b.DB()
	q := &Queue{poll: 50 * time.Millisecond, pollOnly: true, ofDisk: b.OfDisk, now: func(context.Context) (time.Time, error) { return time.Now(), nil }}
	return begin(ctx, q, riversqlite.New(db), program)
}

func begin[Tx any](ctx context.Context, q *Queue, driver riverdriver.Driver[Tx], program string) (*Queue, error) {
	sum := sha256.Sum256([]byte(program))
	q.name = hex.EncodeToString(sum[:8])
	q.exec = driver.GetExecutor()
	q.open = func(c *river.Config) (client, error) { return river.NewClient(driver, c) }
	if err := migrate(ctx, driver); err != nil {
		return nil, fmt.Errorf("the queue of the book: %w", q.ofDisk(err))
	}
	var err error
	q.client, err = q.open(&river.Config{Logger: silent})
	return q, err
}

// silent hears what River says: who works is told of trouble by its own means.
var silent = slog.New(slog.DiscardHandler)

// migrate brings River's tables to the newest version. Where another program does so at
// the same time one of them fails, and finds the work done when it tries again.
func migrate[Tx any](ctx context.Context, driver riverdriver.Driver[Tx]) error {
	const tries, pause = 5, 200 * time.Millisecond
	migrator, err := rivermigrate.New(driver, &rivermigrate.Config{Logger: silent})
	if err != nil {
		return err
	}
	for try := 1; ; try++ {
		if _, err = migrator.Migrate(ctx, rivermigrate.DirectionUp, nil); err == nil || try == tries || ctx.Err() != nil {
			return err
		}
		time.Sleep(pause)
	}
}

// mostAttempts is how often River may try a job: so often that the bound of work.go comes
// first. An attempt that ends because its worker was told to stop counts for River, but not
// there.
const mostAttempts = 10_000

// alive are the states of a job that waits or is in hand.
var alive = []rivertype.JobState{
	rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRetryable, rivertype.JobStateRunning, rivertype.JobStateScheduled,
}

// Add adds jobs to those that wait, and returns the number of each. One that waits
// already keeps its number, and waits no longer than its new priority asks. mine are the
// numbers of those that were not there before.
func (q *Queue) Add(ctx context.Context, jobs []Job, priority int) (ids, mine []int64, err error) {
	const atOnce = 500 // their files stand in the statement
	for len(jobs) > 0 {
		some := jobs[:min(atOnce, len(jobs))]
		jobs = jobs[len(some):]
		var params []river.InsertManyParams
		for _, j := range some {
			params = append(params, river.InsertManyParams{Args: j, InsertOpts: q.insertOpts(j, priority)})
		}
		inserted, err := q.client.InsertMany(ctx, params)
		if err != nil {
			return nil, nil, q.ofDisk(err)
		}
		for _, r := range inserted {
			ids = append(ids, r.Job.ID)
			if !r.UniqueSkippedAsDuplicate {
				mine = append(mine, r.Job.ID)
			} else if err := q.exec.Exec(ctx, "UPDATE river_job SET priority = $1 WHERE priority > $1 AND id = $2", priority, r.Job.ID); err != nil {
				return nil, nil, err
			}
		}
	}
	return ids, mine, nil
}

func (q *Queue) insertOpts(j Job, priority int) *river.InsertOpts {
	return &river.InsertOpts{
		Queue: q.name, Priority: priority, MaxAttempts: mostAttempts, Tags: []string{j.Key},
		// What is done and is not in the book may be asked for again.
		UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: alive},
	}
}

// Remove takes jobs out that no call waits for any more. One that a worker has in hand is
// finished.
func (q *Queue) Remove(ctx context.Context, ids []int64) error {
	const atOnce = 10_000 // as many as River takes
	for len(ids) > 0 {
		some := ids[:min(atOnce, len(ids))]
		ids = ids[len(some):]
		if _, err := q.client.JobDeleteMany(ctx, river.NewJobDeleteManyParams().IDs(some...).States(
			rivertype.JobStateAvailable, rivertype.JobStateRetryable, rivertype.JobStateScheduled).First(len(some))); err != nil {
			return err
		}
	}
	return nil
}

// A Standing is how it is with a job.
type Standing int

// Gone is a job that was done or taken out, Waiting one that waits or is in hand, and Aside
// one that no worker will do.
const (
	Gone Standing = iota
	Waiting
	Aside
)

// Standing returns how it is with the job of a number and a key, and of one set aside
// why.
func (q *Queue) Standing(ctx context.Context, id int64, key string) (Standing, error, error) {
	row, err := q.client.JobGet(ctx, id)
	if errors.Is(err, rivertype.ErrNotFound) {
		return Gone, nil, nil
	}
	if err != nil {
		return Gone, nil, err
	}
	j, err := read(row)
	switch {
	case err != nil:
		return Gone, nil, err
	case j.Key != key || row.State == rivertype.JobStateCompleted: // SQLite gives a number again
		return Gone, nil, nil
	case row.State == rivertype.JobStateCancelled || row.State == rivertype.JobStateDiscarded:
		return Aside, whyAside(row), nil
	}
	return Waiting, nil, nil
}

func read(row *rivertype.JobRow) (j Job, err error) {
	err = json.Unmarshal(row.EncodedArgs, &j)
	return j, err
}

// A SetAside is a job that no worker will do, and why.
type SetAside struct {
	Job
	ID  int64
	Why error
}

// SetAside lists the jobs that were set aside.
func (q *Queue) SetAside(ctx context.Context) (out []SetAside, err error) {
	params := river.NewJobListParams().Queues(q.name).States(rivertype.JobStateCancelled, rivertype.JobStateDiscarded).
		OrderBy(river.JobListOrderByID, river.SortOrderAsc).First(1000)
	for {
		page, err := q.client.JobList(ctx, params)
		if err != nil {
			return nil, err
		}
		for _, row := range page.Jobs {
			j, err := read(row)
			if err != nil {
				return nil, err
			}
			out = append(out, SetAside{j, row.ID, whyAside(row)})
		}
		if page.LastCursor == nil || len(page.Jobs) == 0 {
			return out, nil
		}
		params = params.After(page.LastCursor)
	}
}

// Retry has the jobs that were set aside wait again, and returns how many those are.
func (q *Queue) Retry(ctx context.Context) (n int, err error) {
	aside, err := q.SetAside(ctx)
	if err != nil {
		return 0, err
	}
	for _, a := range aside {
		if _, _, err := q.Add(ctx, []Job{a.Job}, InTurn); err != nil {
			return n, err
		}
		// Only now: a job may be here twice for a moment, and never not at all.
		if _, err := q.client.JobDelete(ctx, a.ID); err != nil && !errors.Is(err, rivertype.ErrNotFound) {
			return n, err
		}
		n++
	}
	return n, nil
}

// isEmpty reports whether no job waits, and no worker has one in hand.
func (q *Queue) isEmpty(ctx context.Context) (bool, error) {
	page, err := q.client.JobList(ctx, river.NewJobListParams().Queues(q.name).States(alive...).First(1))
	return err == nil && len(page.Jobs) == 0, err
}

// Elsewhere counts the jobs, up to 1000, that wait for workers of another program.
func (q *Queue) Elsewhere(ctx context.Context) (n int, err error) {
	page, err := q.client.JobList(ctx, river.NewJobListParams().States(alive...).
		Where("queue != @name", river.NamedArgs{"name": q.name}).First(1000))
	if err != nil {
		return 0, err
	}
	return len(page.Jobs), nil
}
