package season

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"lapwing/geo/geopackage"
)

// GeoPackage writes all sheets into one GeoPackage at path, which SQLite
// needs to be a file: the layers fields, ground and passes, and the table
// machines. shapes opens the coverage.geojson of a sheet.
func (s *Book) GeoPackage(path string, shapes Shapes) error {
	var last time.Time // of all work: the same season gives the same bytes
	for _, sheet := range s.Sheets {
		if sheet.last.After(last) {
			last = sheet.last
		}
	}
	w, err := geopackage.Create(path, "lapwing, run "+s.run(), last)
	if err != nil {
		return err
	}
	err = s.layers(w, shapes)
	if closed := w.Close(); err == nil {
		err = closed
	}
	return err
}

func (s *Book) layers(w *geopackage.Writer, shapes Shapes) error {
	if len(s.Sheets) == 0 {
		return nil
	}
	fields := w.Layer("fields", "MULTIPOLYGON", "a boundary for each sheet, as in season.csv", columnsOf(s.fieldValues(s.Sheets[0])))
	ground := w.Layer("ground", "MULTIPOLYGON", "pieces of ground: once, overlap, skip, overreach, unlogged, headland", []geopackage.Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "kind", Kind: "TEXT"}, {Name: "number", Kind: "INTEGER"},
		{Name: "depth", Kind: "INTEGER"}, {Name: "area_m2", Kind: "REAL"}, {Name: "cause", Kind: "TEXT"}, {Name: "passes", Kind: "TEXT"}})
	passes := w.Layer("passes", "MULTILINESTRING", "the way of the bar's centre", []geopackage.Column{
		{Name: "sheet", Kind: "INTEGER"}, {Name: "field", Kind: "TEXT"}, {Name: "pass", Kind: "INTEGER"}, {Name: "machine", Kind: "TEXT"}, {Name: "operator", Kind: "TEXT"}})
	for _, sheet := range s.Sheets {
		if err := s.addSheet(sheet, shapes, fields, ground, passes); err != nil {
			return fmt.Errorf("%s: %w", sheet.Dir, err)
		}
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

func (s *Book) addSheet(sheet *Sheet, shapes Shapes, fields, ground, passes *geopackage.LayerWriter) error {
	r, err := shapes(sheet)
	if err != nil {
		return err
	}
	defer r.Close()
	var boundary shape
	err = eachShape(r, nil, func(p shape) error {
		switch p.Kind {
		case "field":
			boundary.Polygons = append(boundary.Polygons, p.Polygons...)
		case "pass":
			passes.Lines(p.Lines, sheet.Number, sheet.Name(), p.ID, p.Machine, sheet.operator(p.Machine))
		default:
			ground.Polygons(p.Polygons, sheet.Number, sheet.Name(), p.Kind, orNull(p.ID), orNull(p.Depth), p.Area, orNull(p.Cause), orNull(numbers(p.Passes)))
		}
		return nil
	})
	if err == nil && len(boundary.Polygons) > 0 {
		fields.Polygons(boundary.Polygons, typed(s.fieldValues(sheet))...)
	}
	return err
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
	case "sheet", "skips", "passes", "warnings":
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
