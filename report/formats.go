package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode"

	"lapwing/coverage/figure"
	"lapwing/geo"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// WriteCSV writes the table of a run as RFC 4180 has it. The first line is its
// head, the last column the run. A table without any other line says in its head
// of which run it is.
//
// Spreadsheets take a cell that begins with one of a few characters for a
// formula, whoever wrote it. A text that does is led by an apostrophe, which
// spreadsheets take for "text follows" (common practice, no source). Numbers
// stay as they are, -0.5 too, and so does a text that is nothing but a number.
// Control characters and ends of lines go.
func WriteCSV(w io.Writer, run string, lines [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	for i, line := range lines {
		cells := make([]string, len(line))
		for k, cell := range line {
			cells[k] = inert(words.Clean(cell))
		}
		if len(lines) == 1 {
			cells[len(cells)-1] += " " + run
		}
		if err := out.Write(cells); err != nil {
			return fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	out.Flush()
	return out.Error()
}

// number is a number as tables have it.
var number = regexp.MustCompile(`^[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?$`)

// inert is a cell that no spreadsheet takes for a formula. Some look past the
// blanks before it.
func inert(cell string) string {
	if text := strings.TrimLeftFunc(cell, unicode.IsSpace); text != "" && strings.ContainsRune("=+-@|＝＋－＠", []rune(text)[0]) && !number.MatchString(cell) {
		return "'" + cell
	}
	return cell
}

// NewGeoJSON begins a file of GeoJSON of a run.
func NewGeoJSON(w io.Writer, frame geo.Frame, run string) *geojson.Writer {
	return geojson.NewWriter(w, frame, func(m *geojson.Members) {
		m.Text("generator", "lapwing")
		m.Text("run", run)
	})
}

// AreaMember writes an area in m².
func AreaMember(m *geojson.Members, a plane.Area) {
	m.Append("area_m2", func(b []byte) []byte { return figure.AppendSquareMetres(b, a) })
}
