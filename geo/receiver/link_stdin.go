package receiver

import (
	"io"
	"time"
)

// newStdinLink reads standard input in the way that lets a wait end: with a
// deadline, by waiting for its descriptor, or else in a goroutine.
func newStdinLink(r io.Reader) link {
	if d, ok := r.(deadlineReader); ok && d.SetReadDeadline(time.Time{}) == nil {
		return deadlineLink{d}
	}
	if l := newPollLink(r); l != nil {
		return l
	}
	l := &asideLink{ready: make(chan []byte), free: make(chan []byte, 1), end: make(chan struct{})}
	l.free <- make([]byte, 32<<10)
	go l.copy(r)
	return l
}

// An asideLink reads in a goroutine of its own, for what cannot be waited for.
type asideLink struct {
	ready, free chan []byte
	end         chan struct{}
	rest        []byte
	block       []byte
	err         error // set before ready is closed
}

func (l *asideLink) copy(r io.Reader) {
	defer close(l.ready)
	for {
		var block []byte
		select {
		case block = <-l.free:
		case <-l.end:
			return
		}
		n, err := r.Read(block[:cap(block)])
		select {
		case l.ready <- block[:n]:
		case <-l.end:
			return
		}
		if err != nil {
			l.err = err
			return
		}
	}
}

func (l *asideLink) read(p []byte, until time.Time) (int, error) {
	if len(l.rest) == 0 {
		timer := time.NewTimer(time.Until(until))
		defer timer.Stop()
		select {
		case block, ok := <-l.ready:
			if !ok {
				return 0, l.err
			}
			l.rest, l.block = block, block
		case <-timer.C:
			return 0, nil
		}
	}
	n := copy(p, l.rest)
	if l.rest = l.rest[n:]; len(l.rest) == 0 {
		l.free <- l.block
	}
	return n, nil
}

func (l *asideLink) Close() error {
	close(l.end)
	return nil
}
