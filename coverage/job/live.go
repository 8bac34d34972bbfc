package job

import (
	"maps"
	"slices"

	"lapwing/coverage/job/spec"
	"lapwing/coverage/worklog"
	"lapwing/geo/gnsslog"
)

// A Live job is one whose machines are at work: what it names has been read, and
// logs that still grow come to it.
type Live struct {
	spec    *spec.Spec
	sources *Sources
	over    Overrides
}

// A LiveLog is a log that still grows, as it is by now.
type LiveLog struct {
	Machine string // by its name in the job
	Path    string // where the log is, as seen from the working directory
	Log     *gnsslog.Log
}

// LoadLive reads a job file and all that it names. Errors are as with [Load].
func LoadLive(in Inputs, path string, over Overrides) (*Live, error) {
	s, err := spec.Read(in.Files, path)
	if err != nil {
		return nil, in.noJob(path, err)
	}
	src, err := Open(in, s)
	if err != nil {
		return nil, err
	}
	return &Live{s, src, over}, nil
}

// With returns the job with logs added to those of its machines: the one that
// [Load] returns where they stand in the job file, after the others. The logs are not
// changed, nor are they kept.
func (l *Live) With(logs []LiveLog) (*Job, error) {
	s, src := *l.spec, *l.sources
	s.Machines = slices.Clone(s.Machines)
	src.logs, src.references = maps.Clone(src.logs), maps.Clone(src.references)
	for _, log := range logs {
		i := slices.IndexFunc(s.Machines, func(m spec.Machine) bool { return m.Name == log.Machine })
		if i < 0 {
			return nil, &InputError{File: s.File, Where: "machines", Found: "no machine " + log.Machine, Want: "one that is in the job"}
		}
		m := &s.Machines[i]
		m.Tracks = append(slices.Clone(m.Tracks), spec.Path{Place: spec.Place{File: s.File}, Text: log.Path, Path: log.Path})
		src.logs[log.Path], src.references[log.Path] = log.Log, reference{path: log.Path}
	}
	return Understand(&s, &src, l.over)
}

// Keeps says whether a column of a plain name would be read in a log of the job.
func (l *Live) Keeps(plain string) bool { return keeps(l.spec)(plain) }

// Rule is where the working state of a machine of the job comes from.
func (l *Live) Rule(machine string) worklog.Rule {
	for _, m := range l.spec.Machines {
		if m.Name == machine {
			return m.Working
		}
	}
	return worklog.Rule{}
}
