//go:build !windows

package disk

import "syscall"

// full are the errors of a disk without room.
var full = []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG}
