package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/source"
	"lapwing/geo/taskdata"
)

// A reference is what a job names of a task set of ISO 11783-10: the set, or
// with SET#ID,ID what of it, by ids of a field, a task or a device.
type reference struct {
	path string
	ids  []string
}

// referenceOf takes a path apart; a file whose name has a # in it is itself.
func (in Inputs) referenceOf(path string) reference {
	if _, err := in.Stat(path); err == nil {
		return reference{path: path}
	}
	at := strings.LastIndexByte(path, '#')
	if at < 0 {
		return reference{path: path}
	}
	ids := strings.FieldsFunc(path[at+1:], func(c rune) bool { return c == ',' || c == ' ' })
	return reference{path: path[:at], ids: ids}
}

// isSet reports whether a path of a job names a task set, or a part of one.
func (in Inputs) isSet(path string) bool {
	return path != source.Standard && in.Formats.HoldsSet(in.Files, in.referenceOf(path).path)
}

// exists says why a file cannot be opened; nil for one that can, and for a
// task set, whose folder is no file.
func (in Inputs) exists(path string) error {
	if in.isSet(path) {
		return nil
	}
	f, err := in.Open(path)
	if err == nil {
		f.Close()
	}
	return err
}

// A worker is who made a log of a task set, and on which task.
type worker struct {
	path  string // of the set
	set   *taskdata.Set
	task  *taskdata.Task
	track taskdata.Track
}

// name is what the worker's machine is called: as its device, with the id
// behind it where the set has two of the name; "" where the log names none.
func (w *worker) name() string {
	name := w.track.DeviceName
	if name == "" {
		return w.track.Device
	}
	for _, d := range w.set.Devices {
		if d.Name == name && d.ID != w.track.Device {
			return name + " (" + w.track.Device + ")"
		}
	}
	return name
}

// device names the device that made the log of a task set; "" for other logs.
func (c columns) device() string {
	if c.by == nil {
		return ""
	}
	return c.by.name()
}

// ofMachine returns the logs that a machine of the job made. Of several
// devices it is the one of its name.
func ofMachine(name string, logs []columns) ([]columns, error) {
	var devices []string
	var set *worker
	for _, c := range logs {
		if d := c.device(); d != "" && !slices.Contains(devices, d) {
			devices, set = append(devices, d), c.by
		}
	}
	if len(devices) < 2 {
		return logs, nil
	}
	var out []columns
	for _, c := range logs {
		if c.device() == "" || strings.EqualFold(c.device(), name) {
			out = append(out, c)
		}
	}
	if !slices.ContainsFunc(devices, func(d string) bool { return strings.EqualFold(d, name) }) {
		return nil, &InputError{File: set.path, Found: fmt.Sprintf("no device called %q among %d that worked, %s", name, len(devices), quotedList(devices)),
			Want: fmt.Sprintf("the name of one for the machine, or one by its id, such as %s#%s", set.path, set.track.Device)}
	}
	return out, nil
}

// set reads a task set, once.
func (r *reading) set(path string) (*taskdata.Set, error) {
	r.setsLock.Lock()
	defer r.setsLock.Unlock()
	if set := r.sets[path]; set != nil {
		return set, nil
	}
	set, err := r.Formats.Set(r.Files, path)
	if err != nil {
		return nil, asInput(err)
	}
	if r.sets == nil {
		r.sets = map[string]*taskdata.Set{}
	}
	r.sets[path] = set
	return set, nil
}

// noteSet passes on, once, what the reader of a set doubted.
func (r *reading) noteSet(path string) {
	path = r.referenceOf(path).path
	if slices.Contains(r.noted, path) {
		return
	}
	r.noted = append(r.noted, path)
	for _, n := range r.sets[path].Notes {
		r.warn(coverage.Warning{File: n.File, Line: n.Line, Count: n.Count, Text: n.Text})
	}
}

