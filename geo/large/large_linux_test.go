package large_test

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/large"
)

// The system has noted that a long list may have large pages: the flag "hg" of proc(5),
// smaps, of the memory that its middle lies in.
func TestLargePagesAreAskedFor(t *testing.T) {
	if _, err := os.Stat("/sys/kernel/mm/transparent_hugepage/enabled"); err != nil {
		t.Skip("this system has no large pages:", err)
	}
	list := large.Make[int64](1 << 20)
	at := uintptr(unsafe.Pointer(&list[len(list)/2]))
	maps, err := os.Open("/proc/self/smaps")
	require.NoError(t, err)
	defer maps.Close()
	flags, here := "", false
	for lines := bufio.NewScanner(maps); lines.Scan(); {
		var from, to uintptr
		if n, _ := fmt.Sscanf(lines.Text(), "%x-%x ", &from, &to); n == 2 {
			here = from <= at && at < to
		}
		if rest, ok := strings.CutPrefix(lines.Text(), "VmFlags:"); ok && here {
			flags = rest
		}
	}
	assert.Contains(t, strings.Fields(flags), "hg", flags)
}
