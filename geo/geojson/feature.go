package geojson

import (
	"fmt"
	"iter"
	"slices"
)

// Types are the types of GeoJSON objects (RFC 7946 1.4).
var Types = []string{"FeatureCollection", "Feature",
	"Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection"}

// A Feature is a feature, or a geometry that stands in the place of one.
type Feature struct {
	Value
	Type       string // "Feature", or that of a geometry that stands alone; "" where it is not said
	ID         Value
	Properties Value
	Geometry   Geometry // does not exist where it is null
}

// A Geometry is a geometry as the file has it. Its content is read when it is
// asked for.
type Geometry struct {
	Value
	Type    string // "Polygon", …; "" where it is not said
	Content Value  // the coordinates, or the geometries of a collection

	feature int    // the number of its feature in the collection; -1 where that stands alone
	alone   bool   // it stands in the place of the feature
	depth   int    // how many collections of geometries it lies in
	where   string // the way to it where it lies in one
}

// maxNesting is how deep GeometryCollections may nest; RFC 7946 3.1.8 advises
// against nesting at all.
const maxNesting = 8

// Features returns the features of the document: those of a collection, or the
// one that stands alone, which a geometry may do too. Where the type does not
// say which, it is a collection if it has features. One that has not the shape
// of a feature comes with a fault.
func (d *Document) Features() (iter.Seq2[Feature, error], error) {
	if !d.Root.IsObject() {
		return nil, d.Root.Fault(d.Root.Short(), "an object")
	}
	kind, _ := d.Root.Member("type").Word()
	list := d.Root.Member("features")
	if kind != "FeatureCollection" && (!list.Exists() || slices.Contains(Types, kind)) {
		return func(yield func(Feature, error) bool) { yield(featureOf(d.Root)) }, nil
	}
	if !list.Exists() {
		return nil, d.Root.Fault("a FeatureCollection without features", "")
	}
	elements, err := list.array("an array")
	if err != nil {
		return nil, err
	}
	return func(yield func(Feature, error) bool) {
		d.number = -1
		for e := range elements {
			d.feature, d.number = e, d.number+1
			f, err := featureOf(e)
			f.Geometry.feature = d.number
			if !yield(f, err) {
				return
			}
		}
	}, nil
}

// featureOf takes a feature apart.
func featureOf(v Value) (Feature, error) {
	f := Feature{Value: v}
	if !v.IsObject() {
		return f, v.Fault(v.Short(), "an object")
	}
	var geometry Value
	for name, m := range v.Members() {
		switch name {
		case "type":
			word, ok := m.Word()
			if !ok && !m.IsNull() {
				return f, m.Fault(m.Short(), `"Feature"`)
			}
			f.Type = word
		case "id":
			f.ID = m
		case "properties":
			f.Properties = m
		case "geometry":
			geometry = m
		}
	}
	if f.Type != "Feature" && !geometry.Exists() {
		geometry = v
	}
	if !geometry.Exists() || geometry.IsNull() {
		return f, nil
	}
	var err error
	f.Geometry, err = geometryOf(geometry, 0)
	f.Geometry.feature, f.Geometry.alone = -1, geometry == v
	return f, err
}

// geometryOf takes a geometry apart that lies in some collections.
func geometryOf(v Value, depth int) (Geometry, error) {
	g := Geometry{Value: v, depth: depth}
	if !v.IsObject() {
		return g, v.Fault(v.Short(), "an object")
	}
	var coordinates, geometries Value
	for name, m := range v.Members() {
		switch name {
		case "type":
			word, ok := m.Word()
			if !ok && !m.IsNull() {
				return g, m.Fault("type "+m.Short(), "a type of geometry")
			}
			g.Type = word
		case "coordinates":
			coordinates = m
		case "geometries":
			geometries = m
		}
	}
	g.Content = coordinates
	if g.Type == "GeometryCollection" {
		g.Content = geometries
	}
	return g, nil
}

// content returns the content that a geometry of its type must have.
func (g Geometry) content() (Value, error) {
	if !g.Content.Exists() {
		inner := "coordinates"
		if g.Type == "GeometryCollection" {
			inner = "geometries"
		}
		return g.Content, g.Fault("a "+g.Type+" without "+inner, "")
	}
	return g.Content, nil
}

// path is the way to a member of the geometry. To seek it for each geometry
// would take as long as to read all those before it.
func (g Geometry) path(member string) string {
	where := g.where
	switch {
	case where != "":
	case g.feature < 0:
		where = g.Where()
	case g.alone:
		where = fmt.Sprintf("features[%d]", g.feature)
	default:
		where = fmt.Sprintf("features[%d].geometry", g.feature)
	}
	if where == "" {
		return member
	}
	return where + "." + member
}

// Geometries returns what is in a GeometryCollection.
func (g Geometry) Geometries() ([]Geometry, error) {
	if g.Type != "GeometryCollection" {
		return nil, nil
	}
	content, err := g.content()
	if err != nil {
		return nil, err
	}
	if g.depth == maxNesting {
		return nil, g.Fault("GeometryCollections nested more than 8 deep", "")
	}
	elements, err := content.array("an array")
	if err != nil {
		return nil, err
	}
	where := g.path("geometries")
	var out []Geometry
	for e := range elements {
		inner, err := geometryOf(e, g.depth+1)
		if err != nil {
			return nil, err
		}
		inner.where = fmt.Sprintf("%s[%d]", where, len(out))
		out = append(out, inner)
	}
	return out, nil
}