// setLogs returns the logs that a path names of a task set.
func (r *reading) setLogs(path string) ([]columns, error) {
	ref := r.referenceOf(path)
	set, err := r.set(ref.path)
	if err != nil {
		return nil, err
	}
	tasks, err := r.tasksOf(ref, set)
	if err != nil {
		return nil, err
	}
	var out []columns
	for _, task := range tasks {
		tracks := set.Tracks(task, r.job.Zone)
		for len(tracks) > 0 {
			n := 1
			for n < len(tracks) && tracks[n].Log == tracks[0].Log {
				n++
			}
			if c, ok := oneOf(ref, set, tracks[:n]); ok {
				c.by.task = task
				out = append(out, c)
			}
			tracks = tracks[n:]
		}
	}
	if len(out) == 0 {
		return nil, &InputError{File: ref.path, Found: "no log of what is asked for", Want: "a task with a log; " + logsOf(set)}
	}
	return out, nil
}

// oneOf chooses the device of a log, of several that it tells of. They hang on
// one tractor: counted side by side, all ground would count as worked twice.
func oneOf(ref reference, set *taskdata.Set, tracks []taskdata.Track) (columns, bool) {
	named := func(t taskdata.Track) bool { return slices.Contains(ref.ids, t.Device) }
	asked := slices.ContainsFunc(ref.ids, func(id string) bool { return set.Device(id) != nil })
	if asked {
		tracks = slices.DeleteFunc(slices.Clone(tracks), func(t taskdata.Track) bool { return !named(t) })
	}
	if len(tracks) == 0 {
		return columns{}, false
	}
	best := 0
	for i := range tracks {
		if detail(&tracks[i]) > detail(&tracks[best]) {
			best = i
		}
	}
	c := columnsOfTrack(&tracks[best])
	c.by = &worker{path: ref.path, set: set, track: tracks[best]}
	c.addRates()
	for i, t := range tracks {
		if i != best {
			c.log.Notes = append(c.log.Notes, geo.Note{Text: fmt.Sprintf(
				"the log tells of device %s too; it is left out, since both would work the same ground; %s#%s takes it instead", t.Device, ref.path, t.Device)})
		}
	}
	return c, true
}

// detail is how much a track tells of the ground that was worked.
func detail(t *taskdata.Track) int {
	score := 0
	for i, told := range []bool{t.Working != nil, t.Bar.Width > 0, len(t.Bar.Sections) > 0, t.State != nil} {
		if told {
			score |= 1 << i
		}
	}
	return score
}

// tasksOf returns the tasks of a set that a reference means.
func (r *reading) tasksOf(ref reference, set *taskdata.Set) ([]*taskdata.Task, error) {
	field, task := "", ""
	for _, id := range ref.ids {
		switch {
		case set.Task(id) != nil:
			task = id
		case set.Partfield(id) != nil:
			field = id
		case set.Device(id) == nil:
			return nil, &InputError{File: ref.path, Found: fmt.Sprintf("no field, task or device %q in the set", id), Want: "one of " + idsOf(set)}
		}
	}
	var tasks []*taskdata.Task
	var fields []string
	for i := range set.Tasks {
		t := &set.Tasks[i]
		if len(t.Logs) == 0 || task != "" && t.ID != task || field != "" && t.Partfield != field {
			continue
		}
		tasks = append(tasks, t)
		if !slices.Contains(fields, t.Partfield) {
			fields = append(fields, t.Partfield)
		}
	}
	if len(fields) < 2 {
		return tasks, nil
	}
	wanted, any := r.wantedField(ref, set)
	if any {
		return tasks, nil
	}
	if wanted == "" {
		return nil, &InputError{File: ref.path, Found: fmt.Sprintf("tasks with logs on %d fields", len(fields)),
			Want: fmt.Sprintf("one of them, such as %s#%s; %s", ref.path, fields[0], logsOf(set))}
	}
	return slices.DeleteFunc(tasks, func(t *taskdata.Task) bool { return t.Partfield != wanted }), nil
}

// wantedField returns the id of the field that the job is about, where it is
// one of the set; any says that its ground comes from elsewhere, so that all
// tasks may be of use.
func (r *reading) wantedField(ref reference, set *taskdata.Set) (id string, any bool) {
	ground := r.referenceOf(r.ground)
	if r.many && r.fieldName == "" && (len(r.more) > 0 || r.ground == "" || ground.path == ref.path && len(ground.ids) == 0) {
		return "", true
	}
	if ground.path == ref.path {
		for _, one := range ground.ids {
			if set.Partfield(one) != nil {
				return one, false
			}
		}
	} else if r.ground != "" && r.ground != worked {
		return "", true
	}
	named := 0
	for i := range set.Partfields {
		if f := &set.Partfields[i]; f.Name == r.fieldName && f.Name != "" {
			id = f.ID
			named++
		}
	}
	if named != 1 {
		return "", false
	}
	return id, false
}

