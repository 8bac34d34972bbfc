package folder

import (
	"errors"
	"syscall"
)

// isFull reports whether an error is that a disk has no room, or may not be written.
func isFull(err error) bool {
	const writeProtect, handleDiskFull, diskFull = syscall.Errno(19), syscall.Errno(39), syscall.Errno(112) // winerror.h
	return errors.Is(err, writeProtect) || errors.Is(err, handleDiskFull) || errors.Is(err, diskFull)
}
