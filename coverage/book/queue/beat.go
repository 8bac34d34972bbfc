package queue

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/rivertype"
)

// Every beat a worker notes of each job in hand that it works on it. A job of which that was
// not noted for as long as silence is put back, for its worker is lost. A lost worker is
// noticed within silence and a beat then, however long a job may take. River itself knows
// only when a job was begun. A worker that is slower than this is taken for lost: its jobs
// are done twice then, and are in the book once.
const (
	beat    = 2 * time.Second
	silence = 10 * time.Second
)

// hold says whether a job is in hand.
func (w *worker) hold(id int64, held bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if held {
		w.inHand[id] = true
	} else {
		delete(w.inHand, id)
	}
}

// held lists the jobs in hand.
func (w *worker) held() []int64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Sorted(maps.Keys(w.inHand))
}

// beat says of the jobs in hand that they are, and puts back those of lost workers, until
// ctx ends. Meanwhile it says when the book does not answer. Once it does again the others
// may have been as silent as this one: they get their time first.
func (w *worker) beat(ctx context.Context) {
	ticks := time.NewTicker(beat)
	defer ticks.Stop()
	var gone, back time.Time // since when it does not answer; when it did again
	for {
		held := w.held()
		now, err := w.q.keepUp(ctx, held)
		if err == nil && len(held) == 0 {
			err = w.q.probe(ctx)
		}
		if err == nil && time.Since(back) > silence {
			err = w.q.putBack(ctx, now)
		}
		switch {
		case ctx.Err() != nil:
			return
		case w.o.Ends(w.q.ofDisk(err)):
			w.end(w.q.ofDisk(err))
		case err != nil && gone.IsZero():
			gone = time.Now()
			w.o.Say(fmt.Sprintf("the book does not answer: %v; trying again", err))
		case err == nil && !gone.IsZero():
			gone, back = time.Time{}, time.Now()
			w.o.Say("the book answers again")
		}
		select {
		case <-ctx.Done():
			return
		case <-ticks.C:
		}
	}
}

// keepUp says of jobs that they are in hand, and returns what time it is.
func (q *Queue) keepUp(ctx context.Context, held []int64) (now time.Time, err error) {
	if now, err = q.now(ctx); err != nil {
		return now, err
	}
	for _, id := range held {
		_, err := q.exec.JobUpdateFull(ctx, &riverdriver.JobUpdateFullParams{ID: id, AttemptedAtDoUpdate: true, AttemptedAt: &now})
		if err != nil && !errors.Is(err, rivertype.ErrNotFound) {
			return now, err
		}
	}
	return now, nil
}

// probe writes a row where jobs wait and this worker has none: on a full disk River takes no
// job, and reports no error.
func (q *Queue) probe(ctx context.Context) error {
	if empty, err := q.isEmpty(ctx); err != nil || empty {
		return err
	}
	return q.exec.Exec(ctx, "UPDATE river_queue SET updated_at = updated_at WHERE name = $1", q.name)
}

// putBack has the jobs of lost workers wait again.
func (q *Queue) putBack(ctx context.Context, now time.Time) error {
	horizon := now.Add(-silence)
	lost, err := q.exec.JobGetStuck(ctx, &riverdriver.JobGetStuckParams{Max: 1000, StuckHorizon: horizon})
	if err != nil || len(lost) == 0 {
		return err
	}
	back := &riverdriver.JobRescueManyParams{StuckHorizon: horizon}
	for _, row := range lost {
		text, err := json.Marshal(rivertype.AttemptError{At: now, Attempt: row.Attempt, Error: lostMark + "its worker was silent"})
		if err != nil {
			return err
		}
		back.ID = append(back.ID, row.ID)
		back.Error = append(back.Error, text)
		back.FinalizedAt = append(back.FinalizedAt, nil)
		back.ScheduledAt = append(back.ScheduledAt, now)
		back.State = append(back.State, string(rivertype.JobStateAvailable))
	}
	_, err = q.exec.JobRescueMany(ctx, back)
	return err
}
