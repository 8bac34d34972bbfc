//go:build unix

package receiver

import (
	"errors"
	"io"
	"time"

	"golang.org/x/sys/unix"
)

// A pollLink is a file that has no deadlines, such as standard input: what a
// shell hands over blocks, and making it not block would do so for the shell
// too. So its descriptor is waited for before each read.
type pollLink struct {
	io.Reader
	fd int32
}

func newPollLink(r io.Reader) link {
	f, ok := r.(interface{ Fd() uintptr })
	if !ok {
		return nil
	}
	return pollLink{r, int32(f.Fd())}
}

func (l pollLink) read(p []byte, until time.Time) (int, error) {
	wait := []unix.PollFd{{Fd: l.fd, Events: unix.POLLIN}}
	left := max(1, time.Until(until).Milliseconds())
	switch n, err := unix.Poll(wait, int(left)); {
	case err != nil && !errors.Is(err, unix.EINTR):
		return 0, err
	case n == 0 || err != nil:
		return 0, nil
	}
	return l.Read(p)
}

func (l pollLink) Close() error { return nil }
