package boundary

import (
	"encoding/binary"
	"fmt"
	"math"

	"lapwing/geo"
)

// Shape types with polygons; the last two add heights and measures after the
// points, which say nothing about ground.
const (
	shapeNull     = 0
	shapePolygon  = 5
	shapePolygonZ = 15
	shapePolygonM = 25
)

const (
	shapeHeader = 100 // bytes of the file's header
	shapeFixed  = 44  // bytes of a polygon record before its lists
)

var shapeMagic = []byte("\x00\x00\x27\x0a")

// readShapefile reads the main file of a shapefile ("ESRI Shapefile Technical
// Description", July 1998): each record with a polygon is a boundary. Counts
// in the file are believed only as far as there are bytes for them.
func (d *draft) readShapefile(data []byte) error {
	d.out.Format = "Shapefile"
	if len(data) < shapeHeader {
		return d.fault(0, "", fmt.Sprintf("a shapefile of %d bytes", len(data)), "a header of 100")
	}
	kind := binary.LittleEndian.Uint32(data[32:])
	if !isPolygon(kind) {
		d.note(0, "shapefile of type %d left out: only polygons (5, 15, 25) bound a field", kind)
		return nil
	}
	prj, err := d.sibling(".prj")
	if err != nil {
		return err
	}
	inDegrees := true
	for i, limit := range []float64{180, 90, 180, 90} { // least x and y, greatest x and y
		inDegrees = inDegrees && math.Abs(float64At(data[36+8*i:])) <= limit
	}
	if err := d.checkPRJ(string(prj), inDegrees); err != nil {
		return err
	}
	if d.names, err = d.readDBF(); err != nil {
		return err
	}
	rest := data[shapeHeader:]
	for number := 1; len(rest) > 0; number++ {
		where := fmt.Sprintf("record %d", number)
		if len(rest) < 12 {
			return d.fault(0, where, fmt.Sprintf("%d bytes", len(rest)), "a record's header of 12")
		}
		length := 2 * int64(binary.BigEndian.Uint32(rest[4:]))
		if length < 4 || length > int64(len(rest)-8) {
			return d.fault(0, where, fmt.Sprintf("a length of %d bytes", length), fmt.Sprintf("4 to %d", len(rest)-8))
		}
		if err := d.shapeRecord(rest[8:8+length], where, number); err != nil {
			return err
		}
		rest = rest[8+length:]
	}
	return nil
}

func isPolygon(kind uint32) bool {
	return kind == shapePolygon || kind == shapePolygonZ || kind == shapePolygonM
}

func float64At(b []byte) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b)) }

// sibling returns the file beside the one being read that has another
// extension; nothing where there is none.
func (d *draft) sibling(ext string) ([]byte, error) {
	if d.beside == nil {
		return nil, nil
	}
	return d.beside(ext)
}

// shapeRecord reads the content of one record.
func (d *draft) shapeRecord(b []byte, where string, number int) error {
	kind := binary.LittleEndian.Uint32(b)
	if kind == shapeNull {
		d.note(0, "record without a shape left out")
		return nil
	}
	if !isPolygon(kind) {
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
			rings[i].at = append(rings[i].at, vertex{LonLat: geo.LonLat{Lon: float64At(p), Lat: float64At(p[8:])}})
		}
	}
	outlines, err := d.nest(rings)
	if err != nil || len(outlines) == 0 {
		return err
	}
	name := ""
	if number <= len(d.names) {
		name = d.names[number-1]
	}
	return d.add(shape{name, outlines})
}

// nest makes polygons of rings that lie in no order. A shapefile winds shells
// clockwise and holes the other way, but many a writer does not: what lies
// within an even number of rings is taken for a shell, whichever way it runs.
func (d *draft) nest(rings []ring) ([]outline, error) {
	var solid []ring
	var corners [][]corner
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
		solid, corners = append(solid, r), append(corners, c)
	}
	depth := make([]int, len(solid))
	around := make([]int, len(solid)) // the innermost ring around it
	for i := range solid {
		around[i] = -1
		for j := range solid {
			if i == j || !d.lies(corners[i], corners[j]) {
				continue
			}
			depth[i]++
			if around[i] < 0 || d.lies(corners[j], corners[around[i]]) {
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

// lies reports whether c lies within the ring around, judged by its first
// corner or middle of an edge that is not on that ring's edge.
func (d *draft) lies(c, around []corner) bool {
	inner, outer := boxOf(c), boxOf(around)
	if d.steps--; !outer.holds(inner.min) || !outer.holds(inner.max) {
		return false
	}
	for i, p := range c {
		next := c[(i+1)%len(c)]
		for _, at := range []spot{p.doubled(), {p.x + next.x, p.y + next.y}} {
			if d.steps -= len(around); d.steps < 0 {
				return false
			}
			if s := locate(around, at); s != 0 {
				return s > 0
			}
		}
	}
	return false
}
