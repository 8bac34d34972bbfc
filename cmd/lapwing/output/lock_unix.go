//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package output

import (
	"errors"
	"io"
	"os"
	"syscall"
)

// lockDirectory keeps other runs of lapwing from locking a directory until it is
// closed or the process ends, however it ends. The lock is on the directory
// itself, so that nothing is left in it. Where a file system knows no locks it
// succeeds without one.
func lockDirectory(dir string) (io.Closer, error) {
	for {
		f, err := os.Open(dir)
		if err != nil {
			return nil, err
		}
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case errors.Is(err, syscall.EWOULDBLOCK):
			f.Close()
			return nil, ErrHeld
		case errors.Is(err, syscall.EINTR):
			f.Close()
			continue
		case err != nil:
			return f, nil
		}
		// The run before may have made the directory and taken it away again.
		held, err := f.Stat()
		if err == nil {
			if now, err := os.Stat(dir); err == nil && os.SameFile(held, now) {
				return f, nil
			}
		}
		f.Close()
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, err
		}
	}
}

// abandoned reports whether nobody holds a directory. Where a file system knows no locks
// that cannot be told.
func abandoned(dir string) bool {
	f, err := os.Open(dir)
	if err != nil {
		return false
	}
	defer f.Close()
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}

// syncNames has the names in a directory written to the disk. Some file
// systems cannot; they have no more to offer.
func syncNames(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := f.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}
