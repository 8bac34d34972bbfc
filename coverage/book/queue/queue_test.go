//go:build unix

package queue

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/riverqueue/river/riverdriver"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/book/postgis"
	"lapwing/coverage/book/postgis/pgtest"
)

// The same holds in both databases.
func TestQueue(t *testing.T) {
	t.Run("SQLite", func(t *testing.T) {
		t.Parallel()
		run(t, func(t *testing.T, program string) *Queue {
			b, err := gpkg.Open(t.Context(), filepath.Join(t.TempDir(), "book.gpkg"))
			require.NoError(t, err)
			t.Cleanup(func() { b.Close() })
			q, err := InSQLite(t.Context(), b, program)
			require.NoError(t, err)
			return q
		})
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		t.Parallel()
		server := pgtest.Start(t)
		run(t, func(t *testing.T, program string) *Queue {
			b, err := postgis.Open(t.Context(), server.Database(t))
			require.NoError(t, err)
			t.Cleanup(func() { b.Close() })
			q, err := InPostgreSQL(t.Context(), b, program)
			require.NoError(t, err)
			return q
		})
	})
}

func run(t *testing.T, open func(t *testing.T, program string) *Queue) {
	for name, test := range map[string]func(*testing.T, *Queue){
		"each once": once, "the urgent first": urgentFirst, "set aside": setAside, "put back": putBack, "two workers": twoWorkers, "stopped": stopped, "over": over,
	} {
		t.Run(name, func(t *testing.T) {
			q := open(t, "a1")
			t.Parallel()
			test(t, q)
		})
	}
}

func jobOf(key string) Job {
	return Job{Key: key, Program: "a1", Question: "season", Ask: []byte(`{}`)}
}

// add adds jobs by their keys.
func add(t *testing.T, q *Queue, priority int, keys ...string) (ids, mine []int64) {
	t.Helper()
	var jobs []Job
	for _, key := range keys {
		jobs = append(jobs, jobOf(key))
	}
	ids, mine, err := q.Add(t.Context(), jobs, priority)
	require.NoError(t, err)
	return ids, mine
}

func standing(t *testing.T, q *Queue, id int64, key string) (Standing, error) {
	t.Helper()
	s, why, err := q.Standing(t.Context(), id, key)
	require.NoError(t, err)
	return s, why
}

// work works until the queue is empty, one job at a time.
func work(t *testing.T, q *Queue, do func(context.Context, Job) error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	require.NoError(t, q.Work(ctx, options(t), do))
	require.NoError(t, ctx.Err(), "the queue did not get empty")
}

// errOver ends a worker.
var errOver = errors.New("the disk is full")

// A worker that can do no job ends and says why, and its job is done by the next.
func over(t *testing.T, q *Queue) {
	add(t, q, Soon, "one", "two")
	began := time.Now()
	err := q.Work(t.Context(), options(t), func(context.Context, Job) error { return &LaterError{errOver} })
	require.ErrorIs(t, err, errOver)
	assert.Less(t, time.Since(began), toFinish)
	var done []string
	work(t, q, func(_ context.Context, j Job) error {
		done = append(done, j.Key)
		return nil
	})
	assert.ElementsMatch(t, []string{"one", "two"}, done)
}

func options(t *testing.T) Options {
	return Options{AtOnce: 1, Longest: time.Minute, UntilEmpty: true, Begun: func() {}, Say: func(text string) { t.Log(text) }, Ended: func(Job, error) {}, Ends: func(err error) bool { return errors.Is(err, errOver) }}
}

// A job that waits is not added again, and may be asked for again once it is done. What is
// taken out is not done.
func once(t *testing.T, q *Queue) {
	ids, mine := add(t, q, Soon, "one", "two")
	assert.Equal(t, ids, mine)
	again, mine := add(t, q, Soon, "two", "six", "one")
	assert.Equal(t, []int64{ids[1], again[1], ids[0]}, again)
	assert.Equal(t, again[1:2], mine)
	require.NoError(t, q.Remove(t.Context(), mine))
	s, _ := standing(t, q, mine[0], "six")
	assert.Equal(t, Gone, s)
	s, _ = standing(t, q, ids[0], "one")
	assert.Equal(t, Waiting, s)
	s, _ = standing(t, q, ids[0], "another")
	assert.Equal(t, Gone, s, "a number that is given again")
	var done []string
	work(t, q, func(_ context.Context, j Job) error {
		done = append(done, j.Key)
		return nil
	})
	assert.Equal(t, []string{"one", "two"}, done)
	s, _ = standing(t, q, ids[0], "one")
	assert.Equal(t, Gone, s)
	_, mine = add(t, q, Soon, "one")
	assert.Len(t, mine, 1)
}

// Who waits for one job is not kept waiting by who waits for many, also where both wait
// for the same.
func urgentFirst(t *testing.T, q *Queue) {
	add(t, q, InTurn, "one", "two", "six", "ten")
	add(t, q, Urgent, "six")
	add(t, q, Soon, "new", "six")
	var done []string
	work(t, q, func(_ context.Context, j Job) error {
		done = append(done, j.Key)
		return nil
	})
	assert.Equal(t, []string{"six", "new", "one", "two", "ten"}, done)
}

