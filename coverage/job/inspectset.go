package job

import (
	"math"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/taskdata"
)

// SetFacts are what a task set of ISO 11783-10 holds beside its boundaries.
type SetFacts struct {
	Unbounded []string // the fields without a boundary: id and name
	Devices   []DeviceFacts
	Tasks     []TaskFacts
}

// DeviceFacts are what is known of a device: of its bar only if it worked in
// a log.
type DeviceFacts struct {
	ID, Name string
	Elements int
	Bars     []BarFacts // one for each way in which the logs tell of it
}

// BarFacts are what an assessment would take for the implement; NaN for what
// the set does not say.
type BarFacts struct {
	Width    float64 // m; 0 where the set does not say
	Sections int
	Towed    bool
	Behind   float64 // m, the bar behind the antenna in a straight line
	Right    float64 // m, the bar's middle right of the antenna
}

// TaskFacts are what a task is.
type TaskFacts struct {
	ID, Name, Field string // Field is an id
	Devices         []string
	Logs            []TaskLogFacts
}

// TaskLogFacts are what one log of a task holds.
type TaskLogFacts struct {
	Name      string
	Fixes     int
	NoClock   bool // no times: the three that follow are zero
	From, To  time.Time
	Interval  time.Duration
	Silences  int
	Zoneless  bool   // the times are those of a clock without a zone
	Device    string // the device that worked; "" where the log tells of none
	Working   int    // fixes at work; -1 where the log does not say
	Qualities []QualityCount
	Values    []string // what else the records tell of it, each once
}

// inspectSet gathers the facts of a task set, or of the parts that a
// reference names.
func (r *reading) inspectSet(path string) (*Inspection, error) {
	ref := r.referenceOf(path)
	set, err := r.set(ref.path)
	if err != nil {
		return nil, err
	}
	r.noteSet(path)
	out := &Inspection{File: path, Format: formatOf(set), Set: &SetFacts{}, Extent: noExtent()}
	for i := range set.Partfields {
		if err := out.addPartfield(&set.Partfields[i]); err != nil {
			return nil, err
		}
	}
	for i := range set.Devices {
		d := &set.Devices[i]
		out.Set.Devices = append(out.Set.Devices, DeviceFacts{ID: d.ID, Name: d.Name, Elements: len(d.Elements)})
	}
	for i := range set.Tasks {
		r.addTask(out, ref, set, &set.Tasks[i])
	}
	out.Warnings = r.job.Warnings
	return out, nil
}

func (in *Inspection) addPartfield(f *taskdata.Partfield) error {
	if len(f.Boundary) == 0 {
		name := f.ID
		if f.Name != "" {
			name += " " + f.Name
		}
		in.Set.Unbounded = append(in.Set.Unbounded, name)
		return nil
	}
	facts, err := fieldFacts(f.Name, f.Boundary, &in.Extent)
	if err != nil {
		return &InputError{File: in.File, Where: f.ID, Found: err.Error()}
	}
	facts.ID = f.ID
	in.Boundaries = append(in.Boundaries, facts)
	return nil
}

func (r *reading) addTask(in *Inspection, ref reference, set *taskdata.Set, t *taskdata.Task) {
	facts := TaskFacts{ID: t.ID, Name: t.Name, Field: t.Partfield, Devices: t.Devices}
	tracks := set.Tracks(t, r.job.Zone)
	for _, log := range t.Logs {
		var its []taskdata.Track
		for _, one := range tracks {
			if one.Log == log.Name {
				its = append(its, one)
			}
		}
		c, ok := oneOf(reference{path: ref.path}, set, its)
		if !ok {
			continue
		}
		r.noteLog(c.file, c.log)
		facts.Logs = append(facts.Logs, logFacts(c, log))
		for _, f := range c.log.Fixes {
			if f.Quality != geo.NoFix {
				in.Extent.add(f.At)
			}
		}
		in.Set.addBar(c.by.track)
	}
	in.Set.Tasks = append(in.Set.Tasks, facts)
}

// logFacts gathers the facts of one log of a task.
func logFacts(c columns, log *taskdata.Log) TaskLogFacts {
	f := TaskLogFacts{Name: log.Name, Fixes: len(c.log.Fixes), NoClock: c.log.NoClock, Zoneless: log.Zoneless,
		Device: c.device(), Working: -1, Qualities: qualitiesOf(c.log.Fixes)}
	if !f.NoClock {
		s := spanOf(c.log.Fixes)
		f.From, f.To = s.from.Time(), s.to.Time()
		var silences []LogSilence
		silences, f.Interval = silencesOf(c.log)
		f.Silences = len(silences)
	}
	if c.working != nil {
		f.Working = 0
		for _, code := range c.working.Codes {
			f.Working += int(code)
		}
	}
	for _, v := range log.Values {
		meaning, ok := v.DDI.Meaning()
		if ok && len(v.Raw) > 0 && !slices.Contains(f.Values, meaning.Name) {
			f.Values = append(f.Values, meaning.Name)
		}
	}
	return f
}

// addBar notes what bar a track tells of, once.
func (s *SetFacts) addBar(t taskdata.Track) {
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.ID != t.Device {
			continue
		}
		bar := BarFacts{Width: t.Bar.Width, Sections: t.Bar.Count, Towed: towed(t.Hitch),
			Behind: t.Hitch.AntennaToHitch + t.Hitch.HitchToBar, Right: t.Hitch.Offset - t.Hitch.AntennaRight}
		same := func(b BarFacts) bool {
			return b.Width == bar.Width && b.Sections == bar.Sections && b.Towed == bar.Towed && alike(b.Behind, bar.Behind) && alike(b.Right, bar.Right)
		}
		if !slices.ContainsFunc(d.Bars, same) {
			d.Bars = append(d.Bars, bar)
		}
	}
}

func alike(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
