package boundary

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sort"
	"strings"

	"lapwing/geo"
)

// maxNesting is how deep GeometryCollections may nest; RFC 7946 3.1.8 advises
// against nesting at all, and each level costs another look at the text.
const maxNesting = 8

// A geoJSON reads GeoJSON as in RFC 7946: first the text as a whole is checked
// to be JSON, then it is walked from the outside in, each value a piece of it.
type geoJSON struct {
	*draft
	newlines []int // their offsets
}

// A value is a piece of the text with its place.
type value struct {
	text  []byte
	at    int    // offset of its first byte
	where string // "features[2].geometry"
}

func (d *draft) readGeoJSON(data []byte) error {
	g := geoJSON{draft: d, newlines: newlinesOf(data)}
	d.out.Format, d.rfcWind = "GeoJSON", true
	text, err := g.checkJSON(data)
	if err != nil {
		return err
	}
	return g.readObject(text)
}

// newlinesOf returns the offsets of the line feeds in data.
func newlinesOf(data []byte) []int {
	var at []int
	for i, b := range data {
		if b == '\n' {
			at = append(at, i)
		}
	}
	return at
}

func (g *geoJSON) line(offset int) int { return 1 + sort.SearchInts(g.newlines, offset) }

// refuse says what is wrong with v.
func (g *geoJSON) refuse(v value, found, want string) error {
	return g.fault(g.line(v.at), v.where, found, want)
}

// checkJSON checks that data is one JSON value.
func (g *geoJSON) checkJSON(data []byte) (value, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	var n span
	if err := dec.Decode(&n); err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			return value{}, g.fault(g.line(int(syntax.Offset)-1), "", "broken JSON: "+syntax.Error(), "")
		}
		return value{}, g.fault(g.line(len(data)), "", "broken JSON: the text ends early", "")
	}
	end := int(dec.InputOffset())
	if rest := bytes.TrimLeft(data[end:], " \t\r\n"); len(rest) > 0 {
		return value{}, g.fault(g.line(len(data)-len(rest)), "", "text after the end of the JSON value", "one value")
	}
	return value{text: data[end-int(n) : end], at: end - int(n)}, nil
}

// A span is the length of a JSON value that is passed over.
type span int

func (s *span) UnmarshalJSON(text []byte) error {
	*s = span(len(text))
	return nil
}

// next returns the value that dec, which reads v, passes over next.
func (v value) next(dec *json.Decoder, where string) (value, error) {
	var n span
	if err := dec.Decode(&n); err != nil {
		return value{}, err
	}
	end := int(dec.InputOffset())
	return value{v.text[end-int(n) : end], v.at + end - int(n), where}, nil
}

// members returns the members of an object. A name that comes twice is
// refused: readers differ on which one counts.
func (g *geoJSON) members(v value) (map[string]value, error) {
	if v.text[0] != '{' {
		return nil, g.refuse(v, v.short(), "an object")
	}
	prefix := v.where
	if prefix != "" {
		prefix += "."
	}
	dec := json.NewDecoder(bytes.NewReader(v.text))
	dec.Token() // the brace; the text was checked as a whole
	out := map[string]value{}
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			return nil, g.refuse(v, err.Error(), "")
		}
		name := key.(string)
		m, err := v.next(dec, prefix+name)
		if err != nil {
			return nil, g.refuse(v, err.Error(), "")
		}
		if _, twice := out[name]; twice {
			return nil, g.refuse(m, fmt.Sprintf("a second %q in one object", name), "one")
		}
		out[name] = m
	}
	return out, nil
}

// elements returns the elements of an array.
func (g *geoJSON) elements(v value) ([]value, error) {
	if v.text[0] != '[' {
		return nil, g.refuse(v, v.short(), "an array")
	}
	dec := json.NewDecoder(bytes.NewReader(v.text))
	dec.Token() // the bracket
	var out []value
	for dec.More() {
		e, err := v.next(dec, fmt.Sprintf("%s[%d]", v.where, len(out)))
		if err != nil {
			return nil, g.refuse(v, err.Error(), "")
		}
		out = append(out, e)
	}
	return out, nil
}

// short is v for a message.
func (v value) short() string {
	switch v.text[0] {
	case '{':
		return "an object"
	case '[':
		return "an array"
	}
	if len(v.text) > 40 {
		return string(bytes.ToValidUTF8(v.text[:40], nil)) + "…"
	}
	return string(v.text)
}

// word returns the string v is, or "".
func (v value) word() string {
	var s string
	if len(v.text) > 0 && v.text[0] == '"' && json.Unmarshal(v.text, &s) == nil {
		return strings.TrimSpace(s)
	}
	return ""
}

// open returns the members of an object with its type, its crs checked.
func (g *geoJSON) open(v value) (map[string]value, string, error) {
	m, err := g.members(v)
	if err != nil {
		return nil, "", err
	}
	kind, ok := m["type"]
	if !ok {
		return nil, "", g.refuse(v, "an object without a type", "a GeoJSON object")
	}
	return m, kind.word(), g.checkCRS(m)
}

// readObject reads the outermost object.
func (g *geoJSON) readObject(v value) error {
	m, kind, err := g.open(v)
	if err != nil {
		return err
	}
	switch kind {
	case "FeatureCollection":
		features, ok := m["features"]
		if !ok {
			return g.refuse(v, "a FeatureCollection without features", "")
		}
		list, err := g.elements(features)
		if err != nil {
			return err
		}
		for _, f := range list {
			if err := g.readFeature(f); err != nil {
				return err
			}
		}
		return nil
	case "Feature":
		return g.readFeature(v)
	}
	outlines, err := g.geometry(v, 0)
	if err != nil {
		return err
	}
	return g.add(shape{outlines: outlines})
}

