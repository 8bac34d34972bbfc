//go:build !linux

package live_test

import "time"

var begun = time.Now()

// spent is the time that has passed: only Linux tells that of a thread.
func spent() time.Duration { return time.Since(begun) }
