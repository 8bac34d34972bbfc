package season

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"lapwing/geo"
	"lapwing/geo/geopackage"
	"lapwing/geo/parallel"
)

// GeoPackage writes all entries into one GeoPackage at path, which SQLite
// needs to be a file: the layers fields, ground and passes, and the table
// machines. shapes opens the coverage.geojson of an entry.
func (s *Book) GeoPackage(path string, shapes Shapes) error {
	var last time.Time // of all work: the same season gives the same bytes
	for _, entry := range s.Entries {
		if entry.last.After(last) {
			last = entry.last
		}
	}
	w, err := geopackage.Create(path, s.note(), last)
	if err != nil {
		return err
	}
	err = s.layers(w, shapes)
	if closed := w.Close(); err == nil {
		err = closed
	}
	return err
}

// IsIn reports whether a file is the GeoPackage of this book as [Book.GeoPackage]
// left it, made of the same.
func (s *Book) IsIn(f io.ReaderAt, size int64) bool {
	return s.Source != "" && geopackage.IsLeft(f, size, s.note())
}

// note is what the GeoPackage says of what it was made of.
func (s *Book) note() string {
	note := "lapwing, run " + s.run()
	if s.Source != "" {
		note += ", made of " + s.Source
	}
	return note
}

func (s *Book) layers(w *geopackage.Writer, shapes Shapes) error {
	if len(s.Entries) == 0 {
		return nil
	}
	fields := w.Layer("fields", "MULTIPOLYGON", "a boundary for each field, as in season.csv", columnsOf(s.fieldValues(s.Entries[0])))
	ground := w.Layer("ground", "MULTIPOLYGON", "pieces of ground: once, overlap, skip, overreach, unlogged, headland", []geopackage.Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "kind", Kind: "TEXT"}, {Name: "number", Kind: "INTEGER"},
		{Name: "depth", Kind: "INTEGER"}, {Name: "area_m2", Kind: "REAL"}, {Name: "cause", Kind: "TEXT"}, {Name: "passes", Kind: "TEXT"}})
	passes := w.Layer("passes", "MULTILINESTRING", "the way of the bar's centre", []geopackage.Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "pass", Kind: "INTEGER"}, {Name: "machine", Kind: "TEXT"}, {Name: "operator", Kind: "TEXT"}})
	for i, r := range parallel.Ahead(len(s.Entries), 1, func(i int) entryRows { return s.rowsOf(s.Entries[i], shapes) }) {
		if r.err != nil {
			return fmt.Errorf("%s: %w", s.Entries[i].Dir, r.err)
		}
		r.ground.addTo(ground)
		r.passes.addTo(passes)
		r.fields.addTo(fields)
	}
	lines := s.machineLines()
	if len(lines) == 0 {
		return nil
	}
	machines := w.Layer("machines", "", "each machine on each field, as in season-machines.csv", columnsOf(s.machineValues(lines[0])))
	for _, line := range lines {
		machines.Row(typed(s.machineValues(line))...)
	}
	return nil
}

// entryRows are the rows of one entry in the layers.
type entryRows struct {
	fields, ground, passes rows
	err                    error
}

// rows are features of one layer, ready to be written.
type rows []row

type row struct {
	shape  geopackage.Geometry
	values []any
}

func (r *rows) add(shape geopackage.Geometry, values ...any) { *r = append(*r, row{shape, values}) }

func (r rows) addTo(l *geopackage.LayerWriter) {
	for _, one := range r {
		l.Add(one.shape, one.values...)
	}
}

// rowsOf makes the rows of an entry of what is in its coverage.geojson.
func (s *Book) rowsOf(entry *Entry, shapes Shapes) (out entryRows) {
	r, err := shapes(entry)
	if err != nil {
		return entryRows{err: err}
	}
	defer r.Close()
	var boundary []geo.Polygon
	out.err = eachShape(r, nil, func(p shape) error {
		switch p.Kind {
		case "field":
			boundary = append(boundary, p.Polygons...)
		case "pass":
			out.passes.add(geopackage.MultiLine(p.Lines), entry.Number, entry.Name(), p.ID, p.Machine, entry.operator(p.Machine))
		case "open", "dry": // marks for a map of the field, no ground
		default:
			out.ground.add(geopackage.MultiPolygon(p.Polygons), entry.Number, entry.Name(), p.Kind, orNull(p.ID), orNull(p.Depth), p.Area, orNull(p.Cause), orNull(numbers(p.Passes)))
		}
		return nil
	})
	if len(boundary) > 0 {
		out.fields.add(geopackage.MultiPolygon(boundary), typed(s.fieldValues(entry))...)
	}
	return out
}

// orNull is nil for what is not said.
func orNull[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

func numbers(ids []int) string {
	texts := make([]string, len(ids))
	for i, id := range ids {
		texts[i] = strconv.Itoa(id)
	}
	return strings.Join(texts, " ")
}

// kindOf tells the kind of a column by its name: the figures are those with a
// unit at the end of theirs, and a few others.
func kindOf(name string) string {
	switch name {
	case "sheet", "season", "skips", "passes", "warnings":
		return "INTEGER"
	case "headland_completion", "efficiency":
		return "REAL"
	}
	for _, unit := range []string{"_m2", "_m", "_s", "_kg"} {
		if strings.HasSuffix(name, unit) {
			return "REAL"
		}
	}
	if strings.HasPrefix(name, "wasted_") {
		return "REAL"
	}
	return "TEXT"
}

func columnsOf(values []namedValue) []geopackage.Column {
	out := make([]geopackage.Column, len(values))
	for i, v := range values {
		out[i] = geopackage.Column{Name: v.name, Kind: kindOf(v.name)}
	}
	return out
}

// typed turns the texts of a line into values of its columns' kinds.
func typed(values []namedValue) []any {
	out := make([]any, len(values))
	for i, v := range values {
		switch kind := kindOf(v.name); {
		case v.value == "":
		case kind == "TEXT":
			out[i] = v.value
		default:
			f, _ := strconv.ParseFloat(v.value, 64)
			out[i] = f
		}
	}
	return out
}
