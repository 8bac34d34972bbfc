package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/source"
)

// An understanding is a job being put together from what is written and what
// was opened.
type understanding struct {
	spec    *spec.Spec
	sources *Sources
	job     *Job
	own     []ownDraft
	many    bool              // the job may be about several fields
	devices []*worklog.Device // that made the logs
	noted   []string          // task sets whose notes were passed on

	byFile     map[string]*worklog.Device // what made the log of a file, of a task set
	fixed      map[string]bool            // the logs, by file, of tasks that the job names by their ids
	fieldNames map[string]bool            // that boundaries bear
	lands      []namedBoundary            // of each of the job's fields; nil where it is the worked ground
}

// Understand makes a job of what is written and what was opened. What is wrong
// is an [*InputError].
func Understand(s *spec.Spec, src *Sources, over Overrides) (*Job, error) {
	lists, err := over.read()
	if err != nil {
		return nil, err
	}
	u := newUnderstanding(s, src, over.ManyFields)
	logs, err := u.logs()
	if err != nil {
		return nil, spec.AsInput(err)
	}
	if s.File == "" {
		err = u.tellApart(logs)
	} else {
		err = u.drive(logs)
	}
	if err == nil {
		u.runDry()
		err = u.field()
	}
	if err != nil {
		return nil, spec.AsInput(err)
	}
	lists.apply(u.job)
	if len(u.job.Fields) > 1 || len(u.devices) > 1 {
		track.Index(u.job.Machines)
		for _, o := range u.job.Own {
			track.Index(o.Machines)
			track.Index(o.Told)
		}
	}
	if err := u.divide(); err != nil {
		return nil, spec.AsInput(err)
	}
	return u.job, nil
}

// newUnderstanding begins with what the spec alone says.
func newUnderstanding(s *spec.Spec, src *Sources, many bool) *understanding {
	j := &Job{Options: s.Options, Warnings: slices.Clone(s.Warnings), Zone: s.Zone, Crop: s.Crop, RainAt: s.RainAt,
		GNSS: s.GNSS, GoingBack: s.GoingBack, Switching: s.Switching}
	for _, p := range s.Products {
		j.Products = append(j.Products, p.Product)
	}
	if s.File != "" {
		for _, m := range s.Machines {
			one := machine.Logged{Machine: machine.Machine{Name: m.Name, Operator: m.Operator, Lap: m.Lap}, Working: m.Working.Kind}
			if m.Implement != nil {
				one.Implement = *m.Implement
			}
			j.Machines = append(j.Machines, one)
		}
	}
	u := &understanding{spec: s, sources: src, job: j, many: many, byFile: map[string]*worklog.Device{}, fixed: map[string]bool{}}
	for i := range s.Products {
		u.ownOf(i)
	}
	return u
}

func (u *understanding) warn(w field.Warning) {
	w.Text = spec.OneLine(w.Text)
	u.job.Warnings = append(u.job.Warnings, w)
}

func (u *understanding) warnAll(warnings []field.Warning) {
	for _, w := range warnings {
		u.warn(w)
	}
}

// warnOnce passes a warning on unless it was passed on before.
func (u *understanding) warnOnce(w field.Warning) {
	w.Text = spec.OneLine(w.Text)
	if !slices.Contains(u.job.Warnings, w) {
		u.warn(w)
	}
}

// logs returns the logs that each track of the spec means, by its path, and
// passes on what their readers doubted. A task set may hold several.
func (u *understanding) logs() (map[string][]worklog.Log, error) {
	byPath := map[string][]worklog.Log{}
	for _, t := range tracksOf(u.spec) {
		if _, again := byPath[t.Path]; again {
			continue
		}
		logs, err := u.logsAt(t.Path)
		if err != nil {
			return nil, err
		}
		byPath[t.Path] = logs
		for _, l := range logs {
			if l.By != nil {
				u.noteSet(l.By.Path)
				u.devices = append(u.devices, l.By)
				u.byFile[l.File] = l.By
				u.fixed[l.File] = u.fixed[l.File] || u.namesTask(t.Path)
			}
			u.warnAll(l.Warnings(u.spec.ZoneGiven))
		}
	}
	return byPath, nil
}

// logsAt returns the logs that a path means.
func (u *understanding) logsAt(path string) ([]worklog.Log, error) {
	if ref := u.sources.references[path]; ref.isSet {
		return u.setLogs(ref)
	}
	return []worklog.Log{worklog.Of(source.Shown(path), u.sources.logs[path])}, nil
}

