package boundary

import (
	"archive/zip"
	"bytes"
	"errors"
	"path"
	"path/filepath"
	"strings"
)

// readZip reads what a zip archive holds: KML, then called KMZ, or shapefiles.
// Nothing is written to disk, and no size the archive states is trusted.
func (d *draft) readZip(data []byte) error {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return d.fault(0, "", "a damaged zip archive", "KMZ or a zipped shapefile")
	}
	files := map[string]*zip.File{} // by name in lower case
	var shapes, maps []string
	for _, f := range z.File {
		if !filepath.IsLocal(f.Name) || strings.Contains(f.Name, `\`) {
			return d.fault(0, "", "a path in the archive that leaves it: "+shorten(f.Name), "")
		}
		if strings.HasPrefix(path.Base(f.Name), "._") { // a file's attributes as some archivers keep them
			continue
		}
		name := strings.ToLower(f.Name)
		files[name] = f
		switch path.Ext(name) {
		case ".shp":
			shapes = append(shapes, name)
		case ".kml":
			maps = append(maps, name)
		}
	}
	switch {
	case len(maps) > 0: // OGC 07-147r2, annex C: the first KML file is the document
		text, err := d.extract(files[maps[0]])
		if err != nil {
			return err
		}
		if len(maps) > 1 {
			d.note(0, "only the first KML file of the archive is read")
		}
		err = d.inner(files[maps[0]].Name, func() error { return d.readKML(bytes.TrimPrefix(text, byteOrderMark)) })
		d.out.Format = "KMZ"
		return err
	case len(shapes) > 0:
		for _, name := range shapes {
			if err := d.zippedShapefile(files, name); err != nil {
				return err
			}
		}
		return nil
	}
	return d.fault(0, "", "an archive without a .kml or .shp file", "KMZ or a zipped shapefile")
}

// zippedShapefile reads one shapefile with the files beside it.
func (d *draft) zippedShapefile(files map[string]*zip.File, name string) error {
	data, err := d.extract(files[name])
	if err != nil {
		return err
	}
	d.beside = func(ext string) ([]byte, error) {
		f, ok := files[strings.TrimSuffix(name, ".shp")+ext]
		if !ok {
			return nil, nil
		}
		return d.extract(f)
	}
	return d.inner(files[name].Name, func() error { return d.readShapefile(data) })
}

// inner calls read with errors that name a file of an archive.
func (d *draft) inner(name string, read func() error) error {
	outer := d.file
	d.file += "/" + shorten(name)
	err := read()
	d.file = outer
	return err
}

func (d *draft) extract(f *zip.File) ([]byte, error) {
	name := d.file + "/" + shorten(f.Name)
	r, err := f.Open()
	if err != nil {
		return nil, &SyntaxError{File: name, Found: "a file that cannot be unpacked: " + firstLine(err.Error())}
	}
	defer r.Close()
	data, err := readAll(name, r)
	var syntax *SyntaxError
	if err != nil && !errors.As(err, &syntax) {
		return nil, &SyntaxError{File: name, Found: "damaged data in the archive"}
	}
	return data, err
}
