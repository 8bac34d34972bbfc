package report

import (
	"encoding/csv"
	"io"

	"lapwing/coverage/assess"
	"lapwing/geo"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
)

// WriteCSV writes lines as RFC 4180 has them.
func WriteCSV(w io.Writer, lines [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	return out.WriteAll(lines)
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
	m.Append("area_m2", func(b []byte) []byte { return assess.AppendSquareMetres(b, a) })
}
