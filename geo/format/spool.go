package format

import (
	"errors"
	"io"
	"io/fs"
)

// A spool is a reader that can begin again. A file is read again from where it
// lies; of what comes only once, such as a pipe, all is kept until it is settled
// that it is not read again.
type spool struct {
	from    io.Reader
	seek    io.Seeker // nil for what comes only once
	start   int64     // where seek stood
	kept    []byte
	at      int // in kept
	settled bool
	lost    bool // what was read is no longer kept
}

// newSpool makes a spool of what r holds from here on.
func newSpool(r io.Reader) *spool {
	s := &spool{from: r}
	if f, is := r.(fs.File); is {
		if about, err := f.Stat(); err != nil || !about.Mode().IsRegular() {
			return s
		}
	}
	if seek, is := r.(io.Seeker); is {
		if at, err := seek.Seek(0, io.SeekCurrent); err == nil {
			s.seek, s.start = seek, at
		}
	}
	return s
}

// settle says that begin will not be called again.
func (s *spool) settle() { s.settled = true }

// errGone says that what was read is no longer there.
var errGone = errors.New("what was read of a pipe cannot be read again")

// begin makes the next Read one from the start.
func (s *spool) begin() error {
	switch {
	case s.seek != nil:
		_, err := s.seek.Seek(s.start, io.SeekStart)
		return err
	case s.lost:
		return errGone
	}
	s.at = 0
	return nil
}

func (s *spool) Read(p []byte) (int, error) {
	if s.at < len(s.kept) {
		n := copy(p, s.kept[s.at:])
		s.at += n
		return n, nil
	}
	n, err := s.from.Read(p)
	switch {
	case s.seek != nil || n == 0:
	case s.settled:
		s.lost, s.kept, s.at = true, nil, 0
	default:
		s.kept = append(s.kept, p[:n]...)
		s.at = len(s.kept)
	}
	return n, err
}
