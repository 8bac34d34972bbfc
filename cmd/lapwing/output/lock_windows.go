package output

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
)

const (
	fileAttributeHidden   = 0x2
	fileFlagDeleteOnClose = 0x04000000
	errorSharingViolation = syscall.Errno(32)
)

// lockDirectory keeps other runs of lapwing from locking a directory until it is
// closed or the process ends, however it ends: it opens a file there that no other
// process may open meanwhile, and that the system takes away when it is closed.
func lockDirectory(dir string) (io.Closer, error) {
	path := filepath.Join(dir, ".lapwing-lock")
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_WRITE, 0, nil, syscall.CREATE_ALWAYS, fileAttributeHidden|fileFlagDeleteOnClose, 0)
	if errors.Is(err, errorSharingViolation) {
		return nil, ErrHeld
	}
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}

// abandoned reports whether nobody holds a directory.
func abandoned(dir string) bool {
	held, err := lockDirectory(dir)
	if err != nil {
		return false
	}
	held.Close()
	return true
}

// syncNames has nothing to do: the names are written with the files.
func syncNames(string) error { return nil }
