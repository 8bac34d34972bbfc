package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/coverage/job/spec"
	"lapwing/report/desk/asked"
	"lapwing/report/desk/history"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/store"
)

// said is the comment of a value that a person gave.
const said = "Said on the desk."

// take writes an answer into the file that it belongs to.
func (a *ask) take(m message) error {
	set := m.Set
	if m.Key != "" {
		set = map[string]string{m.Key: m.Value}
	}
	if len(set) == 0 || len(set) > 50 {
		return wrong("found no key", `one such as {"do": "answer", "machine": "machines/drill.yaml", "key": "width", "value": "40 ft"}`)
	}
	if units, ok := set["units"]; ok && m.Job == "" && m.Machine == "" {
		if units != "us" && units != "metric" {
			return wrong("found units "+quoted(units), "us or metric")
		}
		a.book.Units = units
		return a.commit(history.Change{What: "the units"})
	}
	switch {
	case m.Machine != "":
		return a.takeMachine(m.Machine, set)
	case m.Job != "":
		c := history.Change{}
		if err := a.takeJob(&c, m.Job, set); err != nil {
			return err
		}
		return a.commit(c)
	case m.All:
		return a.takeAll(set)
	}
	return wrong("found an answer without a job or a machine", "the path of one")
}

// takeAll writes an answer into all jobs that ask for it.
func (a *ask) takeAll(set map[string]string) error {
	jobs, err := a.jobFiles()
	if err != nil {
		return err
	}
	c := history.Change{}
	for _, j := range jobs {
		if j.Err != nil {
			continue
		}
		asks := a.jobQuestions(j, nil, nil)
		for key, value := range set {
			if slices.ContainsFunc(asks, func(q *asked.Question) bool { return q.Key == key }) {
				if err := a.takeJob(&c, j.Path, map[string]string{key: value}); err != nil {
					return err
				}
			}
		}
	}
	if len(c.Put) > 1 {
		c.What = fmt.Sprintf("%s of %d jobs", strings.Join(slices.Sorted(maps.Keys(set)), ", "), len(c.Put))
	}
	return a.commit(c)
}

// takeMachine writes answers into an implement file.
func (a *ask) takeMachine(name string, set map[string]string) error {
	text, err := a.readText(name)
	if err != nil || !jobfile.IsYAML(name) || job.LooksLikeJob(a.in, name) {
		return wrong("found no implement file "+quoted(name), "the path of one")
	}
	f, err := edit.Parse(text)
	if err != nil {
		return &job.InputError{File: name, Found: err.Error(), Want: "an implement file"}
	}
	before := a.wrongImplement(name, text)
	for _, key := range slices.Sorted(maps.Keys(set)) {
		if err := setOrRemove(f, name, key, set[key]); err != nil {
			return err
		}
	}
	if set["mount"] == "towed" && !f.Has("hitch_to_bar") {
		// A towed bar needs one; 9 m is that of no machine in particular.
		if err := f.Set("hitch_to_bar", "9 m", edit.Guess+" not told yet; measure from the hitch pin to the openers."); err != nil {
			return unfit(name, err)
		}
		if f.Value("antenna_to_hitch") == "0 m" && set["antenna_to_hitch"] == "" {
			if err := f.Set("antenna_to_hitch", "2 m", edit.Guess+" not told yet; from the antenna back to the hitch pin."); err != nil {
				return unfit(name, err)
			}
		}
	}
	if err := a.wrongImplement(name, f.Text()); err != nil && !sameFault(err, before) {
		return err
	}
	c := history.Change{What: a.whatOf(set, f.Value("name"))}
	c.Set(name, f.Text())
	return a.commit(c)
}

// whatOf says in words what an answer is about.
func (a *ask) whatOf(set map[string]string, of string) string {
	keys := slices.Sorted(maps.Keys(set))
	for i := range keys {
		keys[i] = strings.ReplaceAll(keys[i], "_", " ")
	}
	what := "the answer for " + strings.Join(keys, ", ")
	if of != "" {
		what += " of " + of
	}
	return spec.OneLine(what)
}