// readFeature reads a feature: one boundary, if there is a polygon in it.
func (g *geoJSON) readFeature(v value) error {
	m, kind, err := g.open(v)
	if err != nil {
		return err
	}
	if kind != "Feature" {
		return g.refuse(m["type"], m["type"].short(), `"Feature"`)
	}
	geometry, ok := m["geometry"]
	if !ok || string(geometry.text) == "null" {
		g.note(g.line(v.at), "feature without geometry left out")
		return nil
	}
	outlines, err := g.geometry(geometry, 0)
	if err != nil || len(outlines) == 0 {
		return err
	}
	name, err := g.name(m)
	if err != nil {
		return err
	}
	return g.add(shape{name, outlines})
}

// name returns a feature's name: of the properties name, field, Name and id,
// or else of the feature's own id, the first that is a word or a number.
func (g *geoJSON) name(feature map[string]value) (string, error) {
	var in map[string]value
	if p, ok := feature["properties"]; ok && string(p.text) != "null" {
		var err error
		if in, err = g.members(p); err != nil {
			return "", err
		}
	}
	for _, v := range []value{in["name"], in["field"], in["Name"], in["id"], feature["id"]} {
		if w := v.word(); w != "" {
			return w, nil
		}
		if len(v.text) > 0 && (v.text[0] == '-' || '0' <= v.text[0] && v.text[0] <= '9') {
			return string(v.text), nil
		}
	}
	return "", nil
}

// geometry returns the polygons of a geometry; other kinds are noted.
func (g *geoJSON) geometry(v value, depth int) ([]outline, error) {
	m, kind, err := g.open(v)
	if err != nil {
		return nil, err
	}
	inner := "coordinates"
	switch kind {
	case "Point", "MultiPoint", "LineString", "MultiLineString":
		g.note(g.line(v.at), "%s left out: only polygons bound a field", kind)
		return nil, nil
	case "GeometryCollection":
		inner = "geometries"
	case "Polygon", "MultiPolygon":
	default:
		return nil, g.refuse(m["type"], "type "+m["type"].short(), "a Polygon, a MultiPolygon or a collection of them")
	}
	content, ok := m[inner]
	if !ok {
		return nil, g.refuse(v, fmt.Sprintf("a %s without %s", kind, inner), "")
	}
	if kind == "Polygon" {
		o, err := g.outline(content)
		return []outline{o}, err
	}
	if depth == maxNesting {
		return nil, g.refuse(v, "GeometryCollections nested more than 8 deep", "")
	}
	list, err := g.elements(content)
	if err != nil {
		return nil, err
	}
	var out []outline
	for _, e := range list {
		var more []outline
		if kind == "MultiPolygon" {
			more = make([]outline, 1)
			more[0], err = g.outline(e)
		} else {
			more, err = g.geometry(e, depth+1)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, more...)
	}
	return out, nil
}

// outline reads the coordinates of one polygon.
func (g *geoJSON) outline(v value) (outline, error) {
	list, err := g.elements(v)
	if err != nil {
		return nil, err
	}
	out := make(outline, len(list))
	for i, e := range list {
		if out[i], err = g.ring(e); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// ring reads an array of positions.
func (g *geoJSON) ring(v value) (ring, error) {
	r := ring{where: v.where, line: g.line(v.at)}
	if v.text[0] != '[' {
		return r, g.refuse(v, v.short(), "an array of positions")
	}
	dec := json.NewDecoder(bytes.NewReader(v.text))
	dec.Token() // the bracket
	for dec.More() {
		p, err := g.position(dec, v, len(r.at))
		if err != nil {
			return r, err
		}
		r.at = append(r.at, p)
	}
	return r, nil
}

// position reads the next position of the ring v: two numbers or more, of
// which those after the second, such as a height, say nothing about ground.
func (g *geoJSON) position(dec *json.Decoder, v value, index int) (vertex, error) {
	const want = "a position such as [-104.5, 49.1]"
	wrong := func(found string) error {
		return g.fault(g.line(v.at+int(dec.InputOffset())-1), fmt.Sprintf("%s[%d]", v.where, index), found, want)
	}
	first, err := dec.Token()
	if err != nil {
		return vertex{}, wrong("a number out of range")
	}
	if first != json.Delim('[') {
		return vertex{}, wrong(tokenText(first))
	}
	var at [2]float64
	n := 0
	for ; dec.More(); n++ {
		t, err := dec.Token()
		if err != nil {
			return vertex{}, wrong("a number out of range")
		}
		x, ok := t.(float64)
		if !ok {
			return vertex{}, wrong(tokenText(t) + " in a position")
		}
		if n < 2 {
			at[n] = x
		}
	}
	if n < 2 {
		return vertex{}, wrong(fmt.Sprintf("a position of %d numbers", n))
	}
	if _, err := dec.Token(); err != nil && err != io.EOF { // the bracket
		return vertex{}, wrong(err.Error())
	}
	line := g.line(v.at + int(dec.InputOffset()) - 1)
	return vertex{geo.LonLat{Lon: at[0], Lat: at[1]}, int32(line)}, nil
}

func tokenText(t json.Token) string {
	switch t := t.(type) {
	case nil:
		return "null"
	case json.Delim:
		if t == '{' {
			return "an object"
		}
		return "an array"
	case string:
		return fmt.Sprintf("%.40q", t)
	}
	return fmt.Sprint(t)
}
