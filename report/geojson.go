package report

import (
	"encoding/json"
	"io"
	"strconv"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// GeoJSON writes coverage.geojson feature by feature. See the package comment
// for the properties.
func (r *Report) GeoJSON(w io.Writer) error {
	g := &geoWriter{w: w, frame: newLonLatFrame(r.Map.Field.Frame)}
	g.text(`{"type":"FeatureCollection","generator":"lapwing","run":`)
	g.quoted(r.Run)
	g.text(`,"features":[`)
	r.writeField(g)
	r.writeRegions(g)
	r.writePasses(g)
	g.text("\n],\"left_out\":")
	g.integer(g.lost)
	g.text("}\n")
	g.flush()
	return g.err
}

func (r *Report) writeField(g *geoWriter) {
	for _, p := range r.Map.Field.Boundary {
		g.area(p, "field", func() {
			g.text(`,"name":`)
			g.quoted(r.Map.Field.Name)
			g.areaProperty(p.Area())
		})
	}
	for _, p := range r.Map.Headland.Zone {
		g.area(p, "headland", func() { g.areaProperty(p.Area()) })
	}
}

func (r *Report) writeRegions(g *geoWriter) {
	skips := r.skips().byRegion(func(i int) int { return r.Map.Skips[i].Region })
	overlaps := r.overlaps().byRegion(func(i int) int { return r.Map.Overlaps[i].Region })
	causes := r.causes()
	shapes := make([]plane.Polygon, len(r.Map.Regions))
	for i := range r.Map.Regions {
		shapes[i] = r.Map.Regions[i].Shape
	}
	for i, ready := range g.frame.polygons(shapes) {
		reg := &r.Map.Regions[i]
		id := skips[i] + overlaps[i] // a region is at most one of the two
		g.shape(ready, reg.Kind.String(), func() {
			if id > 0 {
				g.text(`,"id":`)
				g.integer(id)
			}
			if reg.Depth > 0 {
				g.text(`,"depth":`)
				g.integer(reg.Depth)
			}
			g.areaProperty(reg.Area)
			if cause := causes[i]; cause != "" {
				g.text(`,"cause":`)
				g.quoted(string(cause))
			}
			if reg.Kind == coverage.Skip {
				g.text(`,"headland":`)
				g.buf = strconv.AppendBool(g.buf, reg.Headland)
			}
			if len(reg.Swaths) > 0 {
				g.passNumbers(r.passesOver(reg))
			}
		})
	}
}

// causes returns the cause of each region that has one.
func (r *Report) causes() map[int]coverage.Cause {
	causes := make(map[int]coverage.Cause, len(r.Map.Skips)+len(r.Map.Overlaps))
	for _, s := range r.Map.Skips {
		causes[s.Region] = s.Cause
	}
	for _, o := range r.Map.Overlaps {
		causes[o.Region] = o.Cause
	}
	return causes
}

// passesOver returns the numbers of the passes over a region, each once.
func (r *Report) passesOver(reg *coverage.Region) []int {
	out := make([]int, 0, len(reg.Swaths))
	last := -1
	for _, s := range reg.Swaths {
		if p := r.Map.Swaths[s].Pass; p != last { // a pass's swaths follow one another
			out = append(out, r.Map.Passes[p].ID)
			last = p
		}
	}
	return out
}

func (r *Report) writePasses(g *geoWriter) {
	lines := ahead(len(r.Map.Passes), func(i int) [][]nano {
		return cutLine(g.frame.line(centreLine(&r.Map.Passes[i])))
	})
	for i, parts := range lines {
		p := &r.Map.Passes[i]
		g.line(parts, "pass", func() {
			g.text(`,"id":`)
			g.integer(p.ID)
			g.text(`,"machine":`)
			g.quoted(r.machineName(p.Machine))
			g.text(`,"headland":`)
			g.buf = strconv.AppendBool(g.buf, p.Headland)
		})
	}
}

// centreLine is the path of the bar's centre, thinned.
func centreLine(p *coverage.Pass) []plane.Point {
	// With the bow of a long edge, 1 mm, and the rounding to the ninth
	// decimal, 0.1 mm, the line stays within the agreed 1 cm.
	const tolerance = 8 * plane.Millimetre
	line := make([]plane.Point, len(p.Poses))
	for i, pose := range p.Poses {
		line[i] = pose.Bar
	}
	return thinned(line, float64(tolerance))
}

// A geoWriter streams features. The first error stays.
type geoWriter struct {
	w       io.Writer
	frame   *lonLatFrame
	buf     []byte
	written bool // a feature
	lost    int  // rings and lines too small to show
	err     error
}

// area writes a feature with the shape p. Its properties go on after kind.
func (g *geoWriter) area(p plane.Polygon, kind string, properties func()) {
	parts, lost := g.frame.polygon(p)
	g.shape(lonLatShape{parts, lost}, kind, properties)
}

func (g *geoWriter) shape(s lonLatShape, kind string, properties func()) {
	parts := s.parts
	g.lost += s.lost
	if len(parts) == 0 {
		return
	}
	g.begin(kind, properties)
	if len(parts) == 1 {
		g.text(`"Polygon","coordinates":`)
		g.polygon(parts[0])
	} else {
		g.text(`"MultiPolygon","coordinates":`)
		for i, part := range parts {
			g.separate(i)
			g.polygon(part)
		}
		g.text("]")
	}
	g.end()
}

// line writes a feature with the shape of a line in parts.
func (g *geoWriter) line(parts [][]nano, kind string, properties func()) {
	if len(parts) == 0 {
		g.lost++
		return
	}
	g.begin(kind, properties)
	if len(parts) == 1 {
		g.text(`"LineString","coordinates":`)
		g.places(parts[0], false)
	} else {
		g.text(`"MultiLineString","coordinates":`)
		for i, part := range parts {
			g.separate(i)
			g.places(part, false)
		}
		g.text("]")
	}
	g.end()
}

func (g *geoWriter) begin(kind string, properties func()) {
	if g.written {
		g.text(",")
	}
	g.written = true
	g.text("\n{\"type\":\"Feature\",\"properties\":{\"kind\":\"")
	g.text(kind)
	g.text(`"`)
	properties()
	g.text(`},"geometry":{"type":`)
}

func (g *geoWriter) end() {
	g.text("}}")
	if len(g.buf) > 1<<16 {
		g.flush()
	}
}

func (g *geoWriter) polygon(p nanoPolygon) {
	for i, ring := range p {
		g.separate(i)
		g.places(ring, true)
	}
	g.text("]")
}

// separate opens a list before its first element and puts a comma before
// the others.
func (g *geoWriter) separate(i int) {
	if i == 0 {
		g.text("[")
	} else {
		g.text(",")
	}
}

func (g *geoWriter) places(places []nano, close bool) {
	b := append(g.buf, '[')
	for _, p := range places {
		b = append(appendPlace(b, p), ',')
	}
	if close {
		b = append(appendPlace(b, places[0]), ',')
	}
	b[len(b)-1] = ']'
	g.buf = b
}

func appendPlace(b []byte, p nano) []byte {
	b = append(b, '[')
	b = appendDegrees(b, p.lon)
	b = append(b, ',')
	b = appendDegrees(b, p.lat)
	return append(b, ']')
}

func appendDegrees(b []byte, v int64) []byte {
	if v < 0 {
		b, v = append(b, '-'), -v
	}
	b = strconv.AppendInt(b, v/nanoDegree, 10)
	return appendNinth(b, v%nanoDegree)
}

func (g *geoWriter) areaProperty(a plane.Area) {
	g.text(`,"area_m2":`)
	g.buf = appendSquareMetres(g.buf, a)
}

func (g *geoWriter) passNumbers(ids []int) {
	g.text(`,"passes":`)
	for i, id := range ids {
		g.separate(i)
		g.integer(id)
	}
	g.text("]")
}

func (g *geoWriter) text(s string) { g.buf = append(g.buf, s...) }

func (g *geoWriter) integer(n int) { g.buf = strconv.AppendInt(g.buf, int64(n), 10) }

func (g *geoWriter) quoted(s string) {
	q, err := json.Marshal(s)
	if err != nil && g.err == nil {
		g.err = err
	}
	g.buf = append(g.buf, q...)
}

func (g *geoWriter) flush() {
	if g.err == nil {
		_, g.err = g.w.Write(g.buf)
	}
	g.buf = g.buf[:0]
}
