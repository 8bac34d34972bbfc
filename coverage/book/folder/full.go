//go:build !windows

package folder

import (
	"errors"
	"syscall"
)

// isFull reports whether an error is that a disk has no room, or may not be written.
func isFull(err error) bool {
	for _, why := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG, syscall.EROFS, syscall.EIO} {
		if errors.Is(err, why) {
			return true
		}
	}
	return false
}
