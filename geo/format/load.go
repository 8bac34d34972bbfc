package format

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"lapwing/geo"
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

// read returns all that an input holds, unpacked. want says what it is read
// for, in an error.
func (in Input) read(want string) ([]byte, error) {
	data, err := in.all(in.From, sizeOf(in.From), in.Most, want)
	if err != nil || !bytes.HasPrefix(data, []byte(gzipMagic)) {
		return data, err
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err == nil {
		data, err = in.all(z, 0, min(in.Most, unpackedMost(data)), want)
	}
	var refused *geo.SyntaxError
	if err != nil && !errors.As(err, &refused) {
		return nil, &geo.SyntaxError{File: in.Name, Found: "damaged gzip data"}
	}
	return data, err
}

// unpackedMost is how many bytes packed ones may come to.
func unpackedMost(packed []byte) int64 { return max(bombSize, bombRatio*int64(len(packed))) }

// all reads r to its end, which must come within most bytes.
func (in Input) all(r io.Reader, size, most int64, want string) ([]byte, error) {
	var all bytes.Buffer
	all.Grow(int(max(0, min(size, most)) + bytes.MinRead))
	n, err := all.ReadFrom(io.LimitReader(r, most+1))
	switch {
	case n > most:
		return nil, tooLong(in.Name, most, want)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", in.Name, err)
	}
	return all.Bytes(), nil
}

func tooLong(name string, most int64, want string) *geo.SyntaxError {
	size := fmt.Sprintf("%d bytes", most)
	if most%(1<<20) == 0 {
		size = fmt.Sprintf("%d MiB", most>>20)
	}
	return &geo.SyntaxError{File: name, Found: "more than " + size, Want: want}
}

// sizeOf guesses how much r holds, so that a large file is not copied while
// the buffer grows; 0 if r does not say.
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
