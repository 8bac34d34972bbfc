package propose

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/gnsslog"
	"lapwing/geo/parallel"
	"lapwing/geo/source"
)

// A Find is a file that says something of fields: a log, boundaries or a task set.
type Find struct {
	Path   string // as a job would name it from the working directory
	Format string
	Drives []*Drive // of a log or a set: what machines did
	Fields []*Field // of boundaries or a set

	called bool    // the call names it, and not a folder that it is in
	packed *packed // it is in an archive; nil where it is not
}

// mostFiles is how many files are looked at: those of a full stick, not of a disk.
const mostFiles = 20_000

// A candidate is a file to look at.
type candidate struct {
	path   string
	called bool
}

// find finds all files behind the paths of a call, and looks at each.
func (s *Season) find(paths []string) error {
	var all []candidate
	for _, p := range paths {
		for _, before := range all {
			if s.in.Abs(before.path) == s.in.Abs(p) {
				return &job.InputError{Found: fmt.Sprintf("found %s twice", source.Shown(p)), Want: "each file once"}
			}
		}
		info, err := s.in.Stat(p)
		if err != nil || !info.IsDir() {
			all = append(all, candidate{p, !s.opt.Flat})
			continue
		}
		below, err := s.walk(p)
		if err != nil {
			return err
		}
		for _, c := range below {
			if !slices.ContainsFunc(all, func(b candidate) bool { return s.in.Abs(b.path) == s.in.Abs(c.path) }) {
				all = append(all, c)
			}
		}
	}
	return s.lookAt(all)
}

// looked is what a file turned out to be: finds, or what is left of it.
type looked struct {
	finds []*Find
	left  []Left
	err   error
}

// lookAt looks at files, several at a time.
func (s *Season) lookAt(all []candidate) error {
	out := make([]looked, len(all))
	var mu sync.Mutex
	done := 0
	tell := func() {
		mu.Lock()
		defer mu.Unlock()
		if done++; s.opt.Progress != nil {
			s.opt.Progress(float64(done) / float64(len(all)))
		}
	}
	parallel.Each(len(all), func(i int) {
		if s.in.IsZip(all[i].path) {
			return // its files get places in the season, one archive after the other
		}
		out[i] = s.look(all[i])
		tell()
	})
	for i, l := range out {
		if s.in.IsZip(all[i].path) {
			l = s.unpack(all[i])
			tell()
		}
		if l.err != nil {
			return l.err
		}
		s.Finds = append(s.Finds, l.finds...)
		s.Left = append(s.Left, l.left...)
	}
	return nil
}

// walk lists the files in a folder and all below it that are worth a look. A
// folder that is a task set is one of them, and so is a shapefile with the files
// beside it.
func (s *Season) walk(dir string) (all []candidate, err error) {
	fsys, name, err := s.in.In(dir)
	if err != nil {
		return nil, &job.InputError{File: dir, Found: err.Error(), Want: "a folder"}
	}
	own := s.in.Abs(s.opt.Dir)
	pathOf := func(at string) string {
		below := strings.TrimPrefix(at, name)
		if name == "." {
			below = at
		}
		return filepath.Join(dir, filepath.FromSlash(below))
	}
	sets := map[string]bool{} // folders with a task set
	count := 0
	err = fs.WalkDir(fsys, name, func(at string, d fs.DirEntry, err error) error {
		switch {
		case err != nil && at == name:
			return &job.InputError{File: dir, Found: "a folder that cannot be read", Want: "one that can"}
		case err != nil:
			s.left(pathOf(at), "it cannot be read")
			return nil
		case at != name && (strings.HasPrefix(d.Name(), ".") || d.Name() == "__MACOSX"):
			s.Left = append(s.Left, Left{Path: pathOf(at), Why: hidden, Other: true})
			return skipped(d)
		case d.IsDir() && at == own && s.opt.Dir != "":
			return fs.SkipDir
		case d.IsDir():
			return nil
		}
		if count++; count > mostFiles {
			return &job.InputError{File: dir, Found: fmt.Sprintf("more than %d files", mostFiles), Want: "the folder of a season"}
		}
		if strings.EqualFold(d.Name(), "taskdata.xml") {
			sets[path.Dir(at)] = true
		}
		all = append(all, candidate{path: at})
		return nil
	})
	if err != nil {
		return nil, err
	}
	// A folder is called a set by its own name, unless there is another set below it.
	nested := func(folder string) bool {
		for other := range sets {
			if other != folder && (folder == "." || strings.HasPrefix(other, folder+"/")) {
				return true
			}
		}
		return false
	}
	shapes, tables := map[string]bool{}, map[string]bool{} // by their stems
	for _, c := range all {
		switch strings.ToLower(path.Ext(c.path)) {
		case ".shp":
			shapes[stemOf(c.path)] = true
		case ".csv", ".txt":
			tables[stemOf(c.path)] = true
		}
	}
	var out []candidate
	for _, c := range all {
		folder, end := path.Dir(c.path), strings.ToLower(path.Ext(c.path))
		switch {
		case sets[folder] && strings.EqualFold(path.Base(c.path), "taskdata.xml"):
			if !nested(folder) {
				c.path = folder
			}
		case sets[folder] && (end == ".xml" || end == ".bin"): // a file of the set
			continue
		case shapes[stemOf(c.path)] && slices.Contains(besideShapes, end), tables[stemOf(c.path)] && slices.Contains(besideTables, end):
			continue
		}
		out = append(out, candidate{path: pathOf(c.path)})
	}
	return out, nil
}

// hidden is why a file is left whose name says that people are not to see it.
const hidden = "hidden, not looked at"

