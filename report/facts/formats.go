package facts

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lapwing/geo/format"
)

// A formatRow is a format as people are told of it.
type formatRow struct{ name, files, tracks, boundaries string }

// rowsOf are the formats of a table as people are told of them.
func rowsOf(table format.Table) (rows []formatRow) {
	for _, f := range table {
		row := formatRow{name: f.Name, files: strings.Join(f.Endings, ", ")}
		if f.Files != "" {
			row.files += ": " + f.Files
		}
		if f.HoldsFixes() {
			row.tracks = "yes"
			if f.FixesFrom != "" {
				row.tracks = f.FixesFrom
			}
		}
		if f.HoldsBoundaries() {
			row.boundaries = "yes"
		}
		rows = append(rows, row)
	}
	return rows
}

// Formats tells of the formats of a table in the help of a command, one a line.
func Formats(table format.Table) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, row := range rowsOf(table) {
		holds := "tracks"
		switch {
		case row.tracks == "":
			holds = "boundaries"
		case row.boundaries != "":
			holds = "tracks, boundaries"
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\n", row.name, holds, row.files)
	}
	w.Flush() // into memory
	return strings.TrimSuffix(b.String(), "\n")
}
