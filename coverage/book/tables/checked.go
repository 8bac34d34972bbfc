package tables

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
)

// errChanged is of a file that was written into after its hash was taken.
var errChanged = errors.New("changed while it was read")

// A checked reader ends in errChanged unless all that it gave has a hash.
type checked struct {
	from io.Reader
	hash hash.Hash
	want string
}

func newChecked(from io.Reader, want string) *checked {
	h := sha256.New()
	return &checked{io.TeeReader(from, h), h, want}
}

func (c *checked) Read(p []byte) (int, error) {
	n, err := c.from.Read(p)
	if errors.Is(err, io.EOF) && hex.EncodeToString(c.hash.Sum(nil)) != c.want {
		err = errChanged
	}
	return n, err
}
