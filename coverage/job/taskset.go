package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/taskdata"
)

// ofMachine returns the logs that a machine of the job made. Of several
// devices it is the one of its name.
func ofMachine(name string, logs []worklog.Log) ([]worklog.Log, error) {
	var devices []string
	var of *worklog.Device
	for _, l := range logs {
		if d := l.By.Name(); d != "" && !slices.Contains(devices, d) {
			devices, of = append(devices, d), l.By
		}
	}
	if len(devices) < 2 {
		return logs, nil
	}
	var out []worklog.Log
	for _, l := range logs {
		if l.By.Name() == "" || strings.EqualFold(l.By.Name(), name) {
			out = append(out, l)
		}
	}
	if !slices.ContainsFunc(devices, func(d string) bool { return strings.EqualFold(d, name) }) {
		return nil, &InputError{File: of.Path, Found: fmt.Sprintf("no device called %q among %d that worked, %s", name, len(devices), geo.Quoted(devices)),
			Want: fmt.Sprintf("the name of one for the machine, or one by its id, such as %s#%s", of.Path, of.Track.Device)}
	}
	return out, nil
}

// noteSet passes on, once, the notes of the reader of the set at a path.
func (u *understanding) noteSet(path string) {
	if slices.Contains(u.noted, path) {
		return
	}
	u.noted = append(u.noted, path)
	u.warnAll(worklog.Noted(path, u.sources.sets[path].Notes))
}

// setLogs returns the logs that a reference means of a task set.
func (u *understanding) setLogs(ref reference) (logs []worklog.Log, err error) {
	set := u.sources.sets[ref.path]
	tasks, err := u.tasksOf(ref, set)
	if err != nil {
		return nil, err
	}
	for _, task := range tasks {
		logs = append(logs, worklog.OfTask(ref.path, set, task, ref.ids, u.spec.Zone)...)
	}
	if len(logs) == 0 {
		return nil, &InputError{File: ref.path, Found: "no log of what is asked for", Want: "a task with a log; " + logsOf(set)}
	}
	return logs, nil
}

// tasksOf returns the tasks of a set that a reference means.
func (u *understanding) tasksOf(ref reference, set *taskdata.Set) ([]*taskdata.Task, error) {
	asked, err := set.Choose(ref.ids)
	if err != nil {
		return nil, &InputError{File: ref.path, Found: err.Error(), Want: "one of " + IDsOf(set)}
	}
	var tasks []*taskdata.Task
	var fields []string
	for i := range set.Tasks {
		t := &set.Tasks[i]
		if len(t.Logs) == 0 || !asked.Task(t) {
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
	byID, _, _ := asked.Names()
	wanted, any := u.wantedFields(ref, set)
	if any || byID && len(wanted) > 0 {
		return tasks, nil
	}
	if len(wanted) == 0 {
		return nil, &InputError{File: ref.path, Found: fmt.Sprintf("tasks with logs on %d fields", len(fields)),
			Want: fmt.Sprintf("one of them, such as %s#%s; %s", ref.path, fields[0], logsOf(set))}
	}
	return slices.DeleteFunc(tasks, func(t *taskdata.Task) bool { return !slices.Contains(wanted, t.Partfield) }), nil
}

// wantedFields returns the ids of the fields that the job is about, where they are
// of the set; any says that its ground comes from elsewhere, or is that of all
// tasks, so that all tasks may be of use.
func (u *understanding) wantedFields(ref reference, set *taskdata.Set) (ids []string, any bool) {
	ground, given := u.ground()
	whole := !given && !u.spec.Worked || given && ground.path == ref.path && len(ground.ids) == 0
	if u.many && u.spec.Field == "" && (len(u.spec.Boundary) > 1 || whole) {
		return nil, true
	}
	if given && ground.path == ref.path {
		for _, one := range ground.ids {
			if set.Partfield(one) != nil {
				ids = append(ids, one)
			}
		}
		if len(ids) > 0 {
			return ids, false
		}
	} else if given {
		return nil, true
	}
	for i := range set.Partfields {
		if f := &set.Partfields[i]; f.Name == u.spec.Field && f.Name != "" {
			ids = append(ids, f.ID)
		}
	}
	if len(ids) != 1 {
		return nil, false
	}
	return ids, false
}

// ground is what the first boundary of the job means; given is false where it
// names no file.
func (u *understanding) ground() (ref reference, given bool) {
	if len(u.spec.Boundary) == 0 {
		return reference{}, false
	}
	return u.sources.references[u.spec.Boundary[0].Path], true
}

// taskField returns the field on which the tasks of the job's logs were done,
// and the path of its set; nil where there is no one such field with a boundary.
func (u *understanding) taskField() (field *taskdata.Partfield, path string) {
	for _, d := range u.devices {
		f := d.Set.Partfield(d.Task.Partfield)
		if f == nil || field != nil && f != field {
			return nil, ""
		}
		field, path = f, d.Path
	}
	if field == nil || len(field.Boundary) == 0 {
		return nil, ""
	}
	return field, path
}

// taskSet returns the path of the set of whose fields the job's tasks were
// done; "" where they are of more than one set, or of none.
func (u *understanding) taskSet() (path string) {
	for _, d := range u.devices {
		if path != "" && d.Path != path {
			return ""
		}
		path = d.Path
	}
	return path
}

// setGrounds returns the boundaries that a reference means of a task set, and the
// ids of their fields.
func setGrounds(ref reference, set *taskdata.Set) (out []boundary.Boundary, ids []string, err error) {
	for _, id := range ref.ids {
		if set.Partfield(id) == nil {
			return nil, nil, &InputError{File: ref.path, Found: fmt.Sprintf("no field %q in the set", id), Want: "one of " + fieldsOf(set)}
		}
	}
	for i := range set.Partfields {
		f := &set.Partfields[i]
		asked := slices.Contains(ref.ids, f.ID)
		switch {
		case len(ref.ids) > 0 && !asked:
		case f.Fault != nil && asked:
			return nil, nil, f.Fault
		case len(f.Boundary) == 0 && asked:
			return nil, nil, &InputError{File: ref.path, Found: "field " + strconv.Quote(f.ID) + " has no boundary", Want: "one that has, or a boundary file"}
		case len(f.Boundary) > 0:
			out, ids = append(out, boundary.Boundary{Name: f.Name, Parts: f.Boundary}), append(ids, f.ID)
		}
	}
	if len(out) == 0 {
		return nil, nil, &InputError{File: ref.path, Found: "no field with a boundary in the set", Want: "one, or a boundary file"}
	}
	return out, ids, nil
}

// IDsOf lists what a reference can name.
func IDsOf(set *taskdata.Set) string {
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
	return geo.Quoted(ids)
}

// fieldsOf lists the fields of a set that have a boundary.
func fieldsOf(set *taskdata.Set) string {
	var ids []string
	for _, f := range set.Partfields {
		if len(f.Boundary) > 0 {
			ids = append(ids, f.ID)
		}
	}
	return geo.Quoted(ids)
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
	return "the set has logs of " + geo.Listed(tasks, "and")
}
