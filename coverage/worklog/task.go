package worklog

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/taskdata"
)

// The names under which what a task set tells of a machine stands in messages.
const (
	workStateName    = "work state"
	sectionStateName = "section states"
	actualWidthName  = "actual working width"
)

// A Device is what made a log of a task set, and on which task.
type Device struct {
	Path  string // of the set
	Set   *taskdata.Set
	Task  *taskdata.Task
	Track taskdata.Track
}

// Name is what the device's machine is called: as the device, with the id
// behind it where the set has two of the name; "" where the log names none.
func (d *Device) Name() string {
	if d == nil {
		return ""
	}
	name := d.Track.DeviceName
	if name == "" {
		return d.Track.Device
	}
	for _, other := range d.Set.Devices {
		if other.Name == name && other.ID != d.Track.Device {
			return name + " (" + d.Track.Device + ")"
		}
	}
	return name
}

// Operations says of which kind of work the log is, see [taskdata.Set.Operations].
func (d *Device) Operations() [3]string {
	at := slices.IndexFunc(d.Task.Logs, func(l *taskdata.Log) bool { return l.Name == d.Track.Log })
	if at < 0 {
		return d.Set.Operations(d.Task, d.Track.Device, nil)
	}
	return d.Set.Operations(d.Task, d.Track.Device, d.Task.Logs[at])
}

// OfTask returns the logs of a task of the set at a path, those of the devices
// with some ids only, if any has one of them. Times by a clock without a zone
// are in the zone given.
func OfTask(path string, set *taskdata.Set, task *taskdata.Task, ids []string, zone *time.Location) (logs []Log) {
	tracks := set.Tracks(task, zone)
	for len(tracks) > 0 {
		n := 1
		for n < len(tracks) && tracks[n].Log == tracks[0].Log {
			n++
		}
		if l, ok := oneOf(path, set, task, ids, tracks[:n]); ok {
			logs = append(logs, l)
		}
		tracks = tracks[n:]
	}
	return logs
}

