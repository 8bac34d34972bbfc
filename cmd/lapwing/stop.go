package main

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
	// tidying is how long a set of files that is being put in place is waited for.
	// A set that takes longer is finished by the next run, see [swap].
	tidying = 150 * time.Millisecond
	// orderly is how long a command that serves may take to finish or put back what it
	// has in hand, see [endsInOrder].
	orderly = 10 * time.Second
)

// endsInOrder says that the command that ctx belongs to ends in order when a signal
// comes, and returns nil when it has: it serves until then, and that is its end. It
// has 10 s for it.
func endsInOrder(ctx context.Context) {
	if said, ok := ctx.Value(inOrder{}).(*atomic.Bool); ok {
		said.Store(true)
	}
}

type inOrder struct{}

// A stopError says that a signal ended the run.
type stopError struct{ signal syscall.Signal }

func (e *stopError) Error() string {
	if e.signal == syscall.SIGTERM {
		return "stopped: told to terminate"
	}
	return "stopped: interrupted"
}

// status is the exit status of a run that a signal ended: 128 and the signal's
// number, as shells have it (POSIX.1-2017, Shell Command Language 2.8.2, asks for
// more than 128).
func (e *stopError) status() int { return 128 + int(e.signal) }

// stoppedBy returns the signal that ended a context; nil if none did.
func stoppedBy(ctx context.Context) *stopError {
	var stop *stopError
	if errors.As(context.Cause(ctx), &stop) {
		return stop
	}
	return nil
}

// attend carries out one call, unless a signal ends it first, and returns its exit
// status. A second signal ends it at once.
func attend(call func(context.Context) int, stderr io.Writer) int {
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(signals)
	var serves atomic.Bool
	ctx, cancel := context.WithCancelCause(context.WithValue(context.Background(), inOrder{}, &serves))
	defer cancel(nil)
	ended := make(chan int, 1)
	go func() { ended <- call(ctx) }()
	var stop *stopError
	select {
	case status := <-ended:
		return status
	case s := <-signals:
		number, _ := s.(syscall.Signal)
		stop = &stopError{number}
	}
	cancel(stop)
	patient := grace
	if serves.Load() {
		patient = orderly - tidying
	}
	select {
	case status := <-ended:
		if serves.Load() { // what was asked of it may go on by itself
			unfinished.clear()
		}
		return status
	case <-signals:
		return stop.status()
	case <-time.After(patient):
	}
	cleared := make(chan struct{})
	go func() {
		unfinished.clear()
		close(cleared)
	}()
	select {
	case <-cleared:
	case <-signals:
	case <-time.After(tidying):
	}
	fmt.Fprintf(stderr, "lapwing: %v\n", stop)
	return stop.status()
}

// unfinished are the files that this process has begun.
var unfinished = scratch{sets: map[string]bool{}, made: map[string]bool{}}

// A scratch is what of a process is on the disk only until it has ended.
type scratch struct {
	mu     sync.Mutex
	sets   map[string]bool // directories of sets of files, see [swap]
	made   map[string]bool // directories made for what is to come
	closed bool
	// placing is held while a set is put in place.
	placing sync.RWMutex
}

// begin makes the directory of a set of files. It does not return once all has
// been cleared away: the process is about to end.
func (s *scratch) begin(make func() (string, error)) (string, error) {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		select {}
	}
	defer s.mu.Unlock()
	dir, err := make()
	if err == nil {
		s.sets[dir] = true
	}
	return dir, err
}

// end forgets the directory of a set, which is no more.
func (s *scratch) end(dir string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.sets, dir)
}

// expect notes directories that were made for files to come, and came that they
// are to stay.
func (s *scratch) expect(dirs []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, dir := range dirs {
		s.made[dir] = true
	}
}

func (s *scratch) came(dirs []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, dir := range dirs {
		delete(s.made, dir)
	}
}

// clear takes away all that was begun, once no set is being put in place. Nothing
// can be begun after.
func (s *scratch) clear() {
	s.mu.Lock()
	s.closed = true
	s.mu.Unlock()
	s.placing.Lock() // for good
	s.mu.Lock()
	defer s.mu.Unlock()
	for dir := range s.sets {
		for range 3 { // somebody may be adding to it
			if os.RemoveAll(dir) == nil {
				break
			}
		}
	}
	for range s.made { // outer ones go only once inner ones have gone
		for dir := range s.made {
			if os.Remove(dir) == nil { // only if it is empty
				delete(s.made, dir)
			}
		}
	}
}
