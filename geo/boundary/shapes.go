package boundary

import (
	"strings"

	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

// nameColumns are the attributes that may hold a field's name, the best first.
var nameColumns = []string{"NAME", "FIELD", "FIELD_NAME", "ID"}

// shapes takes the features of a file: each with ground is a boundary.
func (d *draft) shapes(shapes *feature.Shapes) error {
	return d.inFile("", shapes.Each(func(s feature.Shape) error {
		if s.Note != "" {
			d.note(0, "%s", shorten(s.Note))
			return nil
		}
		outlines, err := d.bounds(s)
		if err != nil || len(outlines) == 0 {
			return err
		}
		return d.add(shape{fieldName(s), outlines})
	}))
}

// bounds returns what bounds a feature.
func (d *draft) bounds(s feature.Shape) ([]outline, error) {
	var out []outline
	for _, o := range s.Outlines {
		rings := append(ringsOf(o.Shells), ringsOf(o.Holes)...)
		if len(o.Shells) < 2 {
			out = append(out, rings)
			continue
		}
		nested, err := d.nest(rings)
		if err != nil {
			return nil, err
		}
		out = append(out, nested...)
	}
	nested, err := d.nest(ringsOf(s.Loose))
	return append(out, nested...), err
}

func ringsOf(of []feature.Ring) []ring {
	var rings []ring
	for _, r := range of {
		rings = append(rings, ringOf(r))
	}
	return rings
}

func ringOf(r feature.Ring) ring {
	out := ring{where: r.Where, at: make([]vertex, len(r.At))}
	for i, p := range r.At {
		out.at[i].LonLat = p
		if i < len(r.Lines) {
			out.at[i].line = r.Lines[i]
		}
	}
	if len(r.Lines) > 0 {
		out.line = int(r.Lines[0])
	}
	return out
}

// onEarth is a ring of coordinates in the file's system. An error is a
// [*geo.Fault].
func (d *draft) onEarth(r feature.Ring) (ring, error) {
	if d.system == nil {
		return ringOf(r), nil
	}
	at := make([]projection.XY, len(r.At))
	for i, p := range r.At {
		at[i] = projection.XY{X: p.Lon, Y: p.Lat}
	}
	mapped, err := feature.RingAt(d.system, r.Where, at, r.Lines)
	return ringOf(mapped), err
}

// fieldName is the name of a feature; "" where none of its attributes holds one.
func fieldName(s feature.Shape) string {
	for _, want := range nameColumns {
		for i, c := range s.Columns {
			if strings.EqualFold(c, want) {
				return string(s.Values[i].Text)
			}
		}
	}
	return ""
}
