package field

import (
	"io"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/region"
	"lapwing/geo/geojson"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/report"
)

// GeoJSON writes coverage.geojson feature by feature. See the package comment
// for the properties.
func (d *Document) GeoJSON(w io.Writer) error {
	g := report.NewGeoJSON(w, d.Map.Field.Frame, d.Run)
	d.writeField(g)
	d.writeRegions(g)
	d.writePasses(g)
	d.openings(g)
	d.dry(g)
	return g.Close(func(m *geojson.Members) { m.Integer("left_out", g.Lost()) })
}

func (d *Document) writeField(g *geojson.Writer) {
	g.Feature(g.Polygons(d.Map.Measured), func(m *geojson.Members) {
		m.Text("kind", "field")
		m.Text("name", d.Map.Field.Name)
		report.AreaMember(m, d.Map.Totals.Field)
		d.fieldMembers(m)
		looks["field"].write(m, d.FieldName(), strings.Join(d.answer(d.Units), " "))
	})
	for _, p := range d.Map.Headland.Zone {
		g.Feature(g.Polygon(p), func(m *geojson.Members) {
			m.Text("kind", "headland")
			report.AreaMember(m, p.Area())
			looks["headland"].write(m, "", "")
		})
	}
}

// shapesAtOnce is how many shapes a processor is handed at a time: most take less
// time to write than handing one out does. Judgement; it changes no output.
const shapesAtOnce = 4

func (d *Document) writeRegions(g *geojson.Writer) {
	skips := d.Skips().By(func(i int) int { return d.Map.Skips[i].Region })
	overlaps := d.Overlaps().By(func(i int) int { return d.Map.Overlaps[i].Region })
	causes, wastes := d.Causes(), d.wastes()
	skipOf, doubts := map[int]int{}, map[int]float64{}
	for i := range d.Map.Skips {
		s := &d.Map.Skips[i]
		skipOf[s.Region], doubts[s.Region] = i, s.Doubt
	}
	for i := range d.Map.Overlaps {
		o := &d.Map.Overlaps[i]
		doubts[o.Region] = o.Doubt
	}
	var shares map[int]float64
	if d.WhatIf != nil {
		shares = d.WhatIf.Sure.Shares()
	}
	ready := parallel.Ahead(len(d.Map.Regions), shapesAtOnce, func(i int) geojson.Shape {
		return g.Polygon(d.Map.Regions[i].Shape)
	})
	for i, shape := range ready {
		reg := &d.Map.Regions[i]
		id := skips[i] + overlaps[i] // a region is at most one of the two
		g.Feature(shape, func(m *geojson.Members) {
			m.Text("kind", reg.Kind.String())
			if id > 0 {
				m.Integer("id", id)
			}
			if reg.Depth > 0 {
				m.Integer("depth", reg.Depth)
			}
			report.AreaMember(m, reg.Area)
			if cause := causes[i]; cause != "" {
				m.Text("cause", string(cause))
			}
			if doubt := doubts[i]; doubt > 0 {
				figureMember(m, "doubt", doubt)
			}
			if reg.Kind == region.Skip {
				m.Truth("headland", reg.Headland)
				d.skipMembers(m, skipOf[i], shares)
			}
			wasteMembers(m, wastes[i])
			lookOf(reg, causes[i]).write(m, d.title(reg, id, causes[i]), "")
			if len(reg.Swaths) > 0 {
				m.Integers("passes", d.PassesOver(reg))
			}
		})
	}
}

func (d *Document) writePasses(g *geojson.Writer) {
	lines := parallel.Ahead(len(d.Map.Passes), shapesAtOnce, func(i int) geojson.Shape {
		return g.Line(assess.CentreLine(&d.Map.Passes[i], lineTolerance))
	})
	for i, line := range lines {
		p := &d.Map.Passes[i]
		g.Feature(line, func(m *geojson.Members) {
			m.Text("kind", "pass")
			m.Integer("id", p.ID)
			m.Text("machine", d.MachineName(p.Machine))
			m.Truth("headland", p.Headland)
			looks["pass"].write(m, "", "")
		})
	}
}

// lineTolerance is how far a pass's line may lie from the path it is taken
// from. A long edge, straight in degrees, bows by 1 mm, and nine decimals round by
// 0.1 mm: with these the line stays within 1 cm of the path.
const lineTolerance = plane.Distance(8 * plane.Millimetre)
