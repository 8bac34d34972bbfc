package report

import (
	"cmp"
	"io"
	"strings"

	"lapwing/coverage/cause"
	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A smallPlat is a plat the size of a stamp, for an index: the boundary and
// what needs attention. Nothing is measured on it.
type smallPlat struct {
	Wide, High string
	Label      string
	Marks      []chartMark // from the bottom up
}

// A stamp lays ground out on a drawing whose longer side is stampSize.
type stampScale struct {
	box   plane.Box
	scale float64 // drawing units to a tick
}

const (
	stampSize   = 280.0
	stampMargin = 8.0
	// stampThin is by how many drawing units a line may be moved; nobody sees
	// a third of a pixel.
	stampThin = 0.3
	// stampLeast is the least ground that is drawn, in m²: smaller patches are
	// specks on a drawing of this size and would hide what matters.
	stampLeast = 10.0
)

func newStamp(boundary []plane.Polygon) stampScale {
	box := plane.Empty()
	for _, p := range boundary {
		for _, at := range p.Shell {
			box = box.Add(at)
		}
	}
	if box.Min.X > box.Max.X {
		box = plane.Box{}
	}
	size := box.Max.Sub(box.Min)
	return stampScale{box, stampSize / float64(max(size.X, size.Y, plane.Metre))}
}

// frame sets the size of a plat on the stamp.
func (t stampScale) frame(p *smallPlat) {
	size := t.box.Max.Sub(t.box.Min)
	p.Wide, p.High = fixed(float64(size.X)*t.scale+2*stampMargin), fixed(float64(size.Y)*t.scale+2*stampMargin)
}

func (t stampScale) at(p plane.Point) (x, y float64) {
	return float64(p.X-t.box.Min.X)*t.scale + stampMargin, float64(t.box.Max.Y-p.Y)*t.scale + stampMargin
}

// path writes path data for polygons.
func (t stampScale) path(polygons []plane.Polygon) string {
	var b strings.Builder
	for _, p := range polygons {
		for _, ring := range p.Rings() {
			t.ring(&b, ring)
		}
	}
	return b.String()
}

func (t stampScale) ring(b *strings.Builder, ring plane.Ring) {
	if len(ring) < 3 {
		return
	}
	// A strip thinner than the pen is a line there and back.
	line := append(ring.Thinned(stampThin/t.scale), ring[0])
	last := ""
	for i, p := range line {
		x, y := t.at(p)
		place := fixed(x) + " " + fixed(y)
		if place == last {
			continue
		}
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(place)
		last = place
	}
	b.WriteByte('z')
}

// readSmallPlat draws a coverage.geojson, and says where on the Earth it is.
func readSmallPlat(shapes io.Reader) (smallPlat, lonLatBox, error) {
	var boundary []geo.Polygon
	parts := map[string][]geo.Polygon{}
	err := eachShape(shapes, func(s shape) error {
		switch {
		case s.Kind == "field":
			boundary = append(boundary, s.Polygons...)
		case s.Kind == "skip" && s.Cause == string(cause.Unworked):
			parts["unworked"] = append(parts["unworked"], s.Polygons...)
		case (s.Kind == "skip" || s.Kind == "overlap" || s.Kind == "overreach" || s.Kind == "unlogged") && s.Area >= stampLeast:
			parts[s.Kind] = append(parts[s.Kind], s.Polygons...)
		}
		return nil
	})
	if err != nil || len(boundary) == 0 {
		return smallPlat{}, lonLatBox{}, err
	}
	field, err := field.NewField("", boundary)
	if err != nil {
		return smallPlat{}, lonLatBox{}, err
	}
	t := newStamp(field.Boundary)
	var p smallPlat
	t.frame(&p)
	for _, class := range []string{"unlogged", "overreach", "overlap", "unworked", "skip"} {
		if d := t.path(laid(&field.Frame, parts[class])); d != "" {
			p.Marks = append(p.Marks, chartMark{class, d})
		}
	}
	p.Marks = append(p.Marks, chartMark{"boundary", t.path(field.Boundary)})
	return p, boxOf(boundary), nil
}

// laid lays polygons flat; what is too far away for the grid is left out of
// the drawing.
func laid(frame *geo.Frame, parts []geo.Polygon) []plane.Polygon {
	var out []plane.Polygon
	for _, p := range parts {
		var flat plane.Polygon
		ok := true
		ring := func(places []geo.LonLat) plane.Ring {
			r := make(plane.Ring, 0, len(places))
			for _, at := range places {
				p, near := frame.ToPlane(at)
				ok = ok && near
				r = append(r, p)
			}
			return r
		}
		flat.Shell = ring(p.Shell)
		for _, h := range p.Holes {
			flat.Holes = append(flat.Holes, ring(h))
		}
		if ok {
			out = append(out, flat)
		}
	}
	return out
}

// byNumber puts sheets in the order of their numbers.
func byNumber(a, b *Sheet) int { return cmp.Compare(a.Number, b.Number) }