// taskGround returns the reference of the field on which the tasks of the
// job's logs were done; "" where there is no such field with a boundary.
func (r *reading) taskGround() string {
	var field *taskdata.Partfield
	path := ""
	for _, w := range r.workers {
		f := w.set.Partfield(w.task.Partfield)
		if f == nil || field != nil && f != field {
			return ""
		}
		field, path = f, w.path
	}
	if field == nil || len(field.Boundary) == 0 {
		return ""
	}
	return path + "#" + field.ID
}

// taskGrounds returns the path of the set of whose fields the job's tasks were
// done; "" where they are of more than one set, or of none.
func (r *reading) taskGrounds() string {
	path := ""
	for _, w := range r.workers {
		if path != "" && w.path != path {
			return ""
		}
		path = w.path
	}
	return path
}

// setBoundaries returns the boundaries that a reference means, as if they were
// those of a file.
func (r *reading) setBoundaries(ref reference) (*boundary.File, error) {
	set, err := r.set(ref.path)
	if err != nil {
		return nil, err
	}
	file := &boundary.File{Format: formatOf(set)}
	for _, id := range ref.ids {
		if set.Partfield(id) == nil {
			return nil, &InputError{File: ref.path, Found: fmt.Sprintf("no field %q in the set", id), Want: "one of " + fieldsOf(set)}
		}
	}
	for i := range set.Partfields {
		f := &set.Partfields[i]
		asked := slices.Contains(ref.ids, f.ID)
		switch {
		case len(ref.ids) > 0 && !asked:
		case f.Fault != nil && asked:
			return nil, asInput(f.Fault)
		case len(f.Boundary) == 0 && asked:
			return nil, &InputError{File: ref.path, Found: "field " + strconv.Quote(f.ID) + " has no boundary", Want: "one that has, or a boundary file"}
		case len(f.Boundary) > 0:
			file.Boundaries = append(file.Boundaries, boundary.Boundary{Name: f.Name, Parts: f.Boundary})
		}
	}
	if len(file.Boundaries) == 0 {
		return nil, &InputError{File: ref.path, Found: "no field with a boundary in the set", Want: "one, or a boundary file"}
	}
	return file, nil
}

// formatOf is what kind of file a set is.
func formatOf(set *taskdata.Set) string {
	if set.Version == "" {
		return "ISO 11783-10"
	}
	return "ISO 11783-10 version " + set.Version
}

// idsOf lists what a reference can name.
func idsOf(set *taskdata.Set) string {
	var ids []string
	for _, f := range set.Partfields {
		ids = append(ids, f.ID)
	}
	for _, t := range set.Tasks {
		ids = append(ids, t.ID)
	}
	for _, d := range set.Devices {
		ids = append(ids, d.ID)
	}
	return quotedList(ids)
}

// fieldsOf lists the fields of a set that have a boundary.
func fieldsOf(set *taskdata.Set) string {
	var ids []string
	for _, f := range set.Partfields {
		if len(f.Boundary) > 0 {
			ids = append(ids, f.ID)
		}
	}
	return quotedList(ids)
}

// logsOf lists the tasks of a set that have logs, and their fields.
func logsOf(set *taskdata.Set) string {
	var tasks []string
	for _, t := range set.Tasks {
		if len(t.Logs) == 0 {
			continue
		}
		text := t.ID
		if f := set.Partfield(t.Partfield); f != nil && f.Name != "" {
			text += " on " + f.ID + " " + strconv.Quote(f.Name)
		} else if t.Partfield != "" {
			text += " on " + t.Partfield
		}
		if tasks = append(tasks, text); len(tasks) == 10 {
			break
		}
	}
	if len(tasks) == 0 {
		return "the set has none"
	}
	return "the set has logs of " + listed(tasks)
}
