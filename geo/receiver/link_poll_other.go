//go:build !unix

package receiver

import "io"

// newPollLink: nothing to wait with here.
func newPollLink(io.Reader) link { return nil }
