package boundary

import (
	"encoding/binary"
	"fmt"
	"strings"

	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/repair"
	"lapwing/geo/shapefile"
)

const shapeFixed = 44 // bytes of a polygon record before its lists

// dbfNames are the columns that may hold a field's name, the best first.
var dbfNames = []string{"NAME", "FIELD", "FIELD_NAME", "ID"}

// readShapefile reads the main file of a shapefile: each record with a polygon
// is a boundary.
func (d *draft) readShapefile(data []byte) error {
	d.out.Format = "Shapefile"
	return d.inFile("", d.shapefile(data))
}

func (d *draft) shapefile(data []byte) error {
	main, err := shapefile.Open(data)
	if err != nil {
		return err
	}
	if !main.Kind.IsPolygon() {
		d.note(0, "shapefile of type %d left out: only polygons (5, 15, 25) bound a field", main.Kind)
		return nil
	}
	prj, err := d.sibling(".prj")
	if err != nil {
		return err
	}
	note, err := main.CheckSystem(string(prj))
	if err != nil {
		return err
	}
	if note != "" {
		d.note(0, "%s", note)
	}
	dbf, err := d.sibling(".dbf")
	if err != nil {
		return err
	}
	table, err := shapefile.OpenTable(dbf)
	if err != nil {
		return err
	}
	name := nameColumn(table)
	return main.Each(func(number int, kind shapefile.Kind, content []byte) error {
		return d.shapeRecord(kind, content, number, name(number-1))
	})
}

// nameColumn returns what finds the name of a record, from 0.
func nameColumn(t *shapefile.Table) func(row int) string {
	for _, want := range dbfNames {
		for _, c := range t.Columns {
			if strings.EqualFold(c.Name, want) {
				return func(row int) string { return t.Value(row, c) }
			}
		}
	}
	return func(int) string { return "" }
}

// sibling returns the file beside the one being read that has another
// extension; nothing where there is none.
func (d *draft) sibling(ext string) ([]byte, error) {
	if d.beside == nil {
		return nil, nil
	}
	return d.beside(ext)
}

// shapeRecord reads the content of one record.
func (d *draft) shapeRecord(kind shapefile.Kind, b []byte, number int, name string) error {
	where := fmt.Sprintf("record %d", number)
	if kind == shapefile.Null {
		d.note(0, "record without a shape left out")
		return nil
	}
	if !kind.IsPolygon() {
		return d.fault(0, where, fmt.Sprintf("shape type %d", kind), "a polygon: 5, 15 or 25")
	}
	if len(b) < shapeFixed {
		return d.fault(0, where, fmt.Sprintf("%d bytes", len(b)), "44 or more for a polygon")
	}
	parts := int64(binary.LittleEndian.Uint32(b[36:]))
	points := int64(binary.LittleEndian.Uint32(b[40:]))
	if need := shapeFixed + 4*parts + 16*points; need > int64(len(b)) {
		return d.fault(0, where, fmt.Sprintf("%d parts and %d points in %d bytes", parts, points, len(b)),
			fmt.Sprintf("%d bytes", need))
	}
	starts, places := b[shapeFixed:], b[shapeFixed+4*parts:]
	rings := make([]ring, parts)
	for i := range rings {
		from, to := int64(binary.LittleEndian.Uint32(starts[4*i:])), points
		if i+1 < len(rings) {
			to = int64(binary.LittleEndian.Uint32(starts[4*i+4:]))
		}
		rings[i].where = fmt.Sprintf("%s, ring %d", where, i+1)
		if from > to || to > points {
			return d.fault(0, rings[i].where, fmt.Sprintf("points %d to %d of %d", from, to, points), "rising numbers")
		}
		for at := from; at < to; at++ {
			p := places[16*at:]
			rings[i].at = append(rings[i].at, vertex{LonLat: geo.LonLat{Lon: shapefile.Float(p), Lat: shapefile.Float(p[8:])}})
		}
	}
	outlines, err := d.nest(rings)
	if err != nil || len(outlines) == 0 {
		return err
	}
	return d.add(shape{name, outlines})
}

// nest makes polygons of rings that lie in no order. A shapefile winds shells
// clockwise and holes the other way, but many a writer does not: what lies
// within an even number of rings is taken for a shell, whichever way it runs.
func (d *draft) nest(rings []ring) ([]outline, error) {
	var solid []ring
	var flats []plane.Ring
	for _, r := range rings {
		if err := d.checkPlaces(r); err != nil {
			return nil, err
		}
		c, err := d.runOn(r)
		if err != nil {
			return nil, err
		}
		if len(c) == 0 {
			d.note(0, "empty ring left out")
			continue
		}
		solid, flats = append(solid, r), append(flats, flat(c))
	}
	depth := make([]int, len(solid))
	around := make([]int, len(solid)) // the innermost ring around it
	for i := range solid {
		around[i] = -1
		for j := range solid {
			if i == j || !d.lies(flats[i], flats[j]) {
				continue
			}
			depth[i]++
			if around[i] < 0 || d.lies(flats[j], flats[around[i]]) {
				around[i] = j
			}
		}
		if d.steps < 0 {
			return nil, d.tangled(solid[i])
		}
	}
	var out []outline
	shellOf := make(map[int]int)
	for i, r := range solid {
		if depth[i]%2 == 0 {
			shellOf[i] = len(out)
			out = append(out, outline{r})
		}
	}
	for i, r := range solid {
		if depth[i]%2 == 1 {
			if s, ok := shellOf[around[i]]; ok {
				out[s] = append(out[s], r)
			} else {
				return nil, d.fault(0, r.where, "rings that overlap", "rings side by side or within each other")
			}
		}
	}
	return out, nil
}

// lies reports whether inner lies within outer, judged by its first corner or
// middle of an edge that is not on that ring's edge.
func (d *draft) lies(inner, outer plane.Ring) bool {
	d.steps--
	if box, room := inner.Bounds(), outer.Bounds(); !holds(room, box.Min) || !holds(room, box.Max) {
		return false
	}
	laid := repair.Lay(inner, outer)
	inner, outer = laid[0], laid[1]
	for i, p := range inner {
		next := inner[(i+1)%len(inner)]
		for _, at := range []plane.Point{p.Add(p), p.Add(next)} {
			if d.steps -= len(outer); d.steps < 0 {
				return false
			}
			if s := locate(outer, at); s != 0 {
				return s > 0
			}
		}
	}
	return false
}
