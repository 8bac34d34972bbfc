package job

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	_ "time/tzdata" // so that time_zone works where no zones are installed

	"lapwing/coverage"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
	"lapwing/geo/taskdata"
)

// A reading is a job being put together.
type reading struct {
	Inputs
	job       *Job
	dir       string // of the job file; its paths start there
	zoneGiven bool
	own       []ownDraft
	rateKeys  []rateKey                         // one a product
	read      func(path string) ([]byte, error) // for implement files

	// Of task sets:
	setsLock  sync.Mutex
	sets      map[string]*taskdata.Set // read, by path
	noted     []string                 // paths of those whose notes were passed on
	workers   []*worker                // of the logs read
	ground    string                   // what the job says of the boundary: a path, "worked" or ""
	more      []string                 // further boundaries
	many      bool                     // the job may be about several fields
	fieldName string                   // "" where the job does not name the field
}

// A draft is what a job file says, before the files it names are opened.
type draft struct {
	name     string
	boundary []entry
	machines []machineDraft
}

// A machineDraft is a machine without its fixes.
type machineDraft struct {
	coverage.Machine
	working working
	tracks  []entry
}

var (
	jobKeys = []string{"field", "boundary", "time_zone", "machines", "headland", "edge_allowance", "products", "crop",
		"rain_at", "shift", "gnss", "going_back", "switching"}
	machineKeys = []string{"name", "operator", "implement", "working", "tracks"}
)

// Load reads a job file and all that it names. What is wrong in any of them
// is an [*InputError]; any other error is one of the machine this runs on.
func Load(in Inputs, path string, over Overrides) (*Job, error) {
	r := newReading(in, over)
	r.dir = filepath.Dir(path)
	top, err := in.readJob(path)
	if err != nil {
		return nil, err
	}
	d, err := r.understand(top)
	if err != nil {
		return nil, err
	}
	if err := r.override(over); err != nil {
		return nil, err
	}
	r.fieldName = d.name
	r.ground, r.more = r.groundsOf(d.boundary)
	if err := r.drive(top.page, d.machines); err != nil {
		return nil, err
	}
	for i, path := range append([]string{r.ground}, r.more...) {
		if path == "" || path == worked {
			continue
		}
		if err := r.exists(path); err != nil {
			d.boundary[i].fail("found "+strconv.Quote(d.boundary[i].text(""))+", "+err.Error(), "a boundary file, or worked")
			return nil, top.page.err
		}
	}
	if err := r.field(path); err != nil {
		return nil, err
	}
	return r.job, nil
}

// groundsOf returns the paths of the boundaries that a job names, or "worked".
func (r *reading) groundsOf(named []entry) (first string, more []string) {
	for i, e := range named {
		path := e.text("")
		if path != worked {
			path = r.path(path)
		}
		if i == 0 {
			first = path
		} else {
			more = append(more, path)
		}
	}
	return first, more
}

// readJob reads the file of a job, and says so where it is a log or a boundary
// instead.
func (in Inputs) readJob(path string) (entry, error) {
	data, err := in.readFile(path)
	if err != nil {
		err = &InputError{File: path, Found: err.Error(), Want: "a job file"}
	} else {
		var top entry
		if top, err = parse(path, data); err == nil && top.hasAny(jobKeys) {
			return top, nil
		} else if err == nil {
			top.mapping(jobKeys...)
			err = top.page.err
		}
	}
	if other := in.insteadOfJob(path); other != nil {
		return entry{}, other
	}
	return entry{}, err
}

// insteadOfJob tells what a file holds that is no job; nil where nobody knows.
func (in Inputs) insteadOfJob(path string) error {
	instead := func(found, flags string) error {
		return &InputError{File: path, Found: "found " + found, Want: "a job file, or the flags " + flags}
	}
	if in.isSet(path) {
		return instead("a task set", "--track "+path)
	}
	found, err := in.Formats.Look(in.Files, path, shown(path), gnsslog.Options{})
	switch {
	case err != nil:
		return nil
	case found.Log != nil:
		return instead("a log of fixes ("+found.Log.Format+")", "--boundary FILE --track "+path+` --width "40 ft"`)
	}
	return instead("a boundary ("+found.Boundary.Format+")", "--boundary "+path+` --track FILE --width "40 ft"`)
}

func newReading(in Inputs, over Overrides) *reading {
	return &reading{Inputs: in, job: &Job{Zone: time.UTC}, read: in.readFile, many: over.ManyFields}
}

func (r *reading) warn(w coverage.Warning) {
	w.Text = oneLine(w.Text)
	r.job.Warnings = append(r.job.Warnings, w)
}

