// Package large makes long lists. A system takes note of memory page by page, each when it
// is first touched, which for a list of the fixes of a day takes as long as filling it. Some
// have large pages for whoever asks, five hundred in one.
package large

import (
	"strings"
	"unsafe"
)

// least is from how many bytes on it is asked for large pages: half of one, since the next
// list may have the other half.
const least = 1 << 20

// Make returns a list of n zero values.
func Make[T any](n int) []T {
	list := make([]T, n)
	var value T
	if size := uintptr(n) * unsafe.Sizeof(value); size >= least {
		askFor(unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(list))), size))
	}
	return list
}

// Reserve asks for large pages for lists of so many bytes to come. The heap has the memory
// when its garbage is collected. None of it is touched before, so that it takes no time.
func Reserve(size int) {
	var room strings.Builder // unlike make it sets no byte to zero
	room.Grow(size)
	room.WriteByte(0)
	askFor(unsafe.Slice(unsafe.StringData(room.String()), size))
}
