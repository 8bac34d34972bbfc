// Package propose works out jobs from files alone: what each file is, which logs
// are of which field, and how wide the bar was. It asks nothing. What no file
// tells is an open question in the value that it returns, beside the best guess.
//
//	find.go     files -> what they are: logs, boundaries, task sets
//	archive.go  a zip archive as a folder
//	known.go    what files turned out to be, until they change
//	drive.go    a log -> what each machine did, and what it tells of the bar
//	ground.go   boundaries -> fields
//	machine.go  drives -> machines, each with its implement
//	place.go    drives -> fields, days and operations: a proposal each
//	guess.go    what is proposed, where it is from, and how sure it is
//	write.go    proposals -> job files and implement files
//	tell.go     proposals in words
//
// How passes lie on the ground, package pattern tells; where, package cell. Files are opened
// through io/fs and none is written: the caller, a command or a page, writes or shows the
// [Season].
package propose

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// Options say how to look.
type Options struct {
	// Dir is where the season's files will be written. Nothing in it is looked at,
	// and what archives hold gets its path there.
	Dir string
	// Width is the working width of all machines, such as "40 ft"; "" where the
	// files are to tell.
	Width string
	// Units are those of a width that no file tells.
	Units quantity.Units
	// Flat says that a job is a file in Dir, called after its field, and not a folder:
	// what is copied for jobs stands in folders of its own, such as [UnpackedFolder].
	Flat bool
	// Taken reports whether a name in Dir is in use, so that no job and no implement
	// gets it; nil for a new directory.
	Taken func(name string) bool
	// Known remembers what files are from one survey to the next; nil for once.
	Known *Known
	// Progress, unless nil, is told which share of the files was looked at, by one
	// goroutine at a time.
	Progress func(share float64)
}

// The folders of a flat directory: of what is copied out of archives, of boundaries, and of
// implements.
const (
	UnpackedFolder   = "unpacked"
	BoundariesFolder = "boundaries"
	MachinesFolder   = "machines" // in a directory of folders too
)

// A Season is what files tell of fields, ready to be written as jobs.
type Season struct {
	Finds     []*Find     // what the files are that say something of fields
	Proposals []*Proposal // the jobs, by name of field and then by day
	Machines  []*Machine  // all machines with an implement, in the order of the jobs
	Left      []Left      // what has no place in a job, and why
	Copies    []Copy      // files in archives that jobs name

	in   job.Inputs
	opt  Options
	open []io.Closer // archives
	// mounted are the directories of the season that archives stand at.
	mounted  map[string]bool
	archives []*packed
}

// Left is a file, or a part of one, that is in no job.
type Left struct {
	Path string
	Why  string
	// Other says that the file is of a kind that says nothing of fields, such as a
	// picture.
	Other bool
}

// A Question is what no file tells and a job needs.
type Question struct {
	Machine *Machine
	About   string // the key in the implement file: "width"
	Best    Guess  // the best guess, of which Text is "" where there is none
	Jobs    []*Proposal
}

// Look looks at files and folders, and works out the jobs they are of. A file
// given by itself that cannot be read is an error, an [*job.InputError]; one that
// lies in a folder or an archive is left, with the reason.
func Look(in job.Inputs, paths []string, opt Options) (*Season, error) {
	if opt.Width != "" {
		if _, err := spec.FlagLength("--width", opt.Width, plane.Centimetre); err != nil {
			return nil, err
		}
	}
	s, err := Survey(in, paths, opt)
	switch {
	case err != nil:
		return nil, err
	case !slices.ContainsFunc(s.Finds, func(f *Find) bool { return len(f.Drives) > 0 }):
		return nil, s.nothing("found no log")
	case len(s.Proposals) == 0:
		return nil, s.nothing("found no work to make a job of")
	}
	return s, nil
}

// Survey is [Look] where files may come that no job can be made of yet: it gives what
// they are, and as many jobs as there are, none too.
func Survey(in job.Inputs, paths []string, opt Options) (*Season, error) {
	s := &Season{in: in, opt: opt, mounted: map[string]bool{}}
	if err := s.find(paths); err != nil {
		return nil, err
	}
	opt.Known.forget()
	drives, grounds := s.drives(), s.grounds()
	machines := s.tellApart(drives)
	s.place(drives, grounds)
	s.equip(machines)
	for _, p := range s.Proposals {
		p.Rounds = s.rounds(p)
	}
	s.name()
	return s, nil
}

// Questions are what is left open, in the order of the machines.
func (s *Season) Questions() (open []Question) {
	for _, m := range s.Machines {
		for _, line := range m.Implement {
			if line.Sure == Unknown {
				q := Question{Machine: m, About: line.Key, Best: line.Guess}
				for _, p := range s.Proposals {
					if p.hasMachine(m) {
						q.Jobs = append(q.Jobs, p)
					}
				}
				open = append(open, q)
			}
		}
	}
	return open
}

// left notes that a file has no place.
func (s *Season) left(path, format string, args ...any) {
	s.Left = append(s.Left, Left{Path: s.shown(path), Why: spec.OneLine(fmt.Sprintf(format, args...))})
}

// at is a path in the season's directory; name has slashes.
func (s *Season) at(name string) string { return filepath.Join(s.opt.Dir, filepath.FromSlash(name)) }
