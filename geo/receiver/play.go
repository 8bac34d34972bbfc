package receiver

import (
	"context"
	"errors"
	"io"
	"time"
)

// A Log gives the epochs of a log that was recorded, in its order. Next
// returns io.EOF after the last.
type Log interface {
	Next() (Epoch, error)
	Close() error
}

// play tells the epochs of a log, as many times as fast as they were logged as
// the address says.
func (r *run) play(ctx context.Context) error {
	if r.opt.OpenLog == nil {
		return errors.New(r.at.Place + ": found no way to open a log, want one")
	}
	log, err := r.opt.OpenLog(r.at.Place)
	if err != nil {
		return err
	}
	defer log.Close()
	r.status.Open = true
	r.say()
	var first Epoch
	var start time.Time
	for ctx.Err() == nil {
		e, err := log.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if start.IsZero() {
			first, start = e, time.Now()
		}
		if r.at.Speed > 0 {
			const most = 1e18 // nanoseconds: 30 years, which a Duration holds
			after := float64(e.Time.Sub(first.Time)) / r.at.Speed
			due := start.Add(time.Duration(max(-most, min(after, most))))
			for left := time.Until(due); left > 0 && ctx.Err() == nil; left = time.Until(due) {
				r.sleep(ctx, min(left, nap))
			}
		}
		if ctx.Err() != nil {
			break
		}
		e.Arrived = time.Now()
		r.played.Epochs++
		r.tell([]Epoch{e}, e.Arrived)
	}
	return nil
}
