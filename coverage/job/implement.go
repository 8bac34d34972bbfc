package job

import (
	"fmt"
	"math"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
	"lapwing/geo/plane"
	"lapwing/geo/taskdata"
)

// The types of a connector (entry 157 of the data dictionary, numbers from
// memory) whose bar is carried, not towed.
const (
	semiMounted = 2
	mounted     = 3
	ofVehicle   = 9
)

// taskImplement makes the implement of the logs of one machine from their task
// sets. The bar is that of the log with the widest one, since some sets tell its
// width only as the widest value in a log. The hitch may come from another log.
func (u *understanding) taskImplement(logs []worklog.Log) (machine.Implement, error) {
	var widest *worklog.Device
	hitch := taskdata.Hitch{AntennaToHitch: math.NaN(), AntennaRight: math.NaN(), HitchToBar: math.NaN(), Offset: math.NaN(), Connector: -1}
	file, over := "", ""
	for _, l := range logs {
		if l.By == nil {
			continue
		}
		if file == "" {
			file = l.By.Set.File
		}
		t := &l.By.Track
		if t.Bar.Width > 0 && (widest == nil || t.Bar.Width > widest.Track.Bar.Width) {
			widest = l.By
		}
		if math.IsNaN(hitch.AntennaToHitch+hitch.HitchToBar) && !math.IsNaN(t.Hitch.AntennaToHitch+t.Hitch.HitchToBar) || hitch.Connector < 0 && t.Hitch.Connector >= 0 {
			hitch = t.Hitch
		}
	}
	for _, l := range logs {
		if math.IsNaN(hitch.AntennaToHitch+hitch.HitchToBar) && l.By != nil {
			hitch, over = Hitched(&l.By.Track)
		}
	}
	if widest == nil {
		return machine.Implement{}, &InputError{File: file, Found: "no working width of the device that worked", Want: "one, or --width, or an implement in a job file"}
	}
	im := machine.Implement{Name: widest.Name(), Width: plane.Metres(widest.Track.Bar.Width)}
	if im.Width < plane.Centimetre || im.Width > plane.Reach {
		return im, &InputError{File: file, Found: fmt.Sprintf("device %s works a width of %g m", widest.Track.Device, widest.Track.Bar.Width), Want: "a width that a field can hold"}
	}
	im.Sections = u.taskSections(im.Width, widest)
	u.hang(&im, hitch, over, widest)
	return im, nil
}

// Hitched returns how the bar of a track sits to the antenna, as its set says. Where
// that says where the bar is and not where the antenna is, over is what the antenna
// is taken to be over: the pin, or without one the zero of the device, from which
// its offsets are measured and of which a machine that drives itself logs places.
func Hitched(t *taskdata.Track) (h taskdata.Hitch, over string) {
	h = t.Hitch
	switch {
	case !math.IsNaN(h.AntennaToHitch):
	case !math.IsNaN(h.HitchToBar):
		h.AntennaToHitch, h.AntennaRight, over = 0, 0, "the pin"
	case !math.IsNaN(t.Bar.X):
		h.AntennaToHitch, h.AntennaRight, h.HitchToBar, h.Offset = -t.Bar.X, 0, 0, t.Bar.Y
		over = "the zero of the device"
	}
	return h, over
}

// together is how far neighbouring sections of a set may stand apart or lap, in
// metres, before a warning says so. Rounding to whole millimetres on either side
// makes 1 or 2 mm. Judgement; no test holds it closely.
const together = 0.005

// taskSections lays the sections of a set on a bar. Here each begins where the
// one before ends; in a set they may stand apart or lap a little, and meet
// in the middle then.
func (u *understanding) taskSections(width plane.Length, w *worklog.Device) []machine.Section {
	told := w.Track.Bar.Sections
	if len(told) < 2 {
		return machine.EqualSections(width, 1)
	}
	weights := make([]float64, len(told))
	edge, apart := told[0].Left, 0.0
	for i := range told {
		next := told[i].Right
		if i+1 < len(told) {
			apart = max(apart, math.Abs(told[i+1].Left-next))
			next = (next + told[i+1].Left) / 2
		}
		weights[i], edge = max(0, next-edge), max(edge, next)
	}
	if apart > together {
		u.warn(field.Warning{File: w.Set.File, Text: fmt.Sprintf(
			"sections of device %s stand apart or lap by up to %.3f m; each is taken to reach halfway to the next", w.Track.Device, apart)})
	}
	return machine.SectionsByWeight(width, weights)
}

// hang puts the bar where the set says it hangs. over is what the antenna is taken
// to be over; "" where the set says where it is.
func (u *understanding) hang(im *machine.Implement, h taskdata.Hitch, over string, w *worklog.Device) {
	warn := func(text string) {
		u.warn(field.Warning{File: w.Set.File, Text: fmt.Sprintf("device %s: %s", w.Track.Device, text)})
	}
	behind := h.AntennaToHitch + h.HitchToBar
	if math.IsNaN(behind) || math.Abs(behind) > 100 {
		warn("the set does not say where the bar is from the antenna; it is taken to be right under it; an implement in a job file says otherwise")
		return
	}
	if over != "" {
		side := "behind"
		if behind < 0 {
			side = "ahead of"
		}
		warn(fmt.Sprintf("the set says where the bar is and not where the antenna is; that is taken to be over %s, the bar %.2f m %s it; an implement in a job file says otherwise",
			over, math.Abs(behind), side))
	}
	im.AntennaRight, im.Offset = lengthOrZero(h.AntennaRight), lengthOrZero(h.Offset)
	if im.Towed = Towed(h); !im.Towed {
		im.AntennaToHitch = plane.Metres(behind)
		return
	}
	if h.Connector <= 0 {
		warn(fmt.Sprintf("the set does not say how it is hitched; taken as towed, %.2f m behind the pin", h.HitchToBar))
	}
	im.AntennaToHitch, im.HitchToBar = plane.Metres(h.AntennaToHitch), plane.Metres(h.HitchToBar)
}

// Towed reports whether a bar follows a pin. One that is far behind a pin of
// no known kind is taken to: on straight lines it makes no difference, and in
// turns little where the bar is near the pin.
func Towed(h taskdata.Hitch) bool {
	switch h.Connector {
	case semiMounted, mounted, ofVehicle:
		return false
	}
	return h.HitchToBar > 0
}

func lengthOrZero(metres float64) plane.Length {
	if math.IsNaN(metres) {
		return 0
	}
	return plane.Metres(metres)
}

// ImplementOf makes the implement of the logs of one machine, from the task sets
// that they are of.
func ImplementOf(logs []worklog.Log) (machine.Implement, error) {
	u := &understanding{job: &Job{}}
	return u.taskImplement(logs)
}
