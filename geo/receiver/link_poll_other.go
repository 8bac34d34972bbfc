//go:build !unix

package receiver

import "io"

// newPollLink gives none: there is no poll(2) here.
func newPollLink(io.Reader) link { return nil }
