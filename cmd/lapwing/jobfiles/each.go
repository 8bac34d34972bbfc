package jobfiles

import (
	"context"
	"errors"
	"fmt"
	"time"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/job"
)

// Failures is the one line for a call of which some jobs failed, with the exit
// status that fits the worst of them; others says where the rest is.
func Failures(failed map[string]error, of int, others string) error {
	if len(failed) == 0 {
		return nil
	}
	text := fmt.Sprintf("%d of %d jobs could not be assessed; %s", len(failed), of, others)
	for _, err := range failed {
		var wrong *job.InputError
		if !errors.As(err, &wrong) && !disk.IsOfFiles(err) {
			return errors.New(text)
		}
	}
	return &job.InputError{Found: text}
}

// How is how a job came to its answer.
type How int

// Measured is by reading its logs. Kept: its answer was there, and its files have not
// changed since. Taken: its answer was in a book, from elsewhere or before.
const (
	Measured How = iota
	Kept
	Taken
)

// Tally counts jobs by how they came to their answers, but for those that failed.
type Tally [3]int

// spared counts the jobs that were not measured.
func (n Tally) spared() int { return n[Kept] + n[Taken] }

// Each calls do for each job, so many at a time and no more than memory has room
// for, and returns what failed by the job's path, and how the others were done. say is
// told how far it came. It begins no more when ctx ends; what it never began counts as
// failed.
func Each(ctx context.Context, say func(string), jobs []Job, atOnce int, do func(context.Context, Job) (How, error)) (failed map[string]error, tally Tally) {
	type outcome struct {
		path string
		how  How
		err  error
	}
	room := newRoom(atOnce)
	done := make(chan outcome)
	go func() {
		for _, j := range jobs {
			weight := j.weight()
			room.enter(weight)
			go func() {
				defer room.leave(weight)
				o := outcome{path: j.Path, err: ctx.Err()}
				if o.err == nil {
					o.how, o.err = do(ctx, j)
				}
				done <- o
			}()
		}
	}()
	failed = map[string]error{}
	began := time.Now()
	say(fmt.Sprintf("0 of %d jobs", len(jobs)))
	for n := range jobs {
		o := <-done
		if o.err != nil {
			failed[o.path] = o.err
		} else {
			tally[o.how]++
		}
		say(fmt.Sprintf("%d of %d jobs%s%s", n+1, len(jobs), notes(tally, len(failed)), left(time.Since(began), n+1-tally.spared(), len(jobs)-n-1)))
	}
	say("")
	return failed, tally
}

// notes says how many jobs were done before, here and elsewhere, and how many failed.
func notes(tally Tally, failed int) string {
	s := ""
	if n := tally[Kept]; n > 0 {
		s += fmt.Sprintf(", %d done before", n)
	}
	if n := tally[Taken]; n > 0 {
		s += fmt.Sprintf(", %d taken from the book", n)
	}
	if failed > 0 {
		s += fmt.Sprintf(", %d failed", failed)
	}
	return s
}

// left says about how long the rest takes at the pace so far.
func left(spent time.Duration, did, rest int) string {
	if did < 3 || rest == 0 {
		return ""
	}
	return fmt.Sprintf(", about %s to go", (spent / time.Duration(did) * time.Duration(rest)).Round(time.Second))
}

// KeptWords says at the end of a line how many jobs were not done again; "" for none.
func KeptWords(tally Tally, of int) (words string) {
	if n := tally[Kept]; n > 0 {
		words += fmt.Sprintf("; %d of %d jobs kept, their files have not changed", n, of)
	}
	if n := tally[Taken]; n > 0 {
		words += fmt.Sprintf("; %d of %d jobs taken from the book", n, of)
	}
	return words
}
