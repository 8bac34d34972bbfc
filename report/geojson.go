package report

import (
	"encoding/json"
	"io"
	"strconv"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/geo/parallel"
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

// shapesAtOnce is how many shapes a processor writes before it is handed more:
// most take less time than handing one out does.
const shapesAtOnce = 4

func (r *Report) writeRegions(g *geoWriter) {
	skips := r.Skips().ByRegion(func(i int) int { return r.Map.Skips[i].Region })
	overlaps := r.Overlaps().ByRegion(func(i int) int { return r.Map.Overlaps[i].Region })
	causes := r.causes()
	ready := parallel.Ahead(len(r.Map.Regions), shapesAtOnce, func(i int) geometry {
		return g.frame.geometry(r.Map.Regions[i].Shape)
	})
	for i, shape := range ready {
		reg := &r.Map.Regions[i]
		id := skips[i] + overlaps[i] // a region is at most one of the two
		g.feature(shape, reg.Kind.String(), func() {
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
				g.truth(reg.Headland)
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
	lines := parallel.Ahead(len(r.Map.Passes), shapesAtOnce, func(i int) geometry {
		return lineGeometry(cutLine(g.frame.line(centreLine(&r.Map.Passes[i], lineTolerance))))
	})
	for i, line := range lines {
		p := &r.Map.Passes[i]
		g.feature(line, "pass", func() {
			g.text(`,"id":`)
			g.integer(p.ID)
			g.text(`,"machine":`)
			g.quoted(r.MachineName(p.Machine))
			g.text(`,"headland":`)
			g.truth(p.Headland)
		})
	}
}

// lineTolerance is how far a pass's line may lie from the path it is taken
// from. With the bow of a long edge, 1 mm, and the rounding to the ninth
// decimal, 0.1 mm, the line stays within the agreed 1 cm.
const lineTolerance = 8 * float64(plane.Millimetre)

// centreLine is the path of the bar's centre, thinned.
func centreLine(p *coverage.Pass, tolerance float64) []plane.Point {
	line := make([]plane.Point, len(p.Poses))
	for i := range p.Poses {
		line[i] = p.Poses[i].Bar
	}
	return plane.Thinned(line, tolerance)
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
	g.feature(g.frame.geometry(p), kind, properties)
}

// feature writes a feature whose shape is ready.
func (g *geoWriter) feature(shape geometry, kind string, properties func()) {
	g.lost += shape.lost
	if len(shape.text) == 0 {
		return
	}
	if g.written {
		g.text(",")
	}
	g.written = true
	g.text("\n{\"type\":\"Feature\",\"properties\":{\"kind\":\"")
	g.text(kind)
	g.text(`"`)
	properties()
	g.text(`},"geometry":{"type":`)
	g.buf = append(g.buf, shape.text...)
	g.text("}}")
	if len(g.buf) > 1<<16 {
		g.flush()
	}
}

func (g *geoWriter) areaProperty(a plane.Area) {
	g.text(`,"area_m2":`)
	g.buf = assess.AppendSquareMetres(g.buf, a)
}

func (g *geoWriter) passNumbers(ids []int) {
	g.text(`,"passes":`)
	for i, id := range ids {
		g.buf = separate(g.buf, i)
		g.integer(id)
	}
	g.text("]")
}

func (g *geoWriter) text(s string) { g.buf = append(g.buf, s...) }

func (g *geoWriter) integer(n int) { g.buf = strconv.AppendInt(g.buf, int64(n), 10) }

func (g *geoWriter) truth(is bool) { g.buf = strconv.AppendBool(g.buf, is) }

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
