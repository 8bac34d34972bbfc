package gnsslog

import (
	"bytes"
	"io"
	"time"

	"lapwing/geo/geopackage"
	"lapwing/geo/shapefile"
)

// Read reads a log of any kind this package knows. The kind is told by
// content; name stands in errors only.
//
// A bad line is skipped and told in a Note. Read fails with a [*SyntaxError]
// when the file is of no known kind, when it holds no position, or when over
// half of its lines are bad; any other error is one of reading r.
func Read(name string, r io.Reader, opt Options) (*Log, error) {
	data, err := load(name, r, opt.limit())
	if err != nil {
		return nil, err
	}
	kind, err := kindOf(name, data)
	if err != nil {
		return nil, err
	}
	switch kind {
	case kindGPX:
		return readGPX(name, data, opt)
	case kindNMEA:
		return readNMEA(name, data, opt)
	case kindGeoJSON:
		return readGeoJSON(name, data, opt)
	case kindGeoPackage:
		return readGeoPackage(name, data, opt)
	case kindShapefile:
		return readShapefile(name, data, opt)
	case kindZip:
		return readZip(name, data, opt)
	default:
		return readCSV(name, data, opt)
	}
}

// maxLine is the longest line taken for one. Lines of real logs stay under
// 10,000 bytes; past a million the file is not a text log.
const maxLine = 1 << 20

func (o Options) limit() int64 {
	if o.MaxBytes > 0 {
		return o.MaxBytes
	}
	return 4 << 30
}

func (o Options) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}

func (o Options) keeps(name string) bool { return o.Keep != nil && o.Keep(name) }

// A kind is a format of file.
type kind int

const (
	kindCSV kind = iota
	kindGPX
	kindNMEA
	kindGeoJSON
	kindGeoPackage
	kindShapefile
	kindZip
)

const wantLog = "a log as CSV, GPX, NMEA 0183, GeoJSON, GeoPackage or Shapefile"

// kindOf tells the kind of data by its beginning. What looks like nothing
// else is taken for CSV, whose header line then has to make sense.
func kindOf(name string, data []byte) (kind, error) {
	start := bytes.TrimLeft(data, " \t\r\n")
	fail := func(found string) (kind, error) {
		return 0, &SyntaxError{File: name, Found: found, Want: wantLog}
	}
	switch {
	case len(start) == 0:
		return fail("the file is empty")
	case start[0] == '<':
		return kindGPX, nil
	case start[0] == '{':
		return kindGeoJSON, nil
	case bytes.HasPrefix(data, []byte(geopackage.Magic)):
		return kindGeoPackage, nil
	case bytes.HasPrefix(data, []byte(shapefile.Magic)):
		return kindShapefile, nil
	case bytes.HasPrefix(data, []byte(zipMagic)):
		return kindZip, nil
	case bytes.IndexByte(start[:min(len(start), 4096)], 0) >= 0:
		return fail("binary data")
	case looksNMEA(start):
		return kindNMEA, nil
	}
	return kindCSV, nil
}

// looksNMEA reports whether one of the first lines is a sentence. A log may
// begin in the middle of one, or with comments.
func looksNMEA(data []byte) bool {
	for range 50 {
		line, rest, more := bytes.Cut(data, []byte("\n"))
		if isSentence(line) {
			return true
		}
		if !more {
			return false
		}
		data = rest
	}
	return false
}

// isSentence reports whether line begins like $GPGGA, or !AIVDM, or with the
// backslash of a tag block before one.
func isSentence(line []byte) bool {
	line = bytes.TrimLeft(line, " \t")
	if len(line) > 0 && line[0] == '\\' {
		_, after, found := bytes.Cut(line[1:], []byte(`\`))
		if !found {
			return false
		}
		line = after
	}
	if len(line) < 6 || line[0] != '$' && line[0] != '!' {
		return false
	}
	address, _, found := bytes.Cut(line[1:min(len(line), 16)], []byte(","))
	if !found || len(address) < 4 {
		return false
	}
	for _, c := range address {
		if (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return false
		}
	}
	return true
}
