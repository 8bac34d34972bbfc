package boundary

import (
	"bytes"

	"lapwing/geo/feature"
)

var byteOrderMark = []byte("\xef\xbb\xbf")

func newDraft(name string) *draft {
	return &draft{file: name, steps: maxSteps, points: maxPoints}
}

// ReadGeoJSON reads GeoJSON: a feature, several, or a bare geometry.
func ReadGeoJSON(name string, data []byte) (*File, error) {
	d := newDraft(name)
	return d.finish(d.readGeoJSON(data))
}

// ReadKML reads KML: each Placemark with polygons is a boundary.
func ReadKML(name string, data []byte) (*File, error) {
	d := newDraft(name)
	return d.finish(d.readKML(data))
}

// ReadKMZ reads the KML of a packed file, where it is called inner. others
// counts the further KML files in there: the first is the document (OGC
// 07-147r2, annex C).
func ReadKMZ(name, inner string, data []byte, others int) (*File, error) {
	d := newDraft(name)
	if others > 0 {
		d.note(0, "only the first KML file of the archive is read")
	}
	err := d.inner(inner, func() error { return d.readKML(bytes.TrimPrefix(data, byteOrderMark)) })
	d.out.Format = "KMZ"
	return d.finish(err)
}

// ReadWKT reads well-known text: each geometry is a boundary.
func ReadWKT(name string, data []byte) (*File, error) {
	d := newDraft(name)
	return d.finish(d.readWKT(data))
}

// A Part is a file of features, alone or one of several in an archive.
type Part struct {
	Inner string // its name in the archive; "" for a file by itself
	Open  func() (*feature.Shapes, error)
}

// FromShapes makes boundaries of the features of a file, or of all parts of an
// archive: each feature with a polygon is one. format is what [File.Format]
// says.
func FromShapes(name, format string, parts ...Part) (*File, error) {
	d := newDraft(name)
	d.out.Format = format
	for _, part := range parts {
		if err := d.inner(part.Inner, func() error { return d.part(part) }); err != nil {
			return d.finish(err)
		}
	}
	return d.finish(nil)
}

func (d *draft) part(part Part) error {
	shapes, err := part.Open()
	if err != nil {
		return d.inFile("", err)
	}
	defer shapes.Close()
	return d.shapes(shapes)
}

// inner calls read with errors that name a file of an archive; "" is none.
func (d *draft) inner(name string, read func() error) error {
	outer := d.file
	if name != "" {
		d.file += "/" + shorten(name)
	}
	err := read()
	d.file = outer
	return err
}
