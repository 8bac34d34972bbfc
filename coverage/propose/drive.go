package propose

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/machine"
	"lapwing/coverage/propose/cell"
	"lapwing/coverage/propose/pattern"
	"lapwing/coverage/track"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/taskdata"
)

// A Drive is what one machine did in one log, or in one task of a set.
type Drive struct {
	Path     string // as a job names the log: "day1.csv", "TASKDATA#TSK1"
	Named    string // the machine, as the log names it; "" where it does not
	Seen     string // what the log holds, in words
	From, To time.Time
	NoClock  bool     // the log has no times: From and To are zero
	Zoneless int      // fixes whose times have no zone; they are taken as UTC
	Working  bool     // the log says when the machine works
	Parts    []Period // of the log, where the rest of it is of other ground; nil for all

	bar       worklog.Bar
	implement *machine.Implement // as a task set describes it; nil for other logs
	placed    bool               // the set says where the bar is from the antenna
	hitched   bool               // and how it is hitched
	field     string             // of a task: the path of its field
	crop      string             // that grows there, as the set says it; "" for not known
	passes    []pass
	cells     cell.Cells
	hour      float64 // the mean hour of the day of its fixes
	file      string  // of the log or the set
	sum       uint64  // of all fixes: logs that hold the same have the same
	find      *Find
	machine   *Machine
}

// File is the log or the task set that the drive is in.
func (d *Drive) File() string { return d.file }

// Machine is the machine of the drive; nil before the season is surveyed.
func (d *Drive) Machine() *Machine { return d.machine }

// Ways are where the bar was on each working stretch, thinned for a drawing.
func (d *Drive) Ways() (ways [][]geo.LonLat) {
	for i := range d.passes {
		ways = append(ways, d.passes[i].Places)
	}
	return ways
}

// A Period is the part of a log from one time up to another; a zero time is its
// beginning or its end.
type Period struct{ From, To time.Time }

// A pass is where the antenna was on one working stretch, thinned.
type pass struct {
	pattern.Way
	from, to time.Time // zero where the log has no clock
}

// only is the drive with those of its passes alone that are kept, and the parts of
// its log in which they were driven; nil where it has none. The log must have a
// clock.
func (d *Drive) only(kept func(p *pass) bool) *Drive {
	out := *d
	out.passes, out.cells, out.Parts = nil, cell.Cells{}, nil
	var before *pass // the pass before, whether it is kept or not
	inside := false
	for i := range d.passes {
		p := &d.passes[i]
		keeps := kept(p)
		if keeps != inside && before != nil {
			between := before.to.Add(p.from.Sub(before.to) / 2).Truncate(time.Second)
			if keeps {
				out.Parts = append(out.Parts, Period{From: between})
			} else {
				out.Parts[len(out.Parts)-1].To = between
			}
		} else if keeps && before == nil {
			out.Parts = append(out.Parts, Period{})
		}
		if inside = keeps; keeps {
			if len(out.passes) == 0 {
				out.From = p.from
			}
			out.To = p.to
			out.passes = append(out.passes, *p)
			out.cells.Cover(p.Places)
		}
		before = p
	}
	if len(out.passes) == 0 {
		return nil
	}
	return &out
}

// thinned is how far apart the places of a pass are kept, in metres: less than a
// bar is wide, and a hundredth of the fixes of a fast receiver.
const thinned = 4.0

// ways are the passes of some drives, drive by drive.
func ways(drives ...*Drive) (out []pattern.Way) {
	for _, d := range drives {
		for _, p := range d.passes {
			out = append(out, p.Way)
		}
	}
	return out
}

// workedMetres is how long the passes of a drive are together.
func (d *Drive) workedMetres() (metres float64) {
	for _, p := range d.passes {
		metres += p.Metres
	}
	return metres
}

// ofLog takes the drives of a log: one a machine that it names, or one.
func (f *Find) ofLog(l worklog.Log) error {
	if !l.TellsMachine() {
		return f.drive(f.Path, f.Path, "", []worklog.Log{l}, nil)
	}
	return l.EachMachine(func(name string, pick func(int) bool) error {
		return f.drive(f.Path, f.Path, name, []worklog.Log{l}, pick)
	})
}

