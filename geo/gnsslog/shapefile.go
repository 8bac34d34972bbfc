package gnsslog

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"path"
	"path/filepath"
	"strings"

	"lapwing/geo/shapefile"
)

// Beside returns what finds the files beside a shapefile at a path, for
// [Options]; nothing for standard input, "-".
func Beside(path string) func(ending string) ([]byte, error) {
	if path == "-" {
		return nil
	}
	return shapefile.Beside(path, Options{}.limit())
}

// readShapefile reads a shapefile of points.
func readShapefile(name string, data []byte, opt Options) (*Log, error) {
	points, err := shapefile.Points(data, opt.Beside)
	if err != nil {
		return nil, faultIn(name, err)
	}
	defer points.Close()
	return FromPoints(name, "Shapefile", points, opt)
}

// zipMagic is how an archive begins.
const zipMagic = "PK\x03\x04"

// readZip reads the one shapefile of an archive. Nothing is written to disk,
// and no size the archive states is trusted.
func readZip(name string, data []byte, opt Options) (*Log, error) {
	fail := func(found string) (*Log, error) {
		return nil, &SyntaxError{File: name, Found: found, Want: wantLog}
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return fail("a damaged zip archive")
	}
	files := map[string]*zip.File{}
	main := ""
	for _, f := range z.File {
		if !filepath.IsLocal(f.Name) || strings.Contains(f.Name, `\`) {
			return fail("an archive with a path that leaves it")
		}
		low := strings.ToLower(f.Name)
		if strings.HasPrefix(path.Base(low), "._") {
			continue
		}
		files[low] = f
		if path.Ext(low) == ".shp" {
			if main != "" {
				return fail("an archive with several shapefiles")
			}
			main = low
		}
	}
	if main == "" {
		return fail("a zip archive without a shapefile")
	}
	left := min(opt.limit(), max(bombSize, bombRatio*int64(len(data)))) // for all files of the archive
	extract := func(file string) ([]byte, error) {
		f := files[file]
		if f == nil {
			return nil, nil
		}
		r, err := f.Open()
		if err != nil {
			return nil, &shapefile.Fault{Where: path.Ext(file), Found: "a file that cannot be unpacked"}
		}
		defer r.Close()
		data, err := io.ReadAll(io.LimitReader(r, left+1))
		if left -= int64(len(data)); left < 0 {
			return nil, &shapefile.Fault{Where: path.Ext(file), Found: "an archive that unpacks to too much", Want: "a smaller one"}
		}
		if err != nil {
			return nil, &shapefile.Fault{Where: path.Ext(file), Found: "damaged data in the archive"}
		}
		return data, nil
	}
	shapes, err := extract(main)
	var fault *shapefile.Fault
	if errors.As(err, &fault) {
		return fail(fault.Found)
	}
	if !bytes.HasPrefix(shapes, []byte(shapefile.Magic)) {
		return fail("a zip archive whose .shp file is no shapefile")
	}
	opt.Beside = func(ending string) ([]byte, error) { return extract(strings.TrimSuffix(main, ".shp") + ending) }
	return readShapefile(name, shapes, opt)
}