// besideShapes are the endings of the files that belong to a shapefile.
var besideShapes = []string{".dbf", ".prj", ".shx", ".cpg", ".sbn", ".sbx", ".qpj", ".qix", ".qmd"}

// besideTables are the endings of the files that belong to a table.
var besideTables = []string{".prj", ".csvt"}

// stemOf is a name without its ending, in lower case.
func stemOf(name string) string {
	return strings.ToLower(strings.TrimSuffix(name, path.Ext(name)))
}

func skipped(d fs.DirEntry) error {
	if d.IsDir() {
		return fs.SkipDir
	}
	return nil
}

// look says what one file holds, as was found before where it has not changed since.
func (s *Season) look(c candidate) looked {
	if s.opt.Known == nil {
		return s.read(c)
	}
	sign := s.sign(c.path)
	before, is := s.opt.Known.seen(c.path, sign)
	if !is {
		before = s.read(c)
		s.opt.Known.keep(c.path, sign, before)
	}
	return before
}

// read reads what one file holds.
func (s *Season) read(c candidate) looked {
	if why := s.written(c.path); why != "" && !c.called {
		return looked{left: []Left{{Path: c.path, Why: why}}}
	}
	found, err := s.in.Look(c.path, gnsslog.Options{Zone: time.UTC, Keep: worklog.Understood})
	var unopened source.Reason
	switch {
	case c.called && errors.As(err, &unopened):
		return looked{err: &job.InputError{File: c.path, Found: err.Error(), Want: "a log or a boundary", Reason: err}}
	case c.called && err != nil:
		return looked{err: spec.AsInput(err)}
	case err != nil:
		return looked{left: []Left{{Path: c.path, Why: reasonOf(err), Other: errors.Is(err, geo.ErrFormat) || !s.usual(c.path)}}}
	}
	f := &Find{Path: c.path, called: c.called}
	switch {
	case found.Set != nil:
		f.Format = "ISO 11783-10"
		err = f.ofSet(found.SetPath, found.Set)
	case found.Log != nil:
		f.Format = found.Log.Format
		err = f.ofLog(worklog.Of(found.Name, found.Log))
	default:
		f.Format = found.Boundary.Format
		f.ofBoundary(found.Boundary)
	}
	switch {
	case c.called && err != nil:
		return looked{err: spec.AsInput(err)}
	case err != nil:
		return looked{left: []Left{{Path: c.path, Why: reasonOf(err)}}}
	}
	out := looked{finds: []*Find{f}}
	for _, field := range f.Fields {
		if field.fault != nil {
			out.left = append(out.left, Left{Path: field.Path, Why: "its boundary cannot be used: " + reasonOf(field.fault)})
		}
	}
	f.Fields = slices.DeleteFunc(f.Fields, func(g *Field) bool { return g.fault != nil })
	return out
}

// reasonOf is an error without the file that it is about.
func reasonOf(err error) string {
	var wrong *job.InputError
	if errors.As(spec.AsInput(err), &wrong) {
		bare := *wrong
		bare.File = ""
		if text := bare.Error(); wrong.Line > 0 {
			return fmt.Sprintf("line %d: %s", wrong.Line, text)
		} else {
			return text
		}
	}
	return spec.OneLine(err.Error())
}

// usual reports whether a file has an ending that files of some format have. What
// is wrong with one that has none is not worth a line.
func (s *Season) usual(p string) bool {
	name := strings.TrimSuffix(strings.ToLower(filepath.Base(p)), ".gz")
	for i := range s.in.Formats {
		if slices.Contains(s.in.Formats[i].Endings, filepath.Ext(name)) {
			return true
		}
	}
	return filepath.Ext(name) == ".zip"
}

// ours are the names of files that lapwing writes, which say of a field what was
// found on it and are none of a season's own.
var ours = []string{"coverage.geojson", "mend.geojson", "mend.gpx", "mend.kml", "season.gpkg", "season.csv", "season-machines.csv", "summary.json", "record.json"}

// written says why a file is none to look at: it is a job, or lapwing wrote it.
// "" where it is to be looked at.
func (s *Season) written(p string) string {
	base := strings.ToLower(filepath.Base(p))
	switch end := filepath.Ext(base); {
	case end != ".yaml" && end != ".yml":
	case job.LooksLikeJob(s.in, p):
		return "a job file already; season, waste and assess take it as it is"
	default:
		return "a YAML file, perhaps of an implement; jobs name it"
	}
	if !slices.Contains(ours, base) {
		return ""
	}
	f, err := s.in.Open(p)
	if err != nil {
		return ""
	}
	defer f.Close()
	head := make([]byte, 4096)
	n, _ := f.Read(head)
	if strings.Contains(string(head[:n]), "lapwing") {
		return "lapwing wrote it; what it says was found and not given"
	}
	return ""
}

// ofBoundary takes the fields of a boundary file. Those of one name are parts of
// one field, as in a job.
func (f *Find) ofBoundary(file *boundary.File) {
	ofName := map[string]*Field{}
	alone := len(file.Boundaries) == 1
	for _, b := range file.Boundaries {
		g := ofName[b.Name]
		if g == nil || b.Name == "" {
			g = &Field{Path: f.Path, Name: b.Name}
			f.Fields = append(f.Fields, g)
			if b.Name != "" {
				ofName[b.Name] = g
			}
		}
		g.parts = append(g.parts, b.Parts...)
	}
	for i, g := range f.Fields {
		g.shared, g.number = !alone && len(f.Fields) > 1, i+1
		g.lay()
	}
}