// ofSet takes the fields of a task set, and a drive for each task and device that
// worked in it. Where the path names ids, it is what these mean.
func (f *Find) ofSet(path string, set *taskdata.Set) error {
	var ids []string
	if at := strings.LastIndexByte(f.Path, '#'); f.Path != path && at >= 0 {
		ids = strings.FieldsFunc(f.Path[at+1:], func(c rune) bool { return c == ',' || c == ' ' })
	}
	asked := func(task *taskdata.Task) bool {
		return len(ids) == 0 || slices.Contains(ids, task.ID) || slices.Contains(ids, task.Partfield) ||
			slices.ContainsFunc(task.Devices, func(d string) bool { return slices.Contains(ids, d) })
	}
	meant := func(field string) bool {
		return len(ids) == 0 || slices.Contains(ids, field) ||
			slices.ContainsFunc(set.Tasks, func(t taskdata.Task) bool { return t.Partfield == field && asked(&t) })
	}
	for i := range set.Partfields {
		p := &set.Partfields[i]
		if len(p.Boundary) == 0 && p.Fault == nil || !meant(p.ID) {
			continue
		}
		g := &Field{Path: path + "#" + p.ID, Name: p.Name, parts: p.Boundary, ofSet: true, crop: p.Crop}
		if g.Name == "" {
			g.Name = p.ID
		}
		if g.lay(); p.Fault != nil {
			g.fault = p.Fault
		}
		f.Fields = append(f.Fields, g)
	}
	for i := range set.Tasks {
		task := &set.Tasks[i]
		if !asked(task) {
			continue
		}
		byDevice := map[string][]worklog.Log{}
		var order []string
		for _, l := range worklog.OfTask(path, set, task, ids, time.UTC) {
			name := l.By.Name()
			if byDevice[name] == nil {
				order = append(order, name)
			}
			byDevice[name] = append(byDevice[name], l)
		}
		for _, name := range order {
			if err := f.drive(path, path+"#"+task.ID, name, byDevice[name], nil); err != nil {
				return err
			}
			d := f.Drives[len(f.Drives)-1]
			if task.Partfield != "" {
				d.field = path + "#" + task.Partfield
				if p := set.Partfield(task.Partfield); p != nil {
					d.crop = p.Crop
				}
			}
		}
	}
	return nil
}

// drive adds what one machine did in some logs of a file, that a job names together
// by a path.
func (f *Find) drive(file, path, name string, logs []worklog.Log, pick func(int) bool) error {
	d := &Drive{Path: path, Named: name, file: file, find: f, Working: true, NoClock: true, cells: cell.Cells{}}
	sum, hours, fixes := fnv.New64a(), 0.0, 0
	sum.Write([]byte(name))
	var said []string
	im, err := d.readBar(logs, pick)
	if err != nil {
		return err
	}
	for _, l := range logs {
		one, _, err := l.Track(l.Divided(im), pick)
		if err != nil {
			return err
		}
		if len(one.Fixes) == 0 {
			continue
		}
		d.Working = d.Working && one.WorkingLogged
		said = append(said, seen(l, one, name))
		d.Zoneless += zonelessOf(l, len(one.Fixes))
		for _, fix := range one.Fixes {
			var bits [24]byte
			binary.LittleEndian.PutUint64(bits[:], uint64(fix.Time))
			binary.LittleEndian.PutUint64(bits[8:], math.Float64bits(fix.At.Lon))
			binary.LittleEndian.PutUint64(bits[16:], math.Float64bits(fix.At.Lat))
			sum.Write(bits[:])
			if !one.NoClock {
				at := fix.Time.Time()
				if d.NoClock || at.Before(d.From) {
					d.From = at
				}
				if d.NoClock || at.After(d.To) {
					d.To = at
				}
				d.NoClock = false
				hours += float64(at.Hour()) + float64(at.Minute())/60
				fixes++
			}
		}
		d.follow(one, im)
	}
	d.sum, d.Seen = sum.Sum64(), strings.Join(said, "; ")
	if fixes > 0 {
		d.hour = hours / float64(fixes)
	}
	slices.SortStableFunc(d.passes, func(a, b pass) int { return a.from.Compare(b.from) })
	f.Drives = append(f.Drives, d)
	return nil
}

// zonelessOf is how many of so many fixes of a log have times without a zone.
func zonelessOf(l worklog.Log, fixes int) int {
	if l.NoClock {
		return 0
	}
	return min(l.Zoneless, fixes)
}

// anyWidth is the width of bar with which passes are found where no file tells
// it; their spacing hardly depends on it. Judgement.
const anyWidth = 12.0 // m

