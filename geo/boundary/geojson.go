package boundary

import (
	"errors"
	"io"
	"slices"
	"strings"

	"lapwing/geo/feature"
	"lapwing/geo/geojson"
)

// readGeoJSON reads GeoJSON as in RFC 7946: each feature with a polygon is a
// boundary. It is strict: a boundary that two readers take for two shapes is
// no boundary.
func (d *draft) readGeoJSON(data []byte) error {
	d.out.Format, d.rfcWind = "GeoJSON", true
	doc, err := geojson.Parse(data)
	var broken *geojson.BrokenError
	if errors.As(err, &broken) {
		why := broken.Err.Error()
		if errors.Is(err, io.ErrUnexpectedEOF) {
			why = "the text ends early"
		}
		return d.fault(broken.Line, "", "broken JSON: "+why, "")
	}
	if line, more := doc.Rest(); more {
		return d.fault(line, "", "text after the end of the JSON value", "one value")
	}
	return d.inFile("", d.features(doc))
}

func (d *draft) features(doc *geojson.Document) error {
	if err := strict(doc.Root); err != nil {
		return err
	}
	var err error
	if d.system, err = geojson.SystemOf(doc.Root); err != nil {
		return err
	}
	if d.system != nil && d.system.Note() != "" {
		d.note(doc.Root.Member("crs").Line(), "%s", d.system.Note())
	}
	kind := doc.Root.Member("type")
	if word, _ := kind.Word(); !slices.Contains(geojson.Types, word) {
		return wrongType(kind)
	}
	features, err := doc.Features()
	if err != nil {
		return err
	}
	for f, err := range features {
		if err == nil {
			err = d.readFeature(f, f.Geometry.Value == doc.Root)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// strict checks what holds of every GeoJSON object.
func strict(v geojson.Value) error {
	if !v.IsObject() {
		return v.Fault(v.Short(), "an object")
	}
	if err := v.Once(); err != nil {
		return err
	}
	if !v.Member("type").Exists() {
		return v.Fault("an object without a type", "a GeoJSON object")
	}
	return nil
}

// inside is strict for an object within the file: it may not be of another
// coordinate system than the file.
func (d *draft) inside(v geojson.Value) error {
	if err := strict(v); err != nil {
		return err
	}
	system, err := geojson.SystemOf(v)
	if err != nil {
		return err
	}
	if system != nil && (d.system == nil || system.Name != d.system.Name) {
		crs := v.Member("crs")
		return crs.Fault("coordinate system "+system.Name+" within a file of another", "one for the whole file")
	}
	return nil
}

func wrongType(kind geojson.Value) error {
	return kind.Fault("type "+kind.Short(), "a Polygon, a MultiPolygon or a collection of them")
}

// readFeature reads a feature: one boundary, if there is a polygon in it. It
// may be a geometry that stands alone.
func (d *draft) readFeature(f geojson.Feature, alone bool) error {
	if err := d.inside(f.Value); err != nil {
		return err
	}
	if f.Type != "Feature" && !alone {
		kind := f.Member("type")
		return kind.Fault(kind.Short(), `"Feature"`)
	}
	if !f.Geometry.Exists() {
		d.note(f.Line(), "feature without geometry left out")
		return nil
	}
	outlines, err := d.outlines(f.Geometry)
	if err != nil || len(outlines) == 0 {
		return err
	}
	name, err := nameOf(f)
	if err != nil {
		return err
	}
	return d.add(shape{name, outlines})
}

// nameOf returns a feature's name: of the properties name, field, Name and id,
// or else of the feature's own id, the first that is a word or a number.
func nameOf(f geojson.Feature) (string, error) {
	if p := f.Properties; p.Exists() && !p.IsNull() && !p.IsObject() {
		return "", p.Fault(p.Short(), "an object")
	}
	if err := f.Properties.Once(); err != nil {
		return "", err
	}
	in := f.Properties.Member
	for _, v := range []geojson.Value{in("name"), in("field"), in("Name"), in("id"), f.ID} {
		if w, _ := v.Word(); strings.TrimSpace(w) != "" {
			return strings.TrimSpace(w), nil
		}
		if v.IsNumber() {
			return string(v.Text()), nil
		}
	}
	return "", nil
}

// outlines returns the polygons of a geometry; other kinds are noted.
func (d *draft) outlines(g geojson.Geometry) ([]outline, error) {
	if err := d.inside(g.Value); err != nil {
		return nil, err
	}
	switch g.Type {
	case "Point", "MultiPoint", "LineString", "MultiLineString":
		d.note(g.Line(), "%s left out: only polygons bound a field", g.Type)
		return nil, nil
	case "Polygon", "MultiPolygon", "GeometryCollection":
	default:
		return nil, wrongType(g.Member("type"))
	}
	polygons, err := g.Polygons()
	if err != nil {
		return nil, err
	}
	var out []outline
	for _, p := range polygons {
		o := make(outline, len(p))
		for i, r := range p {
			if o[i], err = d.onEarth(feature.Ring{Where: r.Where, At: r.At, Lines: r.Lines}); err != nil {
				return nil, err
			}
			o[i].line = r.Line
		}
		out = append(out, o)
	}
	inner, err := g.Geometries()
	if err != nil {
		return nil, err
	}
	for _, g := range inner {
		more, err := d.outlines(g)
		if err != nil {
			return nil, err
		}
		out = append(out, more...)
	}
	return out, nil
}
