package job

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/job/spec"
	"lapwing/coverage/worklog"
	"lapwing/geo/boundary"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/parallel"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// Sources are the files that a spec names, opened and read.
type Sources struct {
	references map[string]reference      // what each path of the spec means
	logs       map[string]*gnsslog.Log   // by path
	boundaries map[string]*boundary.File // by path
	sets       map[string]*taskdata.Set  // by the path of the set
}

// A reference is what a path means: a file, or a task set of ISO 11783-10, or
// with SET#ID,ID what of it, by ids of a field, a task or a device.
type reference struct {
	path  string
	ids   []string
	isSet bool
}

// referenceOf takes a path apart; a file whose name has a # in it is itself.
func (in Inputs) referenceOf(path string) reference {
	ref := reference{path: path}
	if at := strings.LastIndexByte(path, '#'); at >= 0 {
		if _, err := in.Stat(path); err != nil {
			ref.path = path[:at]
			ref.ids = strings.FieldsFunc(path[at+1:], func(c rune) bool { return c == ',' || c == ' ' })
		}
	}
	ref.isSet = in.Formats.HoldsSet(in.Files, ref.path)
	return ref
}

// IsSet reports whether a path means a task set, or a part of one.
func (in Inputs) IsSet(path string) bool { return in.referenceOf(path).isSet }

// Open reads the files that a spec names, several at a time. It reports the first
// of several wrong ones.
func Open(in Inputs, s *spec.Spec) (*Sources, error) {
	src := &Sources{references: map[string]reference{}, logs: map[string]*gnsslog.Log{},
		boundaries: map[string]*boundary.File{}, sets: map[string]*taskdata.Set{}}
	if err := src.find(in, s); err != nil {
		return nil, err
	}
	return src, src.read(in, s)
}

// find opens all files once, so that a missing one is reported before any is read.
func (src *Sources) find(in Inputs, s *spec.Spec) error {
	for _, p := range append(tracksOf(s), s.Boundary...) {
		if _, known := src.references[p.Path]; !known {
			src.references[p.Path] = in.referenceOf(p.Path)
		}
	}
	for _, m := range s.Machines {
		told := func(t spec.Path) bool { return src.references[t.Path].isSet }
		untold := func(t spec.Path) bool { return !told(t) }
		// A machine of a file may have other logs beside those of a set; in a
		// call each log may be a machine of its own.
		if m.Implement == nil && (!slices.ContainsFunc(m.Tracks, told) || s.File == "" && slices.ContainsFunc(m.Tracks, untold)) {
			return m.Missing
		}
	}
	look := func(p spec.Path, want, wantFlag string) error {
		if src.references[p.Path].isSet {
			return nil
		}
		err := in.Check(p.Path)
		switch {
		case err == nil:
			return nil
		case p.File == "":
			return &InputError{File: p.Path, Found: err.Error(), Want: wantFlag, Reason: err}
		}
		wrong := p.Wrong("found "+strconv.Quote(p.Text)+", "+err.Error(), want)
		wrong.Reason = err
		return wrong
	}
	for _, t := range tracksOf(s) {
		if err := look(t, "a log of fixes", "a log of fixes"); err != nil {
			return err
		}
	}
	for _, b := range s.Boundary {
		if err := look(b, "a boundary file, or worked", "a boundary file"); err != nil {
			return err
		}
	}
	return nil
}

// tracksOf lists the tracks of all machines.
func tracksOf(s *spec.Spec) (tracks []spec.Path) {
	for _, m := range s.Machines {
		tracks = append(tracks, m.Tracks...)
	}
	return tracks
}

