// Package job reads all input: a job file or the flags of a command, and the logs
// and boundaries that they name. It makes of them what coverage and agronomy need,
// in three steps, each with a type of its own:
//
//	spec.Spec  what is written   package spec; flags.go for a call
//	Sources    what is opened    sources.go: logs, boundaries, task sets
//	Job        what is meant     understand.go
//
// What is meant:
//
//	understand.go  the flow
//	machine.go     whose fixes are in which log
//	implement.go   the bar, where a task set tells of it
//	rate.go        which column of what was put down is of which product
//	own.go         products with ground of their own
//	field.go       boundaries, of files and of task sets
//	taskset.go     which tasks of a set are meant
//	divide.go      whose ground a task's work is: one job each for a field and an operation
//
// It is the one source of the rule that a wrong input ends with exit status 2:
// every such failure is an [*InputError].
package job

import (
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/whatif"
	"lapwing/geo/format"
	"lapwing/geo/plane"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// A Job is work to assess, read and understood: the fields it was on, and the
// machines that did it.
type Job struct {
	// Fields are the fields to assess, one at least; several only where
	// Overrides.ManyFields allows them. The boundary of one may be left to be
	// taken from the worked ground.
	Fields []field.Field
	// Operation is what was done there, as a task set calls it; "" where no more
	// than one operation was.
	Operation string
	Machines  []machine.Logged
	Products  []agronomy.Product
	Own       []agronomy.Own // the products that have a working column of their own
	Options   field.Options
	Warnings  []field.Warning

	// Patches smaller than MinArea, and skips nowhere wider than MinWidth,
	// stay out of lists.
	MinArea  plane.Area
	MinWidth plane.Length

	Zone   *time.Location // for times without a zone
	Crop   *agronomy.Crop // nil if not given
	RainAt *time.Time     // nil if not given

	// Stated is what the task set itself says of the field and of the work; nil
	// where the work is not all of one set.
	Stated *Stated

	GNSS      spec.GNSS
	GoingBack agronomy.GoingBack
	Switching whatif.Switching

	works []*Job // what is to be assessed by itself; nil for the job as it is
}

// Stated is what a task set itself says: NaN for what it does not say.
type Stated struct {
	Field float64 // m²
	taskdata.Sums
}

// Works returns the jobs that this one is made of, each of one field and of one
// operation there. Their warnings begin with those of all.
func (j *Job) Works() []*Job {
	if j.works == nil {
		return []*Job{j}
	}
	return j.works
}

// An InputError says that an input is wrong. Package spec and all packages above this one
// fail with it, so that their callers need to know one type.
type InputError = spec.InputError

// Inputs are the files that there are, and the formats that a program reads.
type Inputs struct {
	source.Files
	Formats format.Table
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

// Flags are what the command line says instead of a job file.
type Flags struct {
	Overrides
	Boundaries []string // --boundary: files, or "worked" alone, or none
	Tracks     []string // --track
	Width      string   // --width; it or Implement is needed
	Implement  string   // --implement: a YAML file with the keys of an implement
}

// Load reads a job file and all that it names. What is wrong in any of them
// is an [*InputError]; any other error is one of the machine this runs on.
func Load(in Inputs, path string, over Overrides) (*Job, error) {
	s, err := spec.Read(in.Files, path) // what is written
	if err != nil {
		return nil, in.noJob(path, err)
	}
	return fromSpec(in, s, over)
}

// Check says what is wrong with a job file that can be told without reading the logs and
// boundaries that it names: they are opened, and no more. It returns what is written.
// Errors are as with [Load].
func Check(in Inputs, path string) (*spec.Spec, error) {
	s, err := spec.Read(in.Files, path)
	if err != nil {
		return nil, in.noJob(path, err)
	}
	src := &Sources{references: map[string]reference{}}
	return s, src.find(in, s)
}

// FromFlags reads a job that the command line gives without a job file. Errors
// are as with [Load].
func FromFlags(in Inputs, f Flags) (*Job, error) {
	s, err := f.Spec(in)
	if err != nil {
		return nil, err
	}
	return fromSpec(in, s, f.Overrides)
}

func fromSpec(in Inputs, s *spec.Spec, over Overrides) (*Job, error) {
	sources, err := Open(in, s) // what is opened
	if err != nil {
		return nil, err
	}
	return Understand(s, sources, over) // what is meant
}
