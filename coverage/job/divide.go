package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/coverage/worklog"
	"lapwing/geo"
)

// namesTask reports whether a path means tasks of a set by their ids.
func (u *understanding) namesTask(path string) bool {
	ref := u.sources.references[path]
	if !ref.isSet {
		return false
	}
	asked, err := u.sources.sets[ref.path].Choose(ref.ids)
	tasks, _, _ := asked.Names()
	return err == nil && tasks
}

// ownNames are the names that grounds bear in their files.
func ownNames(grounds []namedBoundary) map[string]bool {
	names := map[string]bool{}
	for i := range grounds {
		for _, name := range grounds[i].names {
			names[name] = true
		}
	}
	return names
}

// isOf reports whether the work in a log may be work on a ground. The log of a task
// is of the task's field, wherever its lines fall; a log that does not say where it
// is of may be of any. A task and a ground that the job both names by their ids go
// together.
func (u *understanding) isOf(by *worklog.Device, g *namedBoundary) bool {
	if by == nil {
		return true
	}
	of := by.Set.Partfield(by.Task.Partfield)
	if of == nil {
		return true
	}
	if g.set == by.Path {
		return slices.Contains(g.ids, of.ID) || u.fixed[by.Track.File] && u.namesGround(g)
	}
	// Files of their own know fields by their names only.
	return of.Name == "" || !u.fieldNames[of.Name] || slices.Contains(g.names, of.Name)
}

// namesGround reports whether the job names a ground of a task set by its id.
func (u *understanding) namesGround(g *namedBoundary) bool {
	return slices.ContainsFunc(u.spec.Boundary, func(p spec.Path) bool {
		ref := u.sources.references[p.Path]
		return ref.path == g.set && slices.ContainsFunc(g.ids, func(id string) bool { return slices.Contains(ref.ids, id) })
	})
}

// divide makes of the job one for each field and each operation there, with the
// work that is of it. A job of one stays whole, but for the work of other fields.
func (u *understanding) divide() error {
	var works []*Job
	for i := range u.job.Fields {
		of, strangers := u.operations(i)
		for _, o := range of {
			one := u.job.on(u.job.Fields[i], o.files)
			one.Warnings, one.Stated = strangers, u.stated(i, o.files)
			if len(of) > 1 {
				one.Operation = o.name
			}
			works = append(works, one)
		}
	}
	switch {
	case len(works) == 0:
		return &InputError{File: u.devices[0].Path, Found: "no task on the field", Want: "a task on it; " + logsOf(u.devices[0].Set)}
	case len(works) > 1 && !u.many:
		return u.tooMany(works)
	case len(works) == 1:
		one := works[0]
		u.warnAll(one.Warnings)
		u.job.Machines, u.job.Own, u.job.Products, u.job.Stated = one.Machines, one.Own, one.Products, one.Stated
		return nil
	}
	for _, one := range works {
		one.Warnings = slices.Concat(u.job.Warnings, one.Warnings)
	}
	u.job.works = works
	return nil
}

// operations returns what was done on a field of the job by the logs of each
// operation there, and warnings of work on it that is of other fields.
func (u *understanding) operations(i int) ([]operation, []field.Warning) {
	if len(u.devices) == 0 {
		return []operation{{}}, nil
	}
	var mine []string
	lie := map[string]int{} // stretches of work of other fields that lie here
	var names []string
	for k := range u.job.Machines {
		m := &u.job.Machines[k]
		for j := range m.Tracks {
			t := &m.Tracks[j]
			by := u.byFile[t.File]
			if u.lands == nil || u.isOf(by, &u.lands[i]) {
				mine = append(mine, t.File)
				continue
			}
			if n := track.Stretches(&u.job.Fields[i], m, t, &u.job.Options); n > 0 {
				name := fieldName(by)
				if lie[name] == 0 {
					names = append(names, name)
				}
				lie[name] += n
			}
		}
	}
	var strangers []field.Warning
	for _, name := range names {
		strangers = append(strangers, field.Warning{Count: lie[name],
			Text: "a stretch of work that lies here is of a task on " + name + "; it is left out here"})
	}
	if len(mine) == 0 {
		u.warn(field.Warning{Text: fmt.Sprintf("no task is on %q; it is left out", u.job.Fields[i].Name)})
		return nil, nil
	}
	return u.byOperation(mine), strangers
}

// fieldName is the field of a task as a reader knows it: by its name, or by its id.
func fieldName(by *worklog.Device) string {
	of := by.Set.Partfield(by.Task.Partfield)
	if of.Name != "" {
		return strconv.Quote(of.Name)
	}
	return of.ID
}

// An operation is one kind of work on a field, and the files of the logs that are of
// it; nil for all.
type operation struct {
	name  string
	files []string
}