// understand reads the whole job file.
func (r *reading) understand(top entry) (draft, error) {
	j := r.job
	top.mapping(jobKeys...)
	d := draft{name: top.get("field").text("the name of the field")}
	const ground = "a boundary file, a list of them, or worked"
	d.boundary = top.get("boundary").list(ground)
	for i, e := range d.boundary {
		if e.text(ground) == worked && len(d.boundary) > 1 || e.text(ground) == "" && i > 0 {
			e.fail("found "+strconv.Quote(e.text(ground))+" in a list", "a boundary file")
		}
	}
	r.timeZone(top.get("time_zone"))
	for i, e := range top.need("machines", "a list of machines").items("a list of machines") {
		m := r.machine(e)
		for _, other := range d.machines[:i] {
			if strings.EqualFold(m.Name, other.Name) {
				e.get("name").fail("found "+strconv.Quote(m.Name)+" twice", "a name for each machine")
			}
		}
		d.machines = append(d.machines, m)
		j.Machines = append(j.Machines, m.Machine)
	}
	r.headland(top.get("headland"))
	j.Options.EdgeAllowance = top.get("edge_allowance").length(0)
	for i, e := range top.get("products").items("a list of products") {
		p := productOf(e, j.Machines)
		for _, other := range j.Products[:i] {
			if p.Name == other.Name {
				e.get("name").fail("found "+strconv.Quote(p.Name)+" twice", "a name for each product")
			}
		}
		r.fills(e.get("fills"), &p)
		if p.IsAmmonia() && p.Fill > ammoniaFill {
			r.warn(coverage.Warning{File: e.page.file, Line: e.get("fill").line,
				Text: fmt.Sprintf("%s: filled to %g %%, above the usual limit of 85 %% for anhydrous ammonia; follow local code", p.Name, 100*p.Fill)})
		}
		j.Products = append(j.Products, p)
		r.ownOf(i, e.get("working"))
		key := rateKey{entry: e.get("logged_rate"), kernel: seedOf(e).Kernel}
		key.entry.text("the name of a column of the logs, or none")
		r.rateKeys = append(r.rateKeys, key)
	}
	j.Crop = cropOf(top.get("crop"))
	j.Options.Shift = shiftOf(top.get("shift"))
	j.GNSS = gnssOf(top.get("gnss"))
	j.GoingBack = goingBackOf(top.get("going_back"))
	j.Switching = switchingOf(top.get("switching"))
	if rain := top.get("rain_at"); rain.given() {
		const want = `a time such as "2026-05-04T18:00"`
		at, ok := parseTime(rain.text(want), j.Zone)
		if !ok {
			rain.fail("found "+strconv.Quote(rain.text(want)), want)
		}
		j.RainAt = &at
	}
	return d, top.page.err
}

// timeZone reads the zone for times without one.
func (r *reading) timeZone(e entry) {
	const want = `a name such as "America/Denver" or "UTC"`
	name := e.text(want)
	if name == "" {
		return
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		e.fail("found "+strconv.Quote(name)+", no such time zone", want)
		return
	}
	r.job.Zone, r.zoneGiven = zone, true
}

// machine reads one machine.
func (r *reading) machine(e entry) machineDraft {
	e.mapping(machineKeys...)
	m := machineDraft{working: workingOf(e.get("working"), r.job.Zone)}
	m.Name = e.need("name", "a name").name("a name")
	m.Operator = e.get("operator").text("a name")
	m.Working = m.working.rule
	m.tracks = e.need("tracks", "a list of logs").list("a list of logs")
	if im := e.get("implement"); im.given() {
		m.Implement = r.implementOf(im)
	} else if !slices.ContainsFunc(m.tracks, func(t entry) bool { return r.isSet(r.path(t.text(""))) }) {
		e.need("implement", "the keys of an implement, or the path of a file with them")
	}
	for i, t := range m.tracks {
		path := t.name("the path of a log")
		for _, other := range m.tracks[:i] {
			if path == other.text("") {
				t.fail("found "+strconv.Quote(path)+" twice", "each log once")
			}
		}
	}
	return m
}

// headland reads the rounds along the boundary.
func (r *reading) headland(e entry) {
	if !e.given() {
		return
	}
	e.mapping("rounds", "lap")
	rounds := e.get("rounds")
	if rounds.given() {
		r.job.Options.Rounds = rounds.whole(1, 100)
	}
	lap := e.get("lap")
	r.job.Options.Lap = lap.length(0)
	var widest plane.Length
	for _, m := range r.job.Machines {
		widest = max(widest, m.Implement.Width)
	}
	if widest > 0 && r.job.Options.Lap >= widest {
		lap.fail("found "+strconv.Quote(lap.text("")), "less than the working width")
	}
	if deep := r.job.Options.HeadlandWidth(r.job.Machines); deep > coverage.Room {
		rounds.fail(fmt.Sprintf("found %q, %.0f m deep", rounds.text(""), deep.Metres()), fmt.Sprintf("%.0f m at most", coverage.Room.Metres()))
	}
}