// drive gives the machines of a job file their tracks.
func (u *understanding) drive(logs map[string][]worklog.Log) error {
	if err := u.checkShared(logs); err != nil {
		return err
	}
	for i, m := range u.spec.Machines {
		var its []worklog.Log
		for _, t := range m.Tracks {
			for _, l := range logs[t.Path] {
				l, err := l.During(t.From, t.To)
				if err != nil {
					return err
				}
				its = append(its, l)
			}
		}
		if err := u.driveMachine(i, its); err != nil {
			return err
		}
	}
	for _, o := range u.own {
		u.job.Own = append(u.job.Own, o.Own)
	}
	return nil
}

// checkShared refuses a log of which two machines are to be, unless it says
// whose each fix is, and warns of machines that the job does not name.
func (u *understanding) checkShared(logs map[string][]worklog.Log) error {
	users := map[string][]spec.Path{}
	var order []string
	for _, t := range tracksOf(u.spec) {
		if users[t.Path] == nil {
			order = append(order, t.Path)
		}
		users[t.Path] = append(users[t.Path], t)
	}
	for _, path := range order {
		for _, l := range logs[path] {
			parts := func(p spec.Path) bool { return !p.From.IsZero() || !p.To.IsZero() }
			if again := users[path]; len(again) > 1 && !slices.ContainsFunc(again, parts) && !l.TellsMachine() && l.By == nil {
				return again[1].Wrong("found "+strconv.Quote(again[1].Text)+" twice", "each log once, or a machine column in it")
			}
			if u.tellsWhose(l) {
				u.warnOfOthers(l)
			}
		}
	}
	return nil
}

// tellsWhose reports whether a log's machine column is to say whose each fix is: in
// a job of several machines, and in one of a single machine that the column names
// beside others. A single machine of another name is the device that wrote the log.
func (u *understanding) tellsWhose(l worklog.Log) bool {
	names, _ := l.Machines()
	if len(u.job.Machines) > 1 {
		return l.TellsMachine()
	}
	return len(names) > 1 && slices.ContainsFunc(names, func(name string) bool {
		return strings.EqualFold(strings.TrimSpace(name), u.spec.Machines[0].LoggedAs)
	})
}

// warnOfOthers counts the fixes of machines that the job does not name. Many
// are told together.
func (u *understanding) warnOfOthers(l worklog.Log) {
	const each = 10
	var others []string
	var count []int
	names, fixes := l.Machines()
	for i, name := range names {
		if !slices.ContainsFunc(u.spec.Machines, func(m spec.Machine) bool { return strings.EqualFold(strings.TrimSpace(name), m.LoggedAs) }) {
			others, count = append(others, name), append(count, fixes[i])
		}
	}
	if len(others) > each {
		all := 0
		for _, n := range count {
			all += n
		}
		u.warn(field.Warning{File: l.File, Count: all, Text: fmt.Sprintf("%d machines, %s, are not in the job; their fixes are left out", len(others), geo.Quoted(others))})
		return
	}
	for i, name := range others {
		u.warn(field.Warning{File: l.File, Count: count[i], Text: "machine " + strconv.Quote(name) + " is not in the job; its fixes are left out"})
	}
}

// driveMachine gives a machine of the job file its tracks.
func (u *understanding) driveMachine(i int, logs []worklog.Log) error {
	m := &u.job.Machines[i]
	logs, err := ofMachine(m.Name, logs)
	if err != nil {
		return err
	}
	if m.Implement.Width == 0 {
		im, err := u.taskImplement(logs)
		if err != nil {
			return err
		}
		u.equip(i, im)
	}
	for _, l := range logs {
		var pick func(int) bool
		if u.tellsWhose(l) {
			if pick, err = l.Only(u.spec.Machines[i].LoggedAs); err != nil {
				return err
			}
		}
		pick = l.Meant(pick)
		track, err := u.track(l, l.Divided(m.Implement), pick)
		if err != nil {
			return err
		}
		if err := u.spec.Machines[i].Working.Apply(&track); err != nil {
			return err
		}
		if err := u.ratesOf(l, m.Name, &track, pick); err != nil {
			return err
		}
		if err := u.ownTrack(l, m, track, pick); err != nil {
			return err
		}
		m.Tracks = append(m.Tracks, track)
	}
	return nil
}

// track makes the track of the picked fixes, and passes its warnings on.
func (u *understanding) track(l worklog.Log, bar machine.Implement, pick func(int) bool) (machine.Track, error) {
	track, warnings, err := l.Track(bar, pick)
	if err == nil {
		u.warnAll(warnings)
	}
	return track, err
}

// equip gives a machine the implement that its logs tell of, also where it
// carries a product with a working column of its own.
func (u *understanding) equip(i int, im machine.Implement) {
	u.job.Machines[i].Implement = im
	for _, o := range u.own {
		for k := range o.Machines {
			if o.Machines[k].Name == u.job.Machines[i].Name {
				o.Machines[k].Implement = im
			}
		}
	}
}
