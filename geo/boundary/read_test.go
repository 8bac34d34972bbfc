package boundary_test

import (
	"io"
	"os"
	"path/filepath"

	"lapwing/geo/boundary"
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/source"
)

var formats = append(format.Plain(), gpkg.Format)

// readAs reads a file by the format that it is told to be of.
func readAs(name string, r io.Reader) (*boundary.File, error) {
	return formats.Boundary(format.Input{Name: name, From: r})
}

// open reads a file with those beside it.
func open(path string) (*boundary.File, error) {
	files := source.Files{FS: os.DirFS(filepath.Dir(path))}
	f, err := files.Open(filepath.Base(path))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return formats.Boundary(format.Input{Name: path, From: f, Beside: files.Beside(filepath.Base(path), format.MostOfBoundary)})
}
