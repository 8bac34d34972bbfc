package format

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/gnsslog/letters"
)

// A packed file may be a bomb. Text of logs packs to a fifth or a twentieth,
// a run of one byte to a thousandth: past bombSize, unpacked bytes may be at
// most bombRatio times the packed ones.
const (
	bombSize  = 64 << 20
	bombRatio = 500
)

// gzipMagic is how a gzip file begins (RFC 1952).
const gzipMagic = "\x1f\x8b"

// headSize is how much of a file tells its kind.
const headSize = 64 << 10

// An opened is an input of which the beginning was read.
type opened struct {
	Input
	want   string // what it is read for, in an error
	spool  *spool
	size   int64  // as far as it is known how much there is, packed or not; else 0
	packed bool   // by gzip
	head   []byte // how it begins, unpacked
}

// open reads the beginning of an input, which is read for what want says.
func (in Input) open(want string) (*opened, error) {
	o := &opened{Input: in, want: want, spool: newSpool(in.From), size: sizeOf(in.From)}
	magic := make([]byte, len(gzipMagic))
	if n, err := io.ReadFull(o.spool, magic); err == nil {
		o.packed = string(magic[:n]) == gzipMagic
	}
	r, err := o.reader()
	if err != nil {
		return nil, err
	}
	o.head = make([]byte, headSize)
	n, err := io.ReadFull(r, o.head)
	o.head = o.head[:n:n]
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, err
	}
	return o, nil
}

// ended reports whether the head is all there is.
func (o *opened) ended() bool { return len(o.head) < headSize }

// as is the same input read for something else.
func (o *opened) as(want string, most int64) *opened {
	other := *o
	other.want, other.Most = want, most
	return &other
}

// reader returns what the input holds, unpacked, from its start. Its errors are
// those of the input.
func (o *opened) reader() (io.Reader, error) {
	if err := o.spool.begin(); err != nil {
		return nil, fmt.Errorf("%s: %w", o.Name, err)
	}
	r := &limited{opened: o, from: o.spool}
	if o.packed {
		r.packed = &counter{Reader: o.spool}
		z, err := gzip.NewReader(r.packed)
		if err != nil {
			return nil, o.damaged()
		}
		r.from = z
	}
	return r, nil
}

func (o *opened) damaged() error { return &geo.SyntaxError{File: o.Name, Found: "damaged gzip data"} }

// text is the text of the log that the input is.
func (o *opened) text() gnsslog.Text {
	if o.ended() {
		text := gnsslog.TextOf(letters.Of(bytes.Clone(o.head)))
		text.Beside = o.Beside
		return text
	}
	text := gnsslog.Text{Beside: o.Beside, Settle: o.spool.settle, Open: func() (io.Reader, error) {
		r, err := o.reader()
		if err != nil {
			return nil, err
		}
		return letters.From(o.head, r)
	}}
	if !o.packed {
		text.Size = o.size
	}
	return text
}

// whole returns all that the input holds.
func (o *opened) whole() ([]byte, error) {
	if o.ended() {
		return bytes.Clone(o.head), nil
	}
	var all bytes.Buffer
	if !o.packed {
		if o.size > o.Most {
			return nil, tooLong(o.Name, o.Most, o.want)
		}
		all.Grow(int(o.size) + bytes.MinRead) // so that a large one is not copied while the buffer grows
	}
	r, err := o.reader()
	if err != nil {
		return nil, err
	}
	_, err = all.ReadFrom(r)
	return all.Bytes(), err
}

// A limited reader reads an input, no more of it than it may hold.
type limited struct {
	*opened
	from   io.Reader
	packed *counter // the packed bytes; nil where it is not packed
	n      int64
}

func (l *limited) Read(p []byte) (int, error) {
	n, err := l.from.Read(p)
	l.n += int64(n)
	most := l.Most
	if l.packed != nil {
		most = min(most, max(bombSize, bombRatio*l.packed.n))
	}
	switch {
	case l.n > most:
		return 0, tooLong(l.Name, most, l.want)
	case err == nil, errors.Is(err, io.EOF):
		return n, err
	case l.packed != nil:
		return n, l.damaged()
	}
	return n, fmt.Errorf("%s: %w", l.Name, err)
}

// A counter counts the bytes that are read.
type counter struct {
	io.Reader
	n int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += int64(n)
	return n, err
}

// unpackedMost is how many bytes packed ones may come to.
func unpackedMost(packed []byte) int64 { return max(bombSize, bombRatio*int64(len(packed))) }

func tooLong(name string, most int64, want string) *geo.SyntaxError {
	size := fmt.Sprintf("%d bytes", most)
	if most%(1<<20) == 0 {
		size = fmt.Sprintf("%d MiB", most>>20)
	}
	return &geo.SyntaxError{File: name, Found: "more than " + size, Want: want}
}

// sizeOf says how much r holds; 0 if r does not say.
func sizeOf(r io.Reader) int64 {
	switch r := r.(type) {
	case interface{ Len() int }:
		return int64(r.Len())
	case fs.File:
		if about, err := r.Stat(); err == nil && about.Mode().IsRegular() {
			return about.Size()
		}
	}
	return 0
}
