// Package job is the door in: it reads a job file or flags, and the logs and
// boundaries they name, and gives back what coverage and agronomy need. It is
// the one source of the rule that a wrong input ends with exit status 2:
// every such failure is an [*InputError].
//
// The way of a job, one step a file:
//
//	bytes     --page.go-->     entries   YAML, with the path and line in hand
//	entries   --machine.go-->  Machine   with implement.go, product.go, working.go
//	logs      --log.go-->      gnsslog.Log, all read at once
//	columns   --column.go-->   working and State of each fix; part.go where each section has a record
//	boundary  --field.go-->    Field
package job

import (
	"fmt"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/geo/format"
	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// A Job is one field to assess, or several, read and understood.
type Job struct {
	Field coverage.Field // zero Boundary where it is to be taken from the worked ground
	// Others are fields of the same work beside Field; only where
	// Overrides.ManyFields allows them.
	Others   []coverage.Field
	Machines []coverage.Machine
	Products []agronomy.Product
	Own      []Own // the products that have a working column of their own
	Options  coverage.Options
	Warnings []coverage.Warning

	// Patches smaller than MinArea, and skips nowhere wider than MinWidth,
	// stay out of lists.
	MinArea  plane.Area
	MinWidth plane.Length

	Zone   *time.Location // for times without a zone
	Crop   *agronomy.Crop // nil where nobody said
	RainAt *time.Time     // nil where nobody said

	GNSS      GNSS
	GoingBack agronomy.GoingBack
	Switching Switching
}

// GNSS is what the job says of its receivers.
type GNSS struct {
	ShortTerm, Drift *float64 // m, one standard deviation; nil where nobody said
	Steering         Steering
}

// Steering is what the machines are steered by.
type Steering int

// What a job may say of it.
const (
	NotSaid    Steering = iota // it is told from the log
	ByReceiver                 // by the receiver that made the log
	ByOther                    // by eye, a marker, another receiver
)

// Switching is how many seconds a section would open before, and shut after,
// where nobody built it yet.
type Switching struct{ On, Off float64 }

// An InputError says that an input is wrong: where, what was found and what
// was expected. Its text is one line.
type InputError struct {
	File  string // the file, or "" for a flag
	Line  int    // 0 where there is none
	Where string // a key path such as machines[0].implement.width, a flag, a column; may be ""
	Found string // `found "50"`, "no such file", …
	Want  string // `a length such as "50 ft"`; may be ""
}

// Error is one line: file:line: where: found …, want ….
func (e *InputError) Error() string {
	s := e.Found
	if e.Where != "" {
		s = e.Where + ": " + s
	}
	switch {
	case e.File != "" && e.Line > 0:
		s = fmt.Sprintf("%s:%d: %s", e.File, e.Line, s)
	case e.File != "":
		s = e.File + ": " + s
	}
	if e.Want != "" {
		s += ", want " + e.Want
	}
	return oneLine(s)
}

// Overrides are what the command line says beside a job file, as typed; ""
// where it says nothing.
type Overrides struct {
	MinArea       string // --min-area, default 1 m²
	MinWidth      string // --min-width, default half a row spacing, else 0.1 m
	EdgeTolerance string // --edge-tolerance
	MaxGap        string // --max-gap
	// ManyFields says that a job may be about several fields.
	ManyFields bool
}

// Inputs are the files that there are, and the formats that a program reads.
type Inputs struct {
	source.Files
	Formats format.Table
}

// Flags are what the command line says instead of a job file.
type Flags struct {
	Overrides
	Boundaries []string // --boundary: files, or "worked" alone, or none
	Tracks     []string // --track
	Width      string   // --width; it or Implement is needed
	Implement  string   // --implement: a YAML file with the keys of an implement
}