// byOperation sorts logs by what was done. A set may say that in several ways: the first way
// that all logs have counts. Where there is none, each log counts by the first way that it
// has, and a log that has none is of the operation of the same device in other logs.
func (u *understanding) byOperation(files []string) []operation {
	said := make([][3]string, len(files))
	names := make([]string, len(files))
	for i, f := range files {
		if by := u.byFile[f]; by != nil {
			said[i] = by.Operations()
		}
		for _, name := range said[i] {
			if names[i] == "" {
				names[i] = name
			}
		}
	}
	for way := range said[0] {
		if !slices.ContainsFunc(said, func(s [3]string) bool { return s[way] == "" }) {
			for i := range names {
				names[i] = said[i][way]
			}
			break
		}
	}
	ofDevice := map[string][]string{} // what each device is known to do
	for i, f := range files {
		if name := u.byFile[f].Name(); names[i] != "" && !slices.Contains(ofDevice[name], names[i]) {
			ofDevice[name] = append(ofDevice[name], names[i])
		}
	}
	var out []operation
	for i, f := range files {
		name := names[i]
		if does := ofDevice[u.byFile[f].Name()]; name == "" && len(does) == 1 {
			name = does[0]
		}
		at := slices.IndexFunc(out, func(o operation) bool { return o.name == name })
		if at < 0 {
			at = len(out)
			out = append(out, operation{name: name})
		}
		out[at].files = append(out[at].files, f)
	}
	for i := range out {
		if out[i].name == "" {
			out[i].name = "operation not told"
		}
	}
	return out
}

// stated returns what a set says of a field of the job and of the work in some logs;
// nil where these are not all of one set, or the set does not say.
func (u *understanding) stated(field int, files []string) *Stated {
	out := &Stated{Field: math.NaN()}
	type doing struct{ task, device string }
	var done []doing
	path := ""
	for i, f := range files {
		by := u.byFile[f]
		if by == nil || i > 0 && by.Path != path {
			return nil
		}
		path = by.Path
		one := doing{by.Task.ID, by.Track.Device}
		if slices.Contains(done, one) {
			continue
		}
		done = append(done, one)
		sums := by.Set.Sums(by.Task, by.Track.Device, by.Track.Bar.Element)
		if len(done) > 1 {
			sums = out.Sums.Plus(sums)
		}
		out.Sums = sums
	}
	if len(done) == 0 {
		return nil
	}
	if u.lands != nil && u.lands[field].set == path {
		if f := u.sources.sets[path].Partfield(u.lands[field].ids[0]); f.Area > 0 {
			out.Field = f.Area
		}
	}
	if says := []float64{out.Field, out.Area, out.Distance, out.Time, out.Mass, out.Volume}; !slices.ContainsFunc(says, func(x float64) bool { return x > 0 }) {
		return nil
	}
	return out
}

// tooMany refuses operations of which one is wanted.
func (u *understanding) tooMany(works []*Job) error {
	var told []string
	first := ""
	for _, w := range works {
		by := u.byFile[w.Machines[0].Tracks[0].File]
		if by == nil {
			told = append(told, w.Operation)
			continue
		}
		told = append(told, by.Task.ID+" ("+w.Operation+")")
		if first == "" {
			first = by.Path + "#" + by.Task.ID
		}
	}
	return &InputError{File: u.devices[0].Path, Found: fmt.Sprintf("tasks of %d operations on the field, %s", len(works), geo.Listed(told, "and")),
		Want: "those of one, such as " + first}
}

// on returns the job as one of a field and the logs of some files, nil for all.
func (j *Job) on(f field.Field, files []string) *Job {
	one := *j
	one.Fields = []field.Field{f}
	if files == nil {
		return &one
	}
	one.Machines = logsOfFiles(j.Machines, files)
	one.Products, one.Own = nil, nil
	for k := range j.Products {
		p := j.Products[k]
		if len(one.Machines) < len(j.Machines) && !slices.ContainsFunc(one.Machines, func(m machine.Logged) bool { return p.CarriedBy(m.Name) }) {
			continue
		}
		for _, o := range j.Own {
			if o.Product == k {
				one.Own = append(one.Own, agronomy.Own{Product: len(one.Products), Machines: logsOfFiles(o.Machines, files)})
			}
		}
		one.Products = append(one.Products, p)
	}
	return &one
}

// logsOfFiles returns the machines that made the logs of some files, with those.
func logsOfFiles(machines []machine.Logged, files []string) (out []machine.Logged) {
	for _, m := range machines {
		m.Tracks = slices.DeleteFunc(slices.Clone(m.Tracks), func(t machine.Track) bool { return !slices.Contains(files, t.File) })
		if len(m.Tracks) > 0 {
			out = append(out, m)
		}
	}
	return out
}
