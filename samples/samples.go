// Package samples carries the sample jobs inside the program, so that it can
// show what it does on a machine that has nothing else.
package samples

import "embed"

// Files holds the jobs, each in a directory of its own with the files it
// names.
//
//go:embed */job.yaml */*.csv */*.geojson */about.md
var Files embed.FS