// readBar finds out what the logs of a drive tell of the bar, and returns one to
// find passes with.
func (d *Drive) readBar(logs []worklog.Log, pick func(int) bool) (machine.Implement, error) {
	for _, l := range logs {
		bar, err := l.BarOf(pick)
		if err != nil {
			return machine.Implement{}, err
		}
		if bar.Width.Metres > d.bar.Width.Metres || d.bar.Width.Metres == 0 && bar.Sections > d.bar.Sections {
			d.bar = bar
		}
	}
	told := func(l worklog.Log) bool { return l.By != nil && l.By.Track.Bar.Width > 0 }
	if slices.ContainsFunc(logs, told) {
		im, err := job.ImplementOf(logs)
		if err != nil {
			return im, err
		}
		for _, l := range logs {
			if l.By != nil {
				h := &l.By.Track.Hitch
				d.placed = d.placed || !math.IsNaN(h.AntennaToHitch+h.HitchToBar)
				d.hitched = d.hitched || h.Connector > 0
			}
		}
		d.implement = &im
		return im, nil
	}
	metres := d.bar.Width.Metres
	if metres == 0 {
		metres = anyWidth
	}
	im := machine.Implement{Width: plane.Metres(metres)}
	im.Sections = machine.EqualSections(im.Width, max(1, d.bar.Sections))
	if len(d.bar.Parts) > 1 {
		var weights []float64
		for _, p := range d.bar.Parts {
			weights = append(weights, p.Metres)
		}
		im.Sections = machine.SectionsByWeight(im.Width, weights)
	}
	return im, nil
}

// follow finds the passes of a track. A frame reaches so far and no farther: a
// log of a long road is followed piece by piece.
func (d *Drive) follow(t machine.Track, im machine.Implement) {
	const piece = 0.4 // degrees, 44 km
	x := geo.NoExtent()
	for _, f := range t.Fixes {
		if f.Quality != geo.NoFix {
			x.Add(f.At)
		}
	}
	if !(x.East-x.West > piece || x.North-x.South > piece) {
		d.passesOf(t, im)
		return
	}
	type tile struct{ x, y int }
	var order []tile
	pieces := map[tile][]machine.Fix{}
	for _, f := range t.Fixes {
		k := tile{int(math.Floor(f.At.Lon / piece)), int(math.Floor(f.At.Lat / piece))}
		if pieces[k] == nil {
			order = append(order, k)
		}
		pieces[k] = append(pieces[k], f)
	}
	for _, k := range order {
		one := t
		one.Fixes, one.Breaks = pieces[k], nil
		d.passesOf(one, im)
	}
}

// passesOf finds the passes of a track that a frame holds, and the ground that
// they were on.
func (d *Drive) passesOf(t machine.Track, im machine.Implement) {
	logged := []machine.Logged{{Machine: machine.Machine{Name: "machine", Implement: im}, Tracks: []machine.Track{t}}}
	around, ok := coverage.FieldAround(logged)
	if !ok {
		return
	}
	passes, _, _ := coverage.Split(around, logged, field.Options{})
	for _, p := range passes {
		var way []geo.LonLat
		last := 0.0
		for i := range p.Poses {
			along := p.Poses[i].Along.Metres()
			if i > 0 && i < len(p.Poses)-1 && along-last < thinned {
				continue
			}
			way, last = append(way, around.Frame.ToEarth(p.Poses[i].Bar)), along
		}
		one := pass{Way: pattern.Way{Places: way, Metres: p.Length.Metres()}}
		if !t.NoClock {
			one.from, one.to = p.Start.Time(), p.End.Time()
		}
		d.passes = append(d.passes, one)
		d.cells.Cover(way)
	}
}

// seen says in words what a log holds of a machine.
func seen(l worklog.Log, t machine.Track, name string) string {
	fixes := make([]geo.Fix, len(t.Fixes))
	for i := range fixes {
		fixes[i] = t.Fixes[i].Fix
	}
	s := l.Format + ", " + countOf(len(fixes), "fix", "fixes")
	if name != "" && l.TellsMachine() {
		s += " of " + name
	}
	if t.NoClock {
		s += ", no times"
	} else {
		first, last := fixes[0].Time, fixes[0].Time
		for _, f := range fixes {
			first, last = min(first, f.Time), max(last, f.Time)
		}
		s += fmt.Sprintf(", %s to %s", first.Time().Format("2006-01-02 15:04"), last.Time().Format("2006-01-02 15:04"))
		if _, every := track.Gaps(fixes, field.Options{}); every > 0 {
			s += fmt.Sprintf(", every %g s", every.Round(10*time.Millisecond).Seconds())
		}
	}
	for _, said := range []struct {
		is   bool
		text string
	}{
		{t.WorkingLogged, "says when the machine works"},
		{l.TellsSections(), "says which sections are open"},
		{l.TellsMachine(), "says which machine it is"},
	} {
		if said.is {
			s += ", " + said.text
		}
	}
	return s
}

func countOf(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
