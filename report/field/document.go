package field

import (
	"io"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/words"
)

// Names of files that others read, or lead to.
const (
	GeoJSONFile = "coverage.geojson"
	PageFile    = "report.html"
	SummaryFile = "summary.json"
)

// Files are the files of a document, and Tables those for who asks for tables.
var (
	Files = report.Table[*Document]{
		{GeoJSONFile, (*Document).GeoJSON},
		{PageFile, (*Document).Page},
		{SummaryFile, (*Document).JSON},
	}
	Tables = report.Table[*Document]{
		{"products.csv", (*Document).ProductsCSV},
		{"fills.csv", (*Document).FillsCSV},
		{"times.csv", (*Document).TimesCSV},
	}
)

// A Document is the report of one field.
type Document struct {
	*assess.Assessment
	Book string // the season's page, from where this one is; "" where no season wrote it
	Mend string // the plan of the drive that mends the skips beside this page; "" where there is none
}

// JSON writes summary.json.
func (d *Document) JSON(w io.Writer) error { return d.WriteSummary(w) }

func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

func (d *Document) bothAreas(a plane.Area) words.Text {
	return d.both(func(u quantity.Units) string { return u.Area(a) })
}

func (d *Document) bothLengths(length plane.Distance) words.Text {
	return d.both(func(u quantity.Units) string { return u.Length(length) })
}
