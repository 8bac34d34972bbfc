package large_test

import (
	"bufio"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/large"
)

// The system has noted that a long list may have large pages.
func TestLargePagesAreAskedFor(t *testing.T) {
	list := large.Make[int64](1 << 20)
	middle := uintptr(unsafe.Pointer(&list[len(list)/2]))
	assert.True(t, slices.ContainsFunc(asked(t), func(s span) bool { return s.from <= middle && middle < s.to }))
}

// What is reserved is asked for too, all of it.
func TestReserveAsksForAll(t *testing.T) {
	const size = 256 << 20
	large.Reserve(size)
	var sum uintptr
	for _, s := range asked(t) {
		sum += s.to - s.from
	}
	assert.GreaterOrEqual(t, sum, uintptr(size-2<<20), "but for a page that is not whole")
}

// A span is memory from one address to another.
type span struct{ from, to uintptr }

// asked is the memory of this process for which large pages were asked: it has the flag
// "hg" of proc(5), smaps.
func asked(t *testing.T) (all []span) {
	t.Helper()
	if _, err := os.Stat("/sys/kernel/mm/transparent_hugepage/enabled"); err != nil {
		t.Skip("this system has no large pages:", err)
	}
	maps, err := os.Open("/proc/self/smaps")
	require.NoError(t, err)
	defer maps.Close()
	var here span
	for lines := bufio.NewScanner(maps); lines.Scan(); {
		var s span
		if n, _ := fmt.Sscanf(lines.Text(), "%x-%x ", &s.from, &s.to); n == 2 {
			here = s
		}
		if flags, ok := strings.CutPrefix(lines.Text(), "VmFlags:"); ok && slices.Contains(strings.Fields(flags), "hg") {
			all = append(all, here)
		}
	}
	return all
}