// A job with a wrong input is set aside at once, one that fails after three times; what is not the job's fault is tried until it is done. They
// stay aside until they are to wait again.
func setAside(t *testing.T, q *Queue) {
	ids, _ := add(t, q, Soon, "wrong", "fails", "later")
	tried := map[string]int{}
	work(t, q, func(_ context.Context, j Job) error {
		tried[j.Key]++
		switch {
		case j.Key == "wrong":
			return &WrongError{"day.csv:412: found no time"}
		case j.Key == "fails":
			return errors.New("panic: index out of range")
		case j.Key == "later" && tried[j.Key] == 1:
			return &LaterError{errors.New("no space left on device")}
		}
		return nil
	})
	assert.Equal(t, map[string]int{"wrong": 1, "fails": 3, "later": 2}, tried)
	for i, want := range []string{"day.csv:412: found no time", "panic: index out of range"} {
		s, why := standing(t, q, ids[i], []string{"wrong", "fails"}[i])
		assert.Equal(t, Aside, s)
		require.EqualError(t, why, want)
		var wrong *WrongError
		assert.Equal(t, i == 0, errors.As(why, &wrong))
	}
	aside, err := q.SetAside(t.Context())
	require.NoError(t, err)
	require.Len(t, aside, 2)
	assert.Equal(t, "wrong", aside[0].Key)
	n, err := q.Retry(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	work(t, q, func(context.Context, Job) error { return nil })
	aside, err = q.SetAside(t.Context())
	require.NoError(t, err)
	assert.Empty(t, aside)
}

// A job whose worker says nothing any more waits again, and one whose worker does not. A
// job that takes its worker with it each time is set aside in the end.
func putBack(t *testing.T, q *Queue) {
	ids, _ := add(t, q, Soon, "one", "two")
	taken := func() {
		require.NoError(t, q.exec.Exec(t.Context(), "UPDATE river_job SET scheduled_at = created_at"))
		rows, err := q.exec.JobGetAvailable(t.Context(), &riverdriver.JobGetAvailableParams{ClientID: "lost", MaxAttemptedBy: 10, MaxToLock: 2, Queue: q.name})
		require.NoError(t, err)
		require.NotEmpty(t, rows.Jobs)
	}
	taken()
	now, err := q.now(t.Context())
	require.NoError(t, err)
	require.NoError(t, q.putBack(t.Context(), now.Add(silence-time.Second)))
	states := func() (out []string) {
		for _, id := range ids {
			row, err := q.client.JobGet(t.Context(), id)
			require.NoError(t, err)
			out = append(out, string(row.State))
		}
		return out
	}
	assert.Equal(t, []string{"running", "running"}, states(), "not yet")
	// One of them is in hand, and its worker said so a moment ago.
	at := now.Add(silence)
	_, err = q.exec.JobUpdateFull(t.Context(), &riverdriver.JobUpdateFullParams{ID: ids[1], AttemptedAtDoUpdate: true, AttemptedAt: &at})
	require.NoError(t, err)
	require.NoError(t, q.putBack(t.Context(), now.Add(silence+time.Second)))
	assert.Equal(t, []string{"available", "running"}, states())
	for range mostLosses {
		taken()
		require.NoError(t, q.putBack(t.Context(), now.Add(time.Hour)))
	}
	require.NoError(t, q.exec.Exec(t.Context(), "UPDATE river_job SET scheduled_at = created_at"))
	work(t, q, func(context.Context, Job) error { return nil })
	s, why := standing(t, q, ids[0], "one")
	assert.Equal(t, Aside, s)
	assert.EqualError(t, why, fmt.Sprintf("its worker was lost %d times", mostLosses+1))
}

// Two workers share the jobs, and no job is done by both.
func twoWorkers(t *testing.T, q *Queue) {
	var keys []string
	for i := range 40 {
		keys = append(keys, fmt.Sprintf("job-%d", i))
	}
	add(t, q, Soon, keys...)
	var mu sync.Mutex
	done := map[string]int{}
	var workers sync.WaitGroup
	for range 2 {
		workers.Go(func() {
			work(t, q, func(_ context.Context, j Job) error {
				time.Sleep(time.Millisecond)
				mu.Lock()
				defer mu.Unlock()
				done[j.Key]++
				return nil
			})
		})
	}
	workers.Wait()
	assert.Len(t, done, len(keys))
	for key, n := range done {
		assert.Equal(t, 1, n, key)
	}
}

// A worker that is told to stop waits for what is in hand, and no longer than it may: then
// the job waits as if it had never been begun.
func stopped(t *testing.T, q *Queue) {
	ids, _ := add(t, q, Soon, "quick", "slow")
	ctx, stop := context.WithCancel(t.Context())
	o := options(t)
	o.AtOnce = 2
	var begun sync.WaitGroup
	begun.Add(2)
	quickDone := false
	go func() {
		begun.Wait()
		stop()
	}()
	began := time.Now()
	require.NoError(t, q.Work(ctx, o, func(ctx context.Context, j Job) error {
		begun.Done()
		if j.Key == "quick" {
			time.Sleep(300 * time.Millisecond)
			quickDone = ctx.Err() == nil
			return nil
		}
		<-ctx.Done()
		return ctx.Err()
	}))
	assert.Less(t, time.Since(began), toFinish+4*time.Second)
	assert.True(t, quickDone)
	s, _ := standing(t, q, ids[0], "quick")
	assert.Equal(t, Gone, s)
	s, _ = standing(t, q, ids[1], "slow")
	assert.Equal(t, Waiting, s)
	row, err := q.client.JobGet(t.Context(), ids[1])
	require.NoError(t, err)
	assert.Empty(t, row.Errors)
	assert.Equal(t, "available", string(row.State))
}
