package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lapwing/cmd/lapwing/disk"
)

// A formatRow is a format as people are told of it.
type formatRow struct{ name, files, tracks, boundaries string }

// formatRows are the formats as people are told of them, here and in README.
func formatRows() (rows []formatRow) {
	for _, f := range disk.Formats {
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

// formatList tells of the formats in the help of a command.
func formatList() string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, row := range formatRows() {
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
