// Package report writes a finished assessment in words, tables and pictures.
// It measures nothing: every figure comes from the map or the accounts, and
// is rounded here, once, for people. It only ever sees an io.Writer.
package report

import (
	"lapwing/coverage/agronomy"
	"lapwing/geo/plane"
)

// Units is the system of units a report is written in.
type Units int

// The systems of units.
const (
	US Units = iota
	Metric
)

// A Report is an assessment with how it is to be written.
type Report struct {
	*agronomy.Assessment
	Run   string // the run id that all files of one run carry
	Units Units
	// Patches smaller than MinArea, and skips nowhere wider than MinWidth, are
	// in the totals but not in the lists. Zero lists everything.
	MinArea  plane.Area
	MinWidth plane.Length
}
