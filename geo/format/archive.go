package format

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"path"
	"path/filepath"
	"strings"

	"lapwing/geo"
)

// An archive is a zip archive in memory. Nothing is written to disk, and no
// size that it states is trusted.
type archive struct {
	name  string               // for messages
	files map[string]*zip.File // by name in lower case
	order []string             // the names, as they come
	most  int64                // bytes of one file
	left  int64                // bytes that may still be unpacked
	want  string               // what it is read for
}

// openArchive looks into an archive. wanted stands in errors as what would do.
func openArchive(in Input, data []byte, want, wanted string) (*archive, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, &geo.SyntaxError{File: in.Name, Found: "a damaged zip archive", Want: wanted, Reason: geo.ErrNothing}
	}
	a := &archive{name: in.Name, files: map[string]*zip.File{}, most: in.Most, left: unpackedMost(data), want: want}
	for _, f := range z.File {
		if !filepath.IsLocal(f.Name) || strings.Contains(f.Name, `\`) {
			return nil, &geo.SyntaxError{File: in.Name, Found: "a path in the archive that leaves it: " + shorten(f.Name), Reason: geo.ErrFormat}
		}
		low := strings.ToLower(f.Name)
		if strings.HasPrefix(path.Base(low), "._") { // a file's attributes as some archivers keep them
			continue
		}
		if a.files[low] == nil {
			a.order = append(a.order, low)
		}
		a.files[low] = f
	}
	return a, nil
}

// ending lists the files whose name ends so.
func (a *archive) ending(ending string) (names []string) {
	for _, name := range a.order {
		if path.Ext(name) == ending {
			names = append(names, name)
		}
	}
	return names
}

// beside returns what finds the files beside one of the archive.
func (a *archive) beside(main string) func(ending string) ([]byte, error) {
	return func(ending string) ([]byte, error) {
		name := strings.TrimSuffix(main, path.Ext(main)) + ending
		if a.files[name] == nil {
			return nil, nil
		}
		return a.extract(name)
	}
}

// extract returns what a file of the archive holds.
func (a *archive) extract(name string) ([]byte, error) {
	f := a.files[name]
	inner := a.name + "/" + shorten(f.Name)
	r, err := f.Open()
	if err != nil {
		why, _, _ := strings.Cut(err.Error(), "\n")
		return nil, &geo.SyntaxError{File: inner, Found: "a file that cannot be unpacked: " + why}
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, min(a.most, a.left)+1))
	whole := int64(len(data)) > a.left
	a.left -= int64(len(data))
	switch {
	case int64(len(data)) > a.most:
		return nil, tooLong(inner, a.most, a.want)
	case whole:
		return nil, &geo.SyntaxError{File: inner, Found: "an archive that unpacks to too much", Want: "a smaller one"}
	case err != nil:
		return nil, &geo.SyntaxError{File: inner, Found: "damaged data in the archive"}
	}
	return data, nil
}

// shorten makes a piece of a file fit for a message of one line.
func shorten(text string) string { return geo.Shorten(text, 160) }
