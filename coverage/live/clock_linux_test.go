package live_test

import (
	"time"

	"golang.org/x/sys/unix"
)

// spent is the processor time of the thread that asks, which does not hang on what else
// runs on the computer.
func spent() time.Duration {
	var t unix.Timespec
	if unix.ClockGettime(unix.CLOCK_THREAD_CPUTIME_ID, &t) != nil {
		return 0
	}
	return time.Duration(t.Nano())
}
