package gnsslog

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"unicode/utf16"

	"lapwing/geo/geopackage"
	"lapwing/geo/shapefile"
)

// A packed file may be a bomb. Text of logs packs to a fifth or a twentieth,
// a run of one byte to a thousandth: past bombSize, unpacked bytes may be at
// most bombRatio times the packed ones.
const (
	bombSize  = 64 << 20
	bombRatio = 500
)

// load returns all of r, unpacked: text as UTF-8 without a byte-order mark and
// with lines that end in "\n" or "\r\n", what is no text as it is.
func load(name string, r io.Reader, limit int64) ([]byte, error) {
	data, err := readAll(r, sizeOf(r), limit)
	if err == nil && bytes.HasPrefix(data, []byte{0x1f, 0x8b}) {
		data, err = unpack(data, limit)
	}
	var refused refusal
	if errors.As(err, &refused) {
		return nil, &SyntaxError{File: name, Found: refused.found, Want: refused.want}
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, binary := range []string{geopackage.Magic, shapefile.Magic, zipMagic} {
		if bytes.HasPrefix(data, []byte(binary)) {
			return data, nil
		}
	}
	return asLines(asUTF8(data)), nil
}

// A refusal is content that load will not take.
type refusal struct{ found, want string }

func (r refusal) Error() string { return r.found }

// sizeOf guesses how much r holds, so that a large file is not copied while
// the buffer grows; 0 if r does not say.
func sizeOf(r io.Reader) int64 {
	switch r := r.(type) {
	case interface{ Len() int }:
		return int64(r.Len())
	case *os.File:
		if about, err := r.Stat(); err == nil && about.Mode().IsRegular() {
			return about.Size()
		}
	}
	return 0
}

func readAll(r io.Reader, size, limit int64) ([]byte, error) {
	var all bytes.Buffer
	all.Grow(int(max(0, min(size, limit)) + bytes.MinRead))
	n, err := all.ReadFrom(io.LimitReader(r, limit+1))
	if err != nil {
		return nil, err
	}
	if n > limit {
		return nil, refusal{fmt.Sprintf("the file holds more than %d bytes", limit), "a smaller file"}
	}
	return all.Bytes(), nil
}

// unpack opens a gzip file held in packed.
func unpack(packed []byte, limit int64) ([]byte, error) {
	damaged := func(err error) error {
		return refusal{"a gzip file that cannot be unpacked (" + err.Error() + ")", "a whole gzip file"}
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, damaged(err)
	}
	allowed := min(limit, max(bombSize, bombRatio*int64(len(packed))))
	data, err := readAll(z, 0, allowed)
	var refused refusal
	switch {
	case errors.As(err, &refused):
		return nil, refusal{fmt.Sprintf("a gzip file that unpacks to more than %d bytes", allowed), "a smaller file"}
	case err != nil:
		return nil, damaged(err)
	}
	return data, nil
}

// asUTF8 takes a byte-order mark off and turns UTF-16, which needs one to be
// known, into UTF-8.
func asUTF8(data []byte) []byte {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		return data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		order = binary.BigEndian
	default:
		return data
	}
	units := make([]uint16, 0, len(data)/2)
	for at := 2; at+1 < len(data); at += 2 {
		units = append(units, order.Uint16(data[at:]))
	}
	return []byte(string(utf16.Decode(units)))
}

// asLines makes the lone carriage returns that end lines in some old logs
// into newlines. It changes data in place.
func asLines(data []byte) []byte {
	if bytes.IndexByte(data, '\n') >= 0 || bytes.IndexByte(data, '\r') < 0 {
		return data
	}
	for i, c := range data {
		if c == '\r' {
			data[i] = '\n'
		}
	}
	return data
}