// oneOf chooses one of the devices that a log tells of. They are pulled by one
// tractor, so counting all of them would count all ground as worked twice.
func oneOf(path string, set *taskdata.Set, task *taskdata.Task, ids []string, tracks []taskdata.Track) (Log, bool) {
	if slices.ContainsFunc(ids, func(id string) bool { return set.Device(id) != nil }) {
		tracks = slices.DeleteFunc(slices.Clone(tracks), func(t taskdata.Track) bool { return !slices.Contains(ids, t.Device) })
	}
	if len(tracks) == 0 {
		return Log{}, false
	}
	best := 0
	for i := range tracks {
		if detail(&tracks[i]) > detail(&tracks[best]) {
			best = i
		}
	}
	l := ofTrack(&tracks[best])
	l.By = &Device{Path: path, Set: set, Task: task, Track: tracks[best]}
	l.addRates()
	for i, t := range tracks {
		if i != best {
			l.Notes = append(l.Notes, geo.Note{Text: fmt.Sprintf(
				"the log tells of device %s too; it is left out, since both would work the same ground; %s#%s takes it instead", t.Device, path, t.Device)})
		}
	}
	return l, true
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

// ofTrack lays out what one device did in a log of a task set as the columns
// of any other log, so that one reading serves all of them.
func ofTrack(t *taskdata.Track) Log {
	l := Log{File: t.File, Log: &gnsslog.Log{Format: "ISO 11783-10", Fixes: t.Fixes, NoClock: t.NoClock}}
	if t.Zoneless {
		l.Zoneless = len(t.Fixes)
	}
	for _, text := range t.Notes {
		l.Notes = append(l.Notes, geo.Note{Count: 1, Text: text})
	}
	if t.Working != nil {
		l.working = workColumn(t.Working)
		l.Columns = append(l.Columns, *l.working)
	}
	n := t.Bar.Count
	if sections := len(t.Bar.Sections); t.State != nil && n > 0 && (sections == 0 || sections == n) {
		l.sections = &gnsslog.Column{Name: sectionStateName, Codes: t.State}
		for _, state := range t.States {
			on := make([]bool, n)
			for i := range on {
				on[i] = state.On(i)
			}
			l.open = append(l.open, on)
		}
	} else if t.Widths != nil {
		raw, codes := valuesOf(t.Widths, len(t.Fixes), mostWidth)
		l.width, l.widthUnit = &gnsslog.Column{Name: actualWidthName, Codes: codes}, "mm"
		for _, mm := range raw {
			metres := -1.0
			if mm >= 0 {
				metres = float64(mm) * millimetre
			}
			l.metres = append(l.metres, metres)
		}
	}
	return l
}

// millimetre is one in metres, the unit of lengths in the data dictionary.
const millimetre = 0.001

func workColumn(working []bool) *gnsslog.Column {
	col := &gnsslog.Column{Name: workStateName, Distinct: []string{"0", "1"}, Codes: make([]uint32, len(working))}
	for i, on := range working {
		if on {
			col.Codes[i] = 1
		}
	}
	return col
}

// appliedUnits are the entries of the data dictionary that say what was put
// down by area, and the unit of one in their values.
var appliedUnits = map[taskdata.DDI]quantity.Value{
	taskdata.ActualVolumePerArea: {Kind: quantity.VolumeRate, SI: 0.01e-9}, // 0.01 mm³/m²
	taskdata.ActualMassPerArea:   {Kind: quantity.MassRate, SI: 1e-6},      // mg/m²
	taskdata.ActualCountPerArea:  {Kind: quantity.SeedRate, SI: 0.001},     // 0.001/m²
}

// addRates notes the rates that a log of a task set tells of the bar as a
// whole, or of its bins; each bears the name of its element.
func (l *Log) addRates() {
	device := l.By.Set.Device(l.By.Track.Device)
	if device == nil {
		return
	}
	left := 0
	for _, v := range l.By.Track.Rates {
		unit, ok := appliedUnits[v.DDI]
		if !ok {
			continue
		}
		at := slices.IndexFunc(device.Elements, func(e taskdata.Element) bool { return e.ID == v.Element })
		element := &device.Elements[at]
		if element.Type == taskdata.SectionElement {
			left++
			continue
		}
		meaning, _ := v.DDI.Meaning()
		rate := Rate{Column: strings.TrimSpace(meaning.Name + " " + element.ID + " " + element.Name), Unit: unit}
		if element.Type == taskdata.BinElement {
			rate.Of, _ = PlainName(element.Name)
		}
		raw, codes := valuesOf(v, len(l.Fixes), math.MaxInt32)
		rate.codes = codes
		for _, n := range raw {
			value := math.NaN()
			if n >= 0 {
				value = float64(n)
			}
			rate.values = append(rate.values, value)
		}
		rate.wrong = make([]bool, len(raw))
		l.rates = append(l.rates, rate)
	}
	if left > 0 {
		l.Notes = append(l.Notes, geo.Note{Count: left, Text: "a rate of one section; left out, since only rates of the whole bar or of a bin are taken"})
	}
}

// mostWidth is the most that a width in a log can mean; more is what a device
// writes where it does not know.
const mostWidth = 1_000_000 // mm

// valuesOf returns for each fix the value that holds there, up to the most that
// it can mean: each distinct one once, and the code of it by fix. The first is
// below zero and stands for none.
func valuesOf(v *taskdata.Values, fixes int, most int32) (distinct []int32, codes []uint32) {
	distinct, codes = []int32{-1}, make([]uint32, fixes)
	seen := map[int32]uint32{}
	code, next := uint32(0), 0
	for i := range fixes {
		for next < len(v.Records) && int(v.Records[next]) <= i {
			raw := v.Raw[next]
			next++
			if raw < 0 || raw > most {
				code = 0
				continue
			}
			var known bool
			if code, known = seen[raw]; !known {
				code = uint32(len(distinct))
				seen[raw] = code
				distinct = append(distinct, raw)
			}
		}
		codes[i] = code
	}
	return distinct, codes
}

// Divided returns the bar, with the sections of the log's device if it has none of
// its own.
func (l Log) Divided(bar machine.Implement) machine.Implement {
	if l.By == nil || l.sections == nil || len(bar.Sections) != 1 || len(l.By.Track.Bar.Sections) < 2 {
		return bar
	}
	var weights []float64
	for _, s := range l.By.Track.Bar.Sections {
		weights = append(weights, s.Right-s.Left)
	}
	bar.Sections = machine.SectionsByWeight(bar.Width, weights)
	return bar
}