// setOrRemove gives a key a value, or takes it out where the value is none.
func setOrRemove(f *edit.File, file, key, value string) error {
	var err error
	switch {
	case strings.TrimSpace(value) == "" && f.Has(key):
		err = f.Remove(key)
	case strings.TrimSpace(value) == "":
	default:
		err = f.Set(key, value, said)
	}
	return unfit(file, err)
}

// unfit is the error for a file that cannot be changed; nil for none.
func unfit(file string, err error) error {
	if err == nil {
		return nil
	}
	return &job.InputError{File: file, Found: err.Error(), Want: "the change made by hand"}
}

// takeJob writes answers into a job file.
func (a *ask) takeJob(c *history.Change, name string, set map[string]string) error {
	j, err := a.jobAt(name)
	if err != nil {
		return err
	}
	if text, ok := c.Put[name]; ok { // changed already by this message
		if j.Text, err = edit.Parse(text); err != nil {
			return err
		}
	}
	before := a.wrongJob(name, j.Text.Text())
	for _, key := range slices.Sorted(maps.Keys(set)) {
		value := set[key]
		id := name + " " + key
		switch {
		case key == "products" && strings.TrimSpace(value) == "none", key == "boundary" && value == "worked":
			a.book.Answered[id] = value
			if key == "boundary" && len(j.Ground) > 0 {
				err = j.Text.Set(key, value, said)
			}
		case key == "products":
			err = addProducts(j.Text, value)
		case key == "boundary":
			if !a.opens(value) {
				return wrong("found no boundary file "+quoted(value), "one of the desk")
			}
			err = j.Text.Set(key, from(name, value), said)
		default:
			err = setOrRemove(j.Text, name, key, value)
		}
		if err != nil {
			return unfit(name, err)
		}
	}
	if err := a.wrongJob(name, j.Text.Text()); err != nil && !sameFault(err, before) {
		return err
	}
	c.What = a.whatOf(set, j.Name())
	c.Set(name, j.Text.Text())
	return nil
}

// addProducts adds one product in brackets, or a list of them.
func addProducts(f *edit.File, value string) error {
	one, err := edit.Parse([]byte("v: " + strings.TrimSpace(value)))
	if err != nil || strings.ContainsAny(value, "\r\n") {
		return errors.New("no product such as {name: seed, rate: 90 lb/ac}")
	}
	if one.IsMapping("v") {
		return f.Add("products", value, "")
	}
	if one.Len("v") == 0 || !one.IsMapping("v.0") {
		return errors.New("no product such as {name: seed, rate: 90 lb/ac}")
	}
	if f.Has("products") {
		return f.Set("products", value, "")
	}
	return f.Set("products", value, said)
}

// from is the path of a file of the desk as a job names it.
func from(jobPath, name string) string {
	return strings.Repeat("../", strings.Count(jobPath, "/")) + name
}

func (a *ask) modified(name string) (at time.Time) {
	if info, err := fs.Stat(a.store, name); err == nil {
		return info.ModTime()
	}
	return at
}

// with are the inputs with one file changed.
func (a *ask) with(name string, text []byte) job.Inputs {
	in := a.in
	in.FS = store.Change(a.files(), name, text, a.modified(name))
	return in
}

// wrongJob is what is wrong in a job file by itself; what is wrong in others that it
// names is theirs.
func (a *ask) wrongJob(name string, text []byte) error {
	_, err := spec.Read(a.with(name, text).Files, name)
	var wrong *job.InputError
	if errors.As(err, &wrong) && wrong.File != name {
		return nil
	}
	return err
}

// wrongImplement is what is wrong in an implement file.
func (a *ask) wrongImplement(name string, text []byte) error {
	_, _, err := spec.ReadImplement(a.with(name, text).Files, name)
	return err
}

// sameFault reports whether two errors tell the same of one key.
func sameFault(a, b error) bool {
	var x, y *job.InputError
	return errors.As(a, &x) && errors.As(b, &y) && x.Where == y.Where && x.Found == y.Found
}

