package geopackage

import (
	"errors"
	"fmt"
	"strings"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

// Points opens the features of the one layer of points that has any. An error
// is a [*Fault]. data must not change until it is closed.
func Points(data []byte) (*feature.Points, error) {
	f, err := Open(data)
	if err != nil {
		return nil, err
	}
	layer, notes, err := f.pointLayer()
	if err != nil {
		f.Close()
		return nil, err
	}
	system, err := layer.Projection()
	if err != nil {
		f.Close()
		return nil, err
	}
	if note := system.Note(); note != "" {
		notes = append(notes, geo.Note{Count: 1, Text: note})
	}
	return &feature.Points{Columns: layer.Columns, Notes: notes, System: system.Described(), Close: f.Close,
		Each: func(do func(feature.Point) error) error { return f.eachPoint(layer, system, do) }}, nil
}

// pointLayer chooses the one layer of points that has any.
func (f *File) pointLayer() (*Layer, []geo.Note, error) {
	var layers []*Layer
	var notes []geo.Note
	for i := range f.Layers {
		l := &f.Layers[i]
		filled, err := f.Filled(l)
		if err != nil {
			return nil, nil, err
		}
		switch {
		case !filled:
		case l.Kind == "POINT" || l.Kind == "GEOMETRY":
			layers = append(layers, l)
		default:
			notes = append(notes, geo.Note{Count: 1, Text: fmt.Sprintf("layer %q left out: %s, want points", l.Name, l.Kind)})
		}
	}
	if len(layers) > 1 {
		return nil, nil, &Fault{Found: fmt.Sprintf("several layers of points: %q and %q", layers[0].Name, layers[1].Name), Want: "one"}
	}
	if len(layers) == 0 {
		found := "no layer of points"
		if len(notes) > 0 {
			found += " (" + notes[0].Text + ")"
		}
		return nil, nil, &Fault{Found: found, Want: "a log with fixes", Reason: geo.ErrNothing}
	}
	return layers[0], notes, nil
}

// eachPoint calls do with the features of a layer of points.
func (f *File) eachPoint(l *Layer, system *projection.System, do func(feature.Point) error) error {
	number := 0
	return f.Each(l, func(row Row) error {
		number++
		at, ok, err := Point(row.Geometry)
		var fault *Fault
		if errors.As(err, &fault) {
			fault.Where = l.place(number)
		}
		if err != nil {
			return err
		}
		if !ok {
			return do(feature.Point{Values: row.Values})
		}
		point := feature.PointAt(system, at)
		point.Values = row.Values
		return do(point)
	})
}

// place is where a feature stands, for messages.
func (l *Layer) place(number int) string {
	return fmt.Sprintf("layer %s, feature %d", l.Name, number)
}

// Shapes opens the features with a polygon, of whatever layer. An error is a
// [*Fault]. data must not change until it is closed.
func Shapes(data []byte) (*feature.Shapes, error) {
	f, err := Open(data)
	if err != nil {
		return nil, err
	}
	return &feature.Shapes{Each: f.eachShape, Close: f.Close}, nil
}

// eachShape calls do with the features of all layers that may hold polygons.
func (f *File) eachShape(do func(feature.Shape) error) error {
	for i := range f.Layers {
		l := &f.Layers[i]
		if strings.Contains(l.Kind, "POINT") || strings.Contains(l.Kind, "LINE") {
			if err := do(feature.Shape{Note: fmt.Sprintf("layer %s left out: %s; only polygons bound a field", l.Name, l.Kind)}); err != nil {
				return err
			}
			continue
		}
		system, err := l.Projection()
		if err != nil {
			return err
		}
		if note := system.Note(); note != "" {
			if err := do(feature.Shape{Note: note}); err != nil {
				return err
			}
		}
		number := 0
		err = f.Each(l, func(row Row) error {
			number++
			s, err := l.shape(row, number, system)
			if err != nil {
				return err
			}
			return do(s)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// shape is a feature as one that bounds ground.
func (l *Layer) shape(row Row, number int, system *projection.System) (feature.Shape, error) {
	where := l.place(number)
	polygons, other, err := Polygons(row.Geometry)
	var fault *Fault
	switch {
	case errors.As(err, &fault):
		if fault.Where == "" {
			fault.Where = where
		}
		return feature.Shape{}, err
	case err != nil:
		return feature.Shape{}, err
	case other != "":
		return feature.Shape{Note: other + " left out: only polygons bound a field"}, nil
	case polygons == nil:
		return feature.Shape{Note: "feature without a geometry left out"}, nil
	}
	s := feature.Shape{Columns: l.Columns, Values: row.Values}
	for p, rings := range polygons {
		var o feature.Outline
		for r, at := range rings {
			one, err := feature.RingAt(system, fmt.Sprintf("%s, polygon %d, ring %d", where, p+1, r+1), at, nil)
			if err != nil {
				return feature.Shape{}, err
			}
			if r == 0 {
				o.Shells = append(o.Shells, one)
			} else {
				o.Holes = append(o.Holes, one)
			}
		}
		s.Outlines = append(s.Outlines, o)
	}
	return s, nil
}