// drive reads the tracks of all machines.
func (r *reading) drive(p *page, machines []machineDraft) error {
	var paths []string
	users := map[string][]entry{} // who asked for a path
	for _, m := range machines {
		for _, t := range m.tracks {
			path := r.path(t.text(""))
			if _, again := users[path]; !again {
				paths = append(paths, path)
				if path != "-" {
					if err := r.exists(path); err != nil {
						t.fail("found "+strconv.Quote(t.text(""))+", "+err.Error(), "a log of fixes")
						return p.err
					}
				}
			}
			users[path] = append(users[path], t)
		}
	}
	logs, err := r.readLogs(paths)
	if err != nil {
		return err
	}
	byPath := map[string][]columns{}
	for i, path := range paths {
		byPath[path] = logs[i]
		for _, c := range logs[i] {
			if again := users[path]; len(again) > 1 && c.machine == nil && c.by == nil {
				again[1].fail("found "+strconv.Quote(again[1].text(""))+" twice", "each log once, or a machine column in it")
				return p.err
			}
			if len(machines) > 1 {
				r.warnOfOthers(c)
			}
		}
	}
	for i, m := range machines {
		var logs []columns
		for _, t := range m.tracks {
			logs = append(logs, byPath[r.path(t.text(""))]...)
		}
		if err := r.driveMachine(i, m, logs); err != nil {
			return err
		}
	}
	for _, o := range r.own {
		r.job.Own = append(r.job.Own, o.Own)
	}
	r.runDry()
	return nil
}

// driveMachine gives a machine of the job its tracks.
func (r *reading) driveMachine(i int, m machineDraft, logs []columns) error {
	logs, err := ofMachine(m.Name, logs)
	if err != nil {
		return err
	}
	if m.Implement.Width == 0 {
		if m.Implement, err = r.taskImplement(logs); err != nil {
			return err
		}
		r.equip(i, m.Implement)
	}
	for _, c := range logs {
		var pick func(int) bool
		if len(r.job.Machines) > 1 && c.machine != nil {
			if pick, err = c.only(m.Name); err != nil {
				return err
			}
		}
		bar := c.dividedAs(m.Implement)
		track, err := r.track(c, bar, pick)
		if err != nil {
			return err
		}
		if wrong := m.working.set(&track); wrong != nil {
			return wrong
		}
		if wrong := r.ratesOf(c, m.Name, &track, pick); wrong != nil {
			return wrong
		}
		if err := r.ownTrack(c, &m.Machine, track, pick); err != nil {
			return err
		}
		r.job.Machines[i].Tracks = append(r.job.Machines[i].Tracks, track)
	}
	return nil
}

// equip gives a machine the implement that its logs tell of, also where it
// carries a product with a working column of its own.
func (r *reading) equip(i int, im coverage.Implement) {
	r.job.Machines[i].Implement = im
	for _, o := range r.own {
		for k := range o.Machines {
			if o.Machines[k].Name == r.job.Machines[i].Name {
				o.Machines[k].Implement = im
			}
		}
	}
}

// track makes the track of the picked fixes, and passes its warnings on.
func (r *reading) track(c columns, bar coverage.Implement, pick func(int) bool) (coverage.Track, error) {
	t, err := newTracker(c, bar)
	if err != nil {
		return coverage.Track{}, err
	}
	for _, w := range t.warnings {
		r.warn(w)
	}
	return t.track(pick)
}

// only picks the fixes of one machine.
func (c columns) only(machine string) (func(int) bool, error) {
	is := make([]bool, len(c.machine.Distinct))
	found := false
	for code, value := range c.machine.Distinct {
		is[code] = strings.EqualFold(strings.TrimSpace(value), machine)
		found = found || is[code]
	}
	if !found {
		return nil, &InputError{File: c.file, Where: "column " + strconv.Quote(c.machine.Name),
			Found: fmt.Sprintf("no fix of machine %q", machine), Want: "one of " + quotedList(c.machine.Distinct)}
	}
	return func(i int) bool { return is[c.machine.Codes[i]] }, nil
}

// warnOfOthers counts the fixes of machines that the job does not name.
func (r *reading) warnOfOthers(c columns) {
	if c.machine == nil {
		return
	}
	counts := make([]int, len(c.machine.Distinct))
	for _, code := range c.machine.Codes {
		counts[code]++
	}
	for code, value := range c.machine.Distinct {
		known := false
		for _, m := range r.job.Machines {
			known = known || strings.EqualFold(strings.TrimSpace(value), m.Name)
		}
		if !known {
			r.warn(coverage.Warning{File: c.file, Count: counts[code], Text: fmt.Sprintf("machine %q is not in the job; its fixes are left out", value)})
		}
	}
}

// quotedList joins names in quotes, the first ten of them.
func quotedList(names []string) string {
	var quoted []string
	for i, n := range names {
		if i == 10 {
			return strings.Join(quoted, ", ") + fmt.Sprintf(" and %d more", len(names)-i)
		}
		quoted = append(quoted, strconv.Quote(n))
	}
	return listed(quoted)
}
