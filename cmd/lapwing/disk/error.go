package disk

import (
	"errors"
	"io/fs"
	"os"
	"slices"
)

// Exists reports whether there is anything at a path, be it a link that leads nowhere.
func Exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// IsOfFiles reports whether an error is the system's about a file, rather than
// about what is in it.
func IsOfFiles(err error) bool {
	var path *fs.PathError
	var link *os.LinkError
	var call *os.SyscallError
	return errors.As(err, &path) || errors.As(err, &link) || errors.As(err, &call)
}

// IsFull reports whether an error is that a disk has no room.
func IsFull(err error) bool {
	return slices.ContainsFunc(full, func(why error) bool { return errors.Is(err, why) })
}

// Reason is what the system says of a file, without the file's name.
func Reason(err error) string {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err.Error()
	case errors.As(err, &link):
		return link.Err.Error()
	}
	return err.Error()
}
