package propose

import (
	"math"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/propose/cell"
	"lapwing/geo"
	"lapwing/geo/source"
)

// A Field is the boundary of one field in a file.
type Field struct {
	Path string // as a job names it: "fields.geojson", "TASKDATA#PFD1"
	Name string // as the file has it; "" where it has none

	parts  []geo.Polygon
	land   field.Field
	extent geo.Extent
	fault  error
	ofSet  bool
	crop   string // what grows there, as a task set says it; "" for not known
	number int    // in the file, from 1
	shared bool   // the file has other fields too, so that a job must name this one
	find   *Find
	twins  []*Field // the same ground in other files
}

// Parts are the polygons of the boundary.
func (f *Field) Parts() []geo.Polygon { return f.parts }

// lay lays the field flat.
func (f *Field) lay() {
	f.land, f.fault = field.NewField(f.Name, f.parts)
	f.extent = geo.NoExtent()
	for _, part := range f.parts {
		for _, p := range part.Shell {
			f.extent.Add(p)
		}
	}
}

// Area is the ground in square metres, holes taken out.
func (f *Field) Area() (m2 float64) {
	for _, p := range f.land.Boundary {
		m2 += p.Area().SquareMetres()
	}
	return m2
}

// holds reports whether a place lies on the field.
func (f *Field) holds(p geo.LonLat) bool {
	if !f.extent.Holds(p) {
		return false
	}
	at, ok := f.land.Frame.ToPlane(p)
	if !ok {
		return false
	}
	for _, part := range f.land.Boundary {
		if part.Contains(at) {
			return true
		}
	}
	return false
}

// touches reports whether some cells come near the field. Of the cells and those
// around the field it asks for the fewer: one log may be of thousands of fields.
func (f *Field) touches(all cell.Cells) bool {
	const beside = 0.0002 // degrees: a cell
	x := f.extent.Around(beside)
	from, to := cell.At(geo.LonLat{Lon: x.West, Lat: x.South}), cell.At(geo.LonLat{Lon: x.East, Lat: x.North})
	if n := int(to.Row-from.Row+1) * int(to.Col-from.Col+1); n > 0 && n < len(all) {
		for row := from.Row; row <= to.Row; row++ {
			for col := from.Col; col <= to.Col; col++ {
				if _, is := all[cell.Cell{Row: row, Col: col}]; is {
					return true
				}
			}
		}
		return false
	}
	for at := range all {
		if x.Holds(at.Middle()) {
			return true
		}
	}
	return false
}

// metresOf is how far the passes of a drive run on the field.
func (f *Field) metresOf(d *Drive) (metres float64) {
	for i := range d.passes {
		metres += f.metresOn(&d.passes[i])
	}
	return metres
}

// metresOn is how far a pass runs on the field.
func (f *Field) metresOn(p *pass) (metres float64) {
	for i := 1; i < len(p.Places); i++ {
		a, b := p.Places[i-1], p.Places[i]
		if f.holds(geo.LonLat{Lon: a.Lon + math.Remainder(b.Lon-a.Lon, 360)/2, Lat: (a.Lat + b.Lat) / 2}) {
			metres += cell.MetresBetween(a, b)
		}
	}
	return metres
}

// twin reports whether two boundaries are of the same ground, but for how they
// were drawn: equal in area to two percent, and in extent to 20 m. Judgement;
// TestTwinFields holds it.
func (f *Field) twin(g *Field) bool {
	const area, apart = 0.02, 0.0002
	if a, b := f.Area(), g.Area(); math.Abs(a-b) > area*max(a, b) {
		return false
	}
	x, y := f.extent, g.extent
	east := func(a, b float64) float64 { return math.Abs(math.Remainder(a-b, 360)) }
	return max(math.Abs(x.South-y.South), math.Abs(x.North-y.North), east(x.West, y.West), east(x.East, y.East)) <= apart
}

// grounds lists all fields, those of one ground once. A boundary in a file of its
// own goes before that of a task set: people drew it.
func (s *Season) grounds() (all []*Field) {
	var drawn, ofSets []*Field
	for _, f := range s.Finds {
		for _, g := range f.Fields {
			g.find, g.twins = f, nil
			if g.ofSet {
				ofSets = append(ofSets, g)
			} else {
				drawn = append(drawn, g)
			}
		}
	}
	byCell := map[cell.Cell][]*Field{} // by where their middles are, so that thousands are compared with a few
	for _, g := range append(drawn, ofSets...) {
		const perField = 20 // cells: the middles of twins lie within one or in the next
		at := cell.At(geo.LonLat{Lon: (g.extent.West + g.extent.East) / 2, Lat: (g.extent.South + g.extent.North) / 2})
		key := cell.Cell{Row: cell.FloorDiv(at.Row, perField), Col: cell.FloorDiv(at.Col, perField)}
		var first *Field
		for row := key.Row - 1; row <= key.Row+1; row++ {
			for col := key.Col - 1; col <= key.Col+1 && first == nil; col++ {
				if i := slices.IndexFunc(byCell[cell.Cell{Row: row, Col: col}], g.twin); i >= 0 {
					first = byCell[cell.Cell{Row: row, Col: col}][i]
				}
			}
		}
		if first != nil {
			first.twins = append(first.twins, g)
			continue
		}
		byCell[key] = append(byCell[key], g)
		all = append(all, g)
	}
	return all
}

// IsAt reports whether a boundary, or one of the same ground, has a path.
func (f *Field) IsAt(path string) bool {
	return f.Path == path || slices.ContainsFunc(f.twins, func(g *Field) bool { return g.Path == path })
}

// plainNames are names of files that say nothing of the field.
var plainNames = []string{"boundary", "field", "fields", "job", "log", "track", "data", "yield", "taskdata", "points", "day", "gps", "nmea"}

// nameOf is what a field is called after a file: the file's name, or that of its
// folder where the file's says nothing.
func (s *Season) nameOf(p string) string {
	name := source.Stem(p)
	if !slices.Contains(plainNames, strings.ToLower(name)) {
		return name
	}
	if dir := filepath.Base(filepath.Dir(filepath.FromSlash(s.in.Abs(p)))); dir != "." && dir != string(filepath.Separator) {
		return dir
	}
	return name
}
