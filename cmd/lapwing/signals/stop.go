// Package signals ends a call in good order when a signal comes: the interrupt of a
// keyboard, or the order to terminate. The context of the call ends then. Code that does not
// heed its context is ended all the same.
package signals

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"syscall"
	"time"
)

// A signal ends any command within half a second: what hears the context may end
// by itself for so long, and say how far it came; then the files it has begun are
// taken away, and it ends in the middle of whatever it does.
const (
	grace = 150 * time.Millisecond
	// tidying is how long taking away what was begun may take. What a slow disk still has
	// then is finished or taken away by the next run, see lapwing/cmd/lapwing/output.
	tidying = 250 * time.Millisecond
	// orderly is how long a command that serves may take to finish or put back what it
	// has in hand, see [EndsInOrder].
	orderly = 10 * time.Second
)

// EndsInOrder says that the command that ctx belongs to ends in order when a signal
// comes, and returns nil when it has: it serves until then, and that is its end. It
// has 10 s for it.
func EndsInOrder(ctx context.Context) {
	if said, ok := ctx.Value(inOrder{}).(*atomic.Bool); ok {
		said.Store(true)
	}
}

// InOrder reports whether the command that ctx belongs to ends in order.
func InOrder(ctx context.Context) bool {
	said, ok := ctx.Value(inOrder{}).(*atomic.Bool)
	return ok && said.Load()
}

// LastWord says why a call ends, unless it is not waited for any longer: what fails then
// fails since its files are taken away, and that it was stopped is said already.
func LastWord(ctx context.Context, say func()) {
	if word, ok := ctx.Value(lastWord{}).(*sync.Once); ok {
		word.Do(say)
		return
	}
	say()
}

type (
	inOrder  struct{}
	lastWord struct{}
)

// A StopError says that a signal ended the run.
type StopError struct{ signal syscall.Signal }

func (e *StopError) Error() string {
	if e.signal == syscall.SIGTERM {
		return "stopped: told to terminate"
	}
	return "stopped: interrupted"
}

// Status is the exit status of a run that a signal ended: 128 and the signal's
// number, as shells have it (POSIX.1-2017, Shell Command Language 2.8.2, asks for
// more than 128).
func (e *StopError) Status() int { return 128 + int(e.signal) }

// StoppedBy returns the signal that ended a context; nil if none did.
func StoppedBy(ctx context.Context) *StopError {
	var stop *StopError
	if errors.As(context.Cause(ctx), &stop) {
		return stop
	}
	return nil
}

// Attend carries out one call, unless a signal ends it first, and returns its exit
// status. A second signal ends it at once. discard takes away what the call has begun to
// write; after a signal it is called once, when the call has ended or is not waited for any
// longer.
func Attend(call func(context.Context) int, discard func(), stderr io.Writer) int {
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(signals)
	var serves atomic.Bool
	var word sync.Once
	ctx := context.WithValue(context.WithValue(context.Background(), inOrder{}, &serves), lastWord{}, &word)
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	ended := make(chan int, 1)
	go func() { ended <- call(ctx) }()
	var stop *StopError
	select {
	case status := <-ended:
		return status
	case s := <-signals:
		number, _ := s.(syscall.Signal)
		stop = &StopError{number}
	}
	cancel(stop)
	patient := grace
	if serves.Load() {
		patient = orderly - tidying
	}
	cleared := func() bool { // unless the disk is slow
		done := make(chan struct{})
		go func() {
			discard()
			close(done)
		}()
		select {
		case <-done:
		case <-signals:
		case <-time.After(tidying):
			return false
		}
		return true
	}
	select {
	case status := <-ended:
		cleared() // something that the call did not wait for may be at work yet
		return status
	case <-signals:
		return stop.Status()
	case <-time.After(patient):
	}
	said := true // by the call, which came to its end just now
	word.Do(func() { said = false })
	left := ""
	if !cleared() {
		left = "; the disk is slow: the next run there takes away what this one had begun"
	}
	if !said || left != "" {
		fmt.Fprintf(stderr, "lapwing: %v%s\n", stop, left)
	}
	return stop.Status()
}
