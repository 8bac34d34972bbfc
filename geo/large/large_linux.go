package large

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// askFor asks for large pages for memory that was not touched so far, in the words of
// madvise(2). A system that has none says no, and nothing is lost.
func askFor(memory []byte) {
	page := uintptr(unix.Getpagesize())
	at := uintptr(unsafe.Pointer(unsafe.SliceData(memory)))
	from, to := (at+page-1)/page*page, (at+uintptr(len(memory)))/page*page // whole pages
	_ = unix.Madvise(memory[from-at:to-at], unix.MADV_HUGEPAGE)
}
