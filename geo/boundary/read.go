package boundary

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"

	"lapwing/geo/geopackage"
	"lapwing/geo/shapefile"
)

// maxBytes is the most that is read of a file, packed or unpacked. A boundary
// of a million points takes about 40 MB as GeoJSON; far above it, a small
// packed file could fill the memory.
const maxBytes = 64 << 20

const wantKinds = "GeoJSON, KML, KMZ, well-known text, a shapefile or a GeoPackage"

var byteOrderMark = []byte("\xef\xbb\xbf")

// Read reads a boundary file. The kind is told by the content; name is only
// used in messages. A file that cannot be read gives a [*SyntaxError]; other
// errors are those of r.
func Read(name string, r io.Reader) (*File, error) {
	return read(name, r, nil)
}

// Open reads the boundary file at path, as [Read] does; beside a shapefile's
// main file it also finds those with the coordinate system and the names.
func Open(path string) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return read(path, f, shapefile.Beside(path, maxBytes))
}

func read(name string, r io.Reader, beside func(ext string) ([]byte, error)) (*File, error) {
	data, err := readAll(name, r)
	if err != nil {
		return nil, err
	}
	if data, err = unpack(name, data); err != nil {
		return nil, err
	}
	d := &draft{file: name, beside: beside, steps: maxSteps, points: maxPoints}
	if err := d.read(bytes.TrimPrefix(data, byteOrderMark)); err != nil {
		return nil, err
	}
	return d.finish()
}

// readAll reads r to its end, which must come within maxBytes.
func readAll(name string, r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if len(data) > maxBytes {
		return nil, tooLong(name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return data, nil
}

func tooLong(name string) *SyntaxError {
	return &SyntaxError{File: name, Found: "more than 64 MiB", Want: "a field boundary"}
}

// unpack opens gzip, and leaves everything else as it is.
func unpack(name string, data []byte) ([]byte, error) {
	if !bytes.HasPrefix(data, []byte("\x1f\x8b")) {
		return data, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err == nil {
		data, err = readAll(name, z)
	}
	var syntax *SyntaxError
	if err != nil && !errors.As(err, &syntax) {
		return nil, &SyntaxError{File: name, Found: "damaged gzip data"}
	}
	return data, err
}

// read tells the kind of data and hands it to its reader.
func (d *draft) read(data []byte) error {
	text := bytes.TrimLeft(data, " \t\r\n")
	switch {
	case len(text) == 0:
		return d.fault(0, "", "an empty file", "a field boundary")
	case text[0] == '{' || text[0] == '[':
		return d.readGeoJSON(data)
	case text[0] == '<':
		return d.readKML(data)
	case wktStart.Match(text):
		return d.readWKT(data)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return d.readZip(data)
	case bytes.HasPrefix(data, []byte(shapefile.Magic)):
		return d.readShapefile(data)
	case bytes.HasPrefix(data, []byte(geopackage.Magic)):
		return d.readGeoPackage(data)
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		return d.fault(0, "", "UTF-16 text", "UTF-8")
	}
	return d.fault(0, "", "a kind of file not known", wantKinds)
}
