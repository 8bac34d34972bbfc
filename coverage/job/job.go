// Package job is the door in: it reads a job file or flags, and the logs and
// boundaries they name, and gives back what coverage and agronomy need. It is
// the one source of the rule that a wrong input ends with exit status 2:
// every such failure is an [*InputError].
package job

import (
	"lapwing/coverage"
	"lapwing/coverage/agronomy"
)

// A Job is one field to assess, read and understood.
type Job struct {
	Field    coverage.Field // zero Boundary where it is to be taken from the worked ground
	Machines []coverage.Machine
	Products []agronomy.Product
	Options  coverage.Options
	Warnings []coverage.Warning
}

// An InputError says that an input is wrong: where, what was found and what
// was expected. Its text is one line.
type InputError struct {
	File  string // the file, or "" for a flag
	Line  int    // 0 where there is none
	Where string // a key path such as machines[0].implement.width, a flag, a column; may be ""
	Found string // `found "50"`, "no such file", …
	Want  string // `a length such as "50 ft"`; may be ""
}
