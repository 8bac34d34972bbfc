//go:build !js

package season

// The layers of a book are for a GeoPackage, which a page in a browser does not write.

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/report/season/shape"
)

// A Column is a column of a layer; its kind is INTEGER, REAL or TEXT, as SQL has them.
type Column struct{ Name, Kind string }

// Layers take the layers of a book, for a GIS.
type Layers interface {
	// Layer begins a layer of polygons or of lines, or with no geometry a table.
	Layer(name, geometry, about string, columns []Column) Layer
	// HasFormer reports whether there are the layers of the book as it was before, of which
	// entries that are kept can be taken.
	HasFormer() bool
}

// The geometries of layers.
const (
	OfPolygons = "MULTIPOLYGON"
	OfLines    = "MULTILINESTRING"
)

// A Layer takes features: their shape, one of the two, and a value for each column.
type Layer interface {
	Add(polygons []geo.Polygon, lines [][]geo.LonLat, values ...any)
	// Former gives the values of each feature of the layer as it was before; numbers are float64.
	Former(each func(values []any)) error
	// Take adds the features of a sheet as they were before, under another number.
	Take(was, is int)
}

// LastWork is when all work of the book was done: the same season gives the same time.
func (s *Book) LastWork() (last time.Time) {
	for _, entry := range s.Entries {
		if entry.last.After(last) {
			last = entry.last
		}
	}
	return last
}

// Note says in a line what the book was made of.
func (s *Book) Note() string {
	note := "lapwing, run " + s.run()
	if s.Source != "" {
		note += madeOf + s.Source
	}
	return note
}

const madeOf = ", made of "

// IsOfFormer reports whether a note is of the book as it was before.
func (s *Book) IsOfFormer(note string) bool {
	return s.Former != "" && strings.HasSuffix(note, madeOf+s.Former)
}

// WriteLayers gives all entries: the layers fields, ground and passes, and the table
// machines. shapes opens the coverage.geojson of an entry.
func (s *Book) WriteLayers(w Layers, shapes Shapes) error {
	if len(s.Entries) == 0 {
		return nil
	}
	fields := w.Layer("fields", OfPolygons, "a boundary for each field, as in season.csv", columnsOf(s.fieldValues(s.Entries[0])))
	ground := w.Layer("ground", OfPolygons, "pieces of ground: once, overlap, skip, overreach, unlogged, headland", []Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "kind", Kind: "TEXT"}, {Name: "number", Kind: "INTEGER"},
		{Name: "depth", Kind: "INTEGER"}, {Name: "area_m2", Kind: "REAL"}, {Name: "cause", Kind: "TEXT"}, {Name: "passes", Kind: "TEXT"}})
	passes := w.Layer("passes", OfLines, "the way of the bar's centre", []Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "pass", Kind: "INTEGER"}, {Name: "machine", Kind: "TEXT"}, {Name: "operator", Kind: "TEXT"}})
	former, err := s.formerSheets(w, fields)
	if err != nil {
		return err
	}
	rowsOf := func(i int) (r entryRows) {
		if former[s.Entries[i]] == 0 {
			r = s.rowsOf(s.Entries[i], shapes)
		}
		return r
	}
	for i, r := range parallel.Ahead(len(s.Entries), 1, rowsOf) {
		if r.err != nil {
			return fmt.Errorf("%s: %w", s.Entries[i].Dir, r.err)
		}
		if was := former[s.Entries[i]]; was != 0 {
			for _, l := range []Layer{ground, passes, fields} {
				l.Take(was, s.Entries[i].Number)
			}
			continue
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
		machines.Add(nil, nil, typed(s.machineValues(line))...)
	}
	return nil
}

// formerSheets finds the entries whose rows can be taken from the layers as they were
// before, with their sheets there: those that are kept, and of which the row in fields says
// the same but for the sheet. All that the rows of an entry hang on is in its files or in
// that row.
func (s *Book) formerSheets(w Layers, fields Layer) (map[*Entry]int, error) {
	if !w.HasFormer() {
		return nil, nil
	}
	sheets := map[string]int{}
	if err := fields.Former(func(values []any) {
		if was, ok := values[0].(float64); ok {
			sheets[fmt.Sprintf("%#v", values[1:])] = int(was)
		}
	}); err != nil {
		return nil, err
	}
	out := map[*Entry]int{}
	for _, entry := range s.Entries {
		if entry.Kept {
			out[entry] = sheets[fmt.Sprintf("%#v", typed(s.fieldValues(entry))[1:])]
		}
	}
	return out, nil
}

// entryRows are the rows of one entry in the layers.
type entryRows struct {
	fields, ground, passes rows
	err                    error
}

// rows are features of one layer, ready to be written.
type rows []row

type row struct {
	polygons []geo.Polygon
	lines    [][]geo.LonLat
	values   []any
}

func (r *rows) add(polygons []geo.Polygon, lines [][]geo.LonLat, values ...any) {
	*r = append(*r, row{polygons, lines, values})
}

func (r rows) addTo(l Layer) {
	for _, one := range r {
		l.Add(one.polygons, one.lines, one.values...)
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
	out.err = shape.Each(r, nil, func(p shape.Shape) error {
		switch p.Kind {
		case "field":
			boundary = append(boundary, p.Polygons...)
		case "pass":
			out.passes.add(nil, p.Lines, entry.Number, entry.Name(), p.ID, p.Machine, s.operator(entry, p.Machine))
		case "open", "dry": // marks for a map of the field, no ground
		default:
			out.ground.add(p.Polygons, nil, entry.Number, entry.Name(), p.Kind, orNull(p.ID), orNull(p.Depth), p.Area, orNull(p.Cause), orNull(numbers(p.Passes)))
		}
		return nil
	})
	if len(boundary) > 0 {
		out.fields.add(boundary, nil, typed(s.fieldValues(entry))...)
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

func columnsOf(values []namedValue) []Column {
	out := make([]Column, len(values))
	for i, v := range values {
		out[i] = Column{Name: v.name, Kind: kindOf(v.name)}
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
