package inspect

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage/job"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/taskdata"
)

// A Set is what a task set of ISO 11783-10 holds beside its boundaries.
type Set struct {
	Unbounded []string // the fields without a boundary: id and name
	Devices   []Device
	Tasks     []Task
}

// A Device is what is known of a device: of its bar only if it worked in a log.
type Device struct {
	ID, Name string
	Elements int
	Bars     []Bar // one for each way in which the logs tell of it
}

// A Bar is what an assessment would take for the implement; NaN for what the
// set does not say.
type Bar struct {
	Width    float64 // m; 0 where the set does not say
	Sections int
	Towed    bool
	Behind   float64 // m, the bar behind the antenna in a straight line
	Right    float64 // m, the bar's middle right of the antenna
	Over     string  // what the antenna is taken to be over; "" where the set says where it is
}

// A Task is a task of the set, with its logs.
type Task struct {
	ID, Name, Field string // Field is an id
	Devices         []string
	Logs            []TaskLog
}

// A TaskLog is what one log of a task holds.
type TaskLog struct {
	Name      string
	Fixes     int
	NoClock   bool // no times: the three that follow are zero
	From, To  time.Time
	Interval  time.Duration
	Silences  int
	Zoneless  bool   // the times are those of a clock without a zone
	Device    string // the device that worked; "" where the log tells of none
	Working   int    // fixes at work; -1 where the log does not say
	Qualities []Quality
	Values    []string // what else the records tell of it, each once
}

// set gathers the facts of a task set, or of what ids name of it and what belongs to
// that.
func (i *inspection) set(path string, set *taskdata.Set, ids []string) error {
	p, err := partOf(set, ids)
	if err != nil {
		return &job.InputError{File: path, Found: err.Error(), Want: "one of " + job.IDsOf(set)}
	}
	i.warn(worklog.Noted(set.File, set.Notes)...)
	out := &Set{}
	i.facts.Format, i.facts.Set = "ISO 11783-10", out
	if set.Version != "" {
		i.facts.Format += " version " + set.Version
	}
	for k := range set.Partfields {
		if f := &set.Partfields[k]; p.fields(f.ID) {
			if err := i.partfield(f); err != nil {
				return err
			}
		}
	}
	for _, d := range set.Devices {
		if p.devices(d.ID) {
			out.Devices = append(out.Devices, Device{ID: d.ID, Name: d.Name, Elements: len(d.Elements)})
		}
	}
	for _, t := range p.tasks {
		i.task(path, set, t, ids)
	}
	return nil
}

// A part is what is looked at of a set.
type part struct {
	tasks           []*taskdata.Task
	fields, devices func(id string) bool
}

// partOf returns what ids name of a set: the tasks named, or those of the fields and
// devices named; and where ids name no field or no device, those of these tasks.
func partOf(set *taskdata.Set, ids []string) (p part, err error) {
	asked, err := set.Choose(ids)
	if err != nil {
		return p, err
	}
	byTask, byField, byDevice := asked.Names()
	p.fields, p.devices = asked.Field, asked.Device
	fields, devices := map[string]bool{}, map[string]bool{}
	for k := range set.Tasks {
		t := &set.Tasks[k]
		if !asked.Task(t) || byDevice && !slices.ContainsFunc(t.Devices, asked.Device) {
			continue
		}
		p.tasks = append(p.tasks, t)
		fields[t.Partfield] = true
		for _, d := range t.Devices {
			devices[d] = true
		}
	}
	if !byField && (byTask || byDevice) {
		p.fields = func(id string) bool { return fields[id] }
	}
	if !byDevice && (byTask || byField) {
		p.devices = func(id string) bool { return devices[id] }
	}
	return p, nil
}

func (i *inspection) partfield(f *taskdata.Partfield) error {
	if len(f.Boundary) == 0 {
		name := f.ID
		if f.Name != "" {
			name += " " + f.Name
		}
		i.facts.Set.Unbounded = append(i.facts.Set.Unbounded, name)
		return nil
	}
	if err := i.field(f.ID, f.Name, f.Boundary); err != nil {
		return &job.InputError{File: i.facts.File, Where: f.ID, Found: err.Error()}
	}
	i.facts.Boundaries[len(i.facts.Boundaries)-1].Stated = f.Area
	return nil
}

func (i *inspection) task(path string, set *taskdata.Set, t *taskdata.Task, ids []string) {
	facts := Task{ID: t.ID, Name: t.Name, Field: t.Partfield, Devices: t.Devices}
	for _, l := range worklog.OfTask(path, set, t, ids, i.zone) {
		i.warn(l.Warnings(i.zoned)...)
		at := slices.IndexFunc(t.Logs, func(log *taskdata.Log) bool { return log.Name == l.By.Track.Log })
		facts.Logs = append(facts.Logs, logFacts(l, t.Logs[at]))
		for _, f := range l.Fixes {
			if f.Quality != geo.NoFix {
				i.facts.Extent.Add(f.At)
			}
		}
		i.facts.Set.addBar(l.By.Track)
	}
	i.facts.Set.Tasks = append(i.facts.Set.Tasks, facts)
}

// logFacts gathers the facts of one log of a task.
func logFacts(l worklog.Log, log *taskdata.Log) TaskLog {
	f := TaskLog{Name: log.Name, Fixes: len(l.Fixes), NoClock: l.NoClock, Zoneless: log.Zoneless,
		Device: l.By.Name(), Working: -1, Qualities: qualitiesOf(l.Fixes)}
	if !f.NoClock {
		span := l.Span()
		f.From, f.To = span.From.Time(), span.To.Time()
		var silences []Silence
		silences, f.Interval = silencesOf(l.Log)
		f.Silences = len(silences)
	}
	if l.TellsWork() {
		f.Working, _ = l.CountWorking() // a set says it in numbers
	}
	for _, v := range log.Values {
		meaning, ok := v.DDI.Meaning()
		if ok && len(v.Raw) > 0 && !slices.Contains(f.Values, meaning.Name) {
			f.Values = append(f.Values, meaning.Name)
		}
	}
	return f
}

// addBar adds the bar that a track tells of to its device, unless it has it already.
func (s *Set) addBar(t taskdata.Track) {
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.ID != t.Device {
			continue
		}
		h, over := job.Hitched(&t)
		bar := Bar{Width: t.Bar.Width, Sections: t.Bar.Count, Towed: job.Towed(h),
			Behind: h.AntennaToHitch + h.HitchToBar, Right: h.Offset - h.AntennaRight, Over: over}
		same := func(b Bar) bool {
			return b.Over == bar.Over && b.Width == bar.Width && b.Sections == bar.Sections && b.Towed == bar.Towed && alike(b.Behind, bar.Behind) && alike(b.Right, bar.Right)
		}
		if !slices.ContainsFunc(d.Bars, same) {
			d.Bars = append(d.Bars, bar)
		}
	}
}

func alike(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