// read reads all files, each once.
func (src *Sources) read(in Inputs, s *spec.Spec) error {
	var todo []func() (keep func(), err error)
	once := map[string]bool{}
	add := func(kind, path string, read func() (keep func(), err error)) {
		if !once[kind+path] {
			once[kind+path] = true
			todo = append(todo, read)
		}
	}
	addSet := func(ref reference) {
		add("set ", ref.path, func() (func(), error) {
			set, err := in.Formats.Set(in.Files, ref.path)
			return func() { src.sets[ref.path] = set }, err
		})
	}
	opt := gnsslog.Options{Zone: s.Zone, Keep: keeps(s)}
	for _, t := range tracksOf(s) {
		if ref := src.references[t.Path]; ref.isSet {
			addSet(ref)
			continue
		}
		add("log ", t.Path, func() (func(), error) {
			log, err := in.log(t.Path, opt)
			return func() { src.logs[t.Path] = log }, err
		})
	}
	for _, b := range s.Boundary {
		if ref := src.references[b.Path]; ref.isSet {
			addSet(ref)
			continue
		}
		add("boundary ", b.Path, func() (func(), error) {
			file, err := in.boundary(b.Path)
			return func() { src.boundaries[b.Path] = file }, err
		})
	}
	done, errs := make([]func(), len(todo)), make([]error, len(todo))
	parallel.Each(len(todo), func(i int) { done[i], errs[i] = todo[i]() })
	for i, err := range errs {
		if err != nil {
			return spec.AsInput(err)
		}
		done[i]()
	}
	return nil
}

// log reads one log; "-" is standard input.
func (in Inputs) log(path string, opt gnsslog.Options) (*gnsslog.Log, error) {
	f, err := in.Files.Open(path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a log of fixes", Reason: err}
	}
	defer f.Close()
	return in.Formats.Log(format.Input{Name: source.Shown(path), From: f, Beside: in.Beside(path, format.MostOfLog)}, opt)
}

// boundary reads one boundary file.
func (in Inputs) boundary(path string) (*boundary.File, error) {
	f, err := in.Files.Open(path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a boundary file", Reason: err}
	}
	defer f.Close()
	return in.Formats.Boundary(format.Input{Name: path, From: f, Beside: in.Beside(path, format.MostOfBoundary)})
}

// Found is what a file turned out to hold.
type Found struct {
	format.Found
	Name    string // of the file, as it stands in messages
	SetPath string // of a task set without the ids of what is meant of it
	IDs     []string
}

// Look reads the file at a path as what it holds. A file that cannot be opened
// gives a [source.Reason], one that is wrong a [*geo.SyntaxError].
func (in Inputs) Look(path string, opt gnsslog.Options) (Found, error) {
	out := Found{Name: source.Shown(path)}
	if ref := in.referenceOf(path); ref.isSet {
		path, out.SetPath, out.IDs = ref.path, ref.path, ref.ids
	}
	var err error
	out.Found, err = in.Formats.Look(in.Files, path, out.Name, opt)
	return out, err
}

// keeps returns what says whether a column of a plain name is to be read.
func keeps(s *spec.Spec) func(plain string) bool {
	named := map[string]bool{}
	for _, p := range s.Products {
		for _, column := range []spec.Text{p.LoggedRate, p.Column} {
			if name, _ := worklog.PlainName(column.Text); column.Given {
				named[name] = true
			}
		}
	}
	return func(plain string) bool {
		return worklog.Understood(plain) || len(s.Products) > 0 && worklog.IsRate(plain) || named[plain]
	}
}

// noJob returns the error for a file that is no job: it says what the file holds
// instead, or is err where that is unknown.
func (in Inputs) noJob(path string, err error) error {
	if !errors.Is(err, spec.ErrNoJob) || in.Once(path) {
		return err
	}
	instead := func(found, flags string) error {
		return &InputError{File: path, Found: "found " + found, Want: "a job file, or the flags " + flags}
	}
	if in.referenceOf(path).isSet {
		return instead("a task set", "--track "+path)
	}
	found, wrong := in.Look(path, gnsslog.Options{})
	switch {
	case wrong != nil:
		return err
	case found.Log != nil:
		return instead("a log of fixes ("+found.Log.Format+")", "--boundary FILE --track "+path+` --width "40 ft"`)
	}
	return instead("a boundary ("+found.Boundary.Format+")", "--boundary "+path+` --track FILE --width "40 ft"`)
}
