package shapefile

import (
	"encoding/binary"
	"fmt"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

// Points opens the features of a main file of points. beside finds the files
// that belong to it, by their ending (".dbf"), and gives nothing where there is
// none; nil never finds any. What is wrong is a [*Fault]; other errors are those
// of beside.
func Points(data []byte, beside func(ending string) ([]byte, error)) (*feature.Points, error) {
	main, err := Open(data)
	if err != nil {
		return nil, err
	}
	if !main.Kind.IsPoint() {
		return nil, &Fault{Found: fmt.Sprintf("a shapefile of type %d", main.Kind), Want: "points: 1, 11 or 21", Reason: geo.ErrNothing}
	}
	var notes []geo.Note
	note := func(text string) { notes = append(notes, geo.Note{Count: 1, Text: text}) }
	system, trusted, err := main.system(beside)
	if err != nil {
		return nil, err
	}
	if trusted != "" {
		note(trusted)
	}
	dbf, err := file(beside, ".dbf")
	if err != nil {
		return nil, err
	}
	if len(dbf) == 0 {
		note("no .dbf file: nothing but places is known")
	}
	table, err := OpenTable(dbf)
	if err != nil {
		return nil, err
	}
	records := 0
	count := func(int, Kind, []byte) error { records++; return nil }
	// A damaged record is told when the features are read.
	if whole := main.Each(count) == nil; whole && table.Rows() != records && len(dbf) > 0 {
		note(fmt.Sprintf("%d points and %d rows in the .dbf file; they are matched from the first on", records, table.Rows()))
	}
	return &feature.Points{Columns: table.names(), Notes: notes, System: system.Described(), Close: func() {}, Each: func(do func(feature.Point) error) error {
		row := 0
		values := make([]feature.Value, len(table.Columns))
		return main.EachPoint(func(x, y float64, ok bool) error {
			table.row(row, values)
			row++
			if !ok {
				return do(feature.Point{Values: values})
			}
			point := feature.PointAt(system, projection.XY{X: x, Y: y})
			point.Values = values
			return do(point)
		})
	}}, nil
}

// system is the coordinate system that stands beside a main file, in its .prj,
// and what is taken on trust in it.
func (m *Main) system(beside func(ending string) ([]byte, error)) (system *projection.System, trusted string, err error) {
	if system, err = feature.SystemBeside(beside); err != nil {
		return nil, "", err
	}
	if system == nil {
		if !m.Degrees {
			return nil, "", &Fault{Found: "no .prj file, and coordinates that are no degrees", Want: "the .prj file that belongs to it, or longitude and latitude on WGS 84"}
		}
		system, err = projection.EPSG(4326)
		return system, "no .prj file: coordinates taken as longitude and latitude on WGS 84", err
	}
	return system, system.Note(), nil
}

func file(beside func(ending string) ([]byte, error), ending string) ([]byte, error) {
	if beside == nil {
		return nil, nil
	}
	return beside(ending)
}

// names are the names of the columns.
func (t *Table) names() (names []string) {
	for _, c := range t.Columns {
		names = append(names, c.Name)
	}
	return names
}

// row fills in what a row, from 0, says.
func (t *Table) row(row int, values []feature.Value) {
	for i, c := range t.Columns {
		values[i] = feature.Value{Text: []byte(t.Value(row, c))}
	}
}

// Shapes opens the features of a main file of polygons; one of another kind
// gives a note and no shape. beside and errors are as in [Points].
func Shapes(data []byte, beside func(ending string) ([]byte, error)) (*feature.Shapes, error) {
	main, err := Open(data)
	if err != nil {
		return nil, err
	}
	if !main.Kind.IsPolygon() {
		return noted(fmt.Sprintf("shapefile of type %d left out: only polygons (5, 15, 25) bound a field", main.Kind)), nil
	}
	system, trusted, err := main.system(beside)
	if err != nil {
		return nil, err
	}
	dbf, err := file(beside, ".dbf")
	if err != nil {
		return nil, err
	}
	table, err := OpenTable(dbf)
	if err != nil {
		return nil, err
	}
	return &feature.Shapes{Close: func() {}, Each: func(do func(feature.Shape) error) error {
		if trusted != "" {
			if err := do(feature.Shape{Note: trusted}); err != nil {
				return err
			}
		}
		names, values := table.names(), make([]feature.Value, len(table.Columns))
		return main.Each(func(number int, kind Kind, content []byte) error {
			if kind == Null {
				return do(feature.Shape{Note: "record without a shape left out"})
			}
			rings, err := ringsOf(fmt.Sprintf("record %d", number), kind, content, system)
			if err != nil {
				return err
			}
			table.row(number-1, values)
			return do(feature.Shape{Columns: names, Values: values, Loose: rings})
		})
	}}, nil
}

// noted are no shapes, and why.
func noted(note string) *feature.Shapes {
	return &feature.Shapes{Close: func() {}, Each: func(do func(feature.Shape) error) error { return do(feature.Shape{Note: note}) }}
}

const polygonFixed = 44 // bytes of a polygon record before its lists

// ringsOf reads the content of one record of a polygon. A shapefile winds
// shells clockwise and holes the other way, but many a writer does not.
func ringsOf(where string, kind Kind, b []byte, system *projection.System) ([]feature.Ring, error) {
	if !kind.IsPolygon() {
		return nil, &Fault{Where: where, Found: fmt.Sprintf("shape type %d", kind), Want: "a polygon: 5, 15 or 25"}
	}
	if len(b) < polygonFixed {
		return nil, &Fault{Where: where, Found: fmt.Sprintf("%d bytes", len(b)), Want: "44 or more for a polygon"}
	}
	parts := int64(binary.LittleEndian.Uint32(b[36:]))
	points := int64(binary.LittleEndian.Uint32(b[40:]))
	if need := polygonFixed + 4*parts + 16*points; need > int64(len(b)) {
		return nil, &Fault{Where: where, Found: fmt.Sprintf("%d parts and %d points in %d bytes", parts, points, len(b)), Want: fmt.Sprintf("%d bytes", need)}
	}
	starts, places := b[polygonFixed:], b[polygonFixed+4*parts:]
	rings := make([]feature.Ring, parts)
	for i := range rings {
		from, to := int64(binary.LittleEndian.Uint32(starts[4*i:])), points
		if i+1 < len(rings) {
			to = int64(binary.LittleEndian.Uint32(starts[4*i+4:]))
		}
		rings[i].Where = fmt.Sprintf("%s, ring %d", where, i+1)
		if from > to || to > points {
			return nil, &Fault{Where: rings[i].Where, Found: fmt.Sprintf("points %d to %d of %d", from, to, points), Want: "rising numbers"}
		}
		at := make([]projection.XY, 0, to-from)
		for k := from; k < to; k++ {
			p := places[16*k:]
			at = append(at, projection.XY{X: Float(p), Y: Float(p[8:])})
		}
		var err error
		if rings[i], err = feature.RingAt(system, rings[i].Where, at, nil); err != nil {
			return nil, err
		}
	}
	return rings, nil
}