// placeLog puts a log to the job that a person says, or to none.
func (a *ask) placeLog(log, to string) error {
	if set, _, _ := strings.Cut(log, "#"); !a.opens(log) && !a.opens(set) {
		return wrong("found no log "+quoted(log), "one of the desk")
	}
	jobs, err := a.jobFiles()
	if err != nil {
		return err
	}
	c := history.Change{What: "the place of " + path.Base(log)}
	there := false
	for _, j := range jobs {
		if j.Err != nil {
			continue
		}
		is := slices.Contains(j.Tracks(), log)
		there = there || is && j.Path == to
		if is && j.Path != to {
			if err := a.takeOut(&c, j, log); err != nil {
				return err
			}
		}
	}
	if to != "" && !there {
		j, err := a.jobAt(to)
		if err != nil {
			return err
		}
		if len(j.Machines) == 0 {
			return wrong("found a job without a machine", "one with a machine that drove the log")
		}
		if err := j.Text.Add("machines."+strconv.Itoa(a.likeliest(j, log))+".tracks", from(to, log), "Put here on the desk."); err != nil {
			return unfit(to, err)
		}
		c.Set(to, j.Text.Text())
	}
	a.book.Placed[log] = to
	return a.commit(c)
}

// opens reports whether a name is that of a file of the desk that can be opened, or of a
// folder.
func (a *ask) opens(name string) bool {
	info, err := a.in.Stat(name)
	return err == nil && fs.ValidPath(name) && (info.IsDir() || a.in.Check(name) == nil)
}

// likeliest is the machine of a job that a log is most likely of: one with a log from
// the same folder, else the first.
func (a *ask) likeliest(j *jobfile.File, log string) int {
	for i, m := range j.Machines {
		if slices.ContainsFunc(m.Tracks, func(t string) bool { return path.Dir(t) == path.Dir(log) }) {
			return i
		}
	}
	return 0
}

// takeOut takes a log out of a job; a machine without one goes too, and a job without a
// machine.
func (a *ask) takeOut(c *history.Change, j *jobfile.File, log string) error {
	for i := len(j.Machines) - 1; i >= 0; i-- {
		m := &j.Machines[i]
		key := "machines." + strconv.Itoa(i)
		if !slices.Contains(m.Tracks, log) {
			continue
		}
		if !slices.ContainsFunc(m.Tracks, func(t string) bool { return t != log }) {
			if len(j.Machines) == 1 {
				delete(c.Put, j.Path)
				c.Remove = append(c.Remove, j.Path)
				return nil
			}
			if err := j.Text.Remove(key); err != nil {
				return unfit(j.Path, err)
			}
			j.Machines = slices.Delete(j.Machines, i, i+1)
			continue
		}
		for k := len(m.Tracks) - 1; k >= 0; k-- {
			if m.Tracks[k] == log {
				if err := j.Text.Remove(key + ".tracks." + strconv.Itoa(k)); err != nil {
					return unfit(j.Path, err)
				}
				m.Tracks = slices.Delete(m.Tracks, k, k+1)
			}
		}
	}
	c.Set(j.Path, j.Text.Text())
	return nil
}

// removeFiles takes dropped files away, and out of the jobs that name them.
func (a *ask) removeFiles(names []string) error {
	c := history.Change{What: "the files taken away"}
	jobs, err := a.jobFiles()
	if err != nil {
		return err
	}
	for _, name := range names {
		first, _, _ := cut(name)
		info, err := a.in.Stat(name)
		if err != nil || !fs.ValidPath(name) || first != filesDir && first != unpackedDir && first != machinesDir && first != boundariesDir && !isJob(name) {
			return wrong("found no file "+quoted(name), "one of the desk")
		}
		all := []string{name}
		if info.IsDir() {
			all = a.below(name)
		}
		for _, one := range all {
			if slices.Contains(c.Remove, one) {
				continue
			}
			c.Remove = append(c.Remove, one)
			delete(a.book.Seen, one)
			delete(c.Put, one)
		}
		for _, j := range jobs {
			if j.Err != nil || slices.Contains(c.Remove, j.Path) {
				continue
			}
			for _, t := range slices.Clone(j.Tracks()) {
				if t == name || strings.HasPrefix(t, name+"/") || strings.HasPrefix(t, name+"#") {
					if err := a.takeOut(&c, j, t); err != nil {
						return err
					}
				}
			}
		}
	}
	if len(names) == 1 {
		c.What = "the removal of " + path.Base(names[0])
	}
	return a.commit(c)
}
