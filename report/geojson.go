package report

import (
	"io"

	"lapwing/coverage"
	"lapwing/geo/geojson"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// GeoJSON writes coverage.geojson feature by feature. See the package comment
// for the properties.
func (r *Report) GeoJSON(w io.Writer) error {
	g := geojson.NewWriter(w, r.Map.Field.Frame, generator(r.Run))
	r.writeField(g)
	r.writeRegions(g)
	r.writePasses(g)
	return g.Close(func(m *geojson.Members) { m.Integer("left_out", g.Lost()) })
}

// generator writes the members with which a file of a run begins.
func generator(run string) func(*geojson.Members) {
	return func(m *geojson.Members) {
		m.Text("generator", "lapwing")
		m.Text("run", run)
	}
}

func (r *Report) writeField(g *geojson.Writer) {
	for _, p := range r.Map.Field.Boundary {
		g.Feature(g.Polygon(p), func(m *geojson.Members) {
			m.Text("kind", "field")
			m.Text("name", r.Map.Field.Name)
			areaProperty(m, p.Area())
		})
	}
	for _, p := range r.Map.Headland.Zone {
		g.Feature(g.Polygon(p), func(m *geojson.Members) {
			m.Text("kind", "headland")
			areaProperty(m, p.Area())
		})
	}
}

// shapesAtOnce is how many shapes a processor writes before it is handed more:
// most take less time than handing one out does.
const shapesAtOnce = 4

func (r *Report) writeRegions(g *geojson.Writer) {
	skips := r.skips().byRegion(func(i int) int { return r.Map.Skips[i].Region })
	overlaps := r.overlaps().byRegion(func(i int) int { return r.Map.Overlaps[i].Region })
	causes := r.causes()
	ready := parallel.Ahead(len(r.Map.Regions), shapesAtOnce, func(i int) geojson.Shape {
		return g.Polygon(r.Map.Regions[i].Shape)
	})
	for i, shape := range ready {
		reg := &r.Map.Regions[i]
		id := skips[i] + overlaps[i] // a region is at most one of the two
		g.Feature(shape, func(m *geojson.Members) {
			m.Text("kind", reg.Kind.String())
			if id > 0 {
				m.Integer("id", id)
			}
			if reg.Depth > 0 {
				m.Integer("depth", reg.Depth)
			}
			areaProperty(m, reg.Area)
			if cause := causes[i]; cause != "" {
				m.Text("cause", string(cause))
			}
			if reg.Kind == coverage.Skip {
				m.Truth("headland", reg.Headland)
			}
			if len(reg.Swaths) > 0 {
				m.Integers("passes", r.passesOver(reg))
			}
		})
	}
}

// areaProperty writes an area in m².
func areaProperty(m *geojson.Members, a plane.Area) {
	m.Append("area_m2", func(b []byte) []byte { return appendSquareMetres(b, a) })
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

func (r *Report) writePasses(g *geojson.Writer) {
	lines := parallel.Ahead(len(r.Map.Passes), shapesAtOnce, func(i int) geojson.Shape {
		return g.Line(centreLine(&r.Map.Passes[i], lineTolerance))
	})
	for i, line := range lines {
		p := &r.Map.Passes[i]
		g.Feature(line, func(m *geojson.Members) {
			m.Text("kind", "pass")
			m.Integer("id", p.ID)
			m.Text("machine", r.machineName(p.Machine))
			m.Truth("headland", p.Headland)
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
