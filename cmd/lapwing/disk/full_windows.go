package disk

import "syscall"

// full are the errors of a disk without room: ERROR_HANDLE_DISK_FULL and ERROR_DISK_FULL
// of winerror.h.
var full = []error{syscall.Errno(39), syscall.Errno(112)}
