package facts

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lapwing/coverage/inspect"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// describeSet says what a task set holds, its boundaries aside.
func describeSet(row func(name, format string, args ...any), set *inspect.Set, units quantity.Units) {
	for _, f := range set.Unbounded {
		row("field", "%s: no boundary", f)
	}
	for _, d := range set.Devices {
		row("device", "%s %s: %d %s", d.ID, d.Name, d.Elements, words.Plural(d.Elements, "element"))
		for _, b := range d.Bars {
			row("bar", "%s", describeBar(b, units))
		}
	}
	for _, t := range set.Tasks {
		text := t.ID
		if t.Name != "" {
			text += " " + t.Name
		}
		if t.Field != "" {
			text += ", on " + t.Field
		}
		if len(t.Devices) > 0 {
			text += ", by " + strings.Join(t.Devices, " and ")
		}
		if len(t.Logs) == 0 {
			text += ", no log"
		}
		row("task", "%s", text)
		for _, log := range t.Logs {
			describeTaskLog(row, log)
		}
	}
}

// describeBar says how an assessment would take a bar.
func describeBar(b inspect.Bar, units quantity.Units) string {
	text := "width not known"
	if b.Width > 0 {
		text = units.Metres(b.Width) + " wide"
	}
	if b.Sections > 0 {
		text += fmt.Sprintf(", %d %s", b.Sections, words.Plural(b.Sections, "section"))
	}
	if math.IsNaN(b.Behind) {
		return text + "; where it is from the antenna is not known"
	}
	hung := "carried"
	if b.Towed {
		hung = "towed"
	}
	text += ", " + hung + ", " + side(b.Behind, units, "behind the antenna", "ahead of the antenna")
	if b.Right != 0 && !math.IsNaN(b.Right) {
		text += ", " + side(b.Right, units, "to the right of it", "to the left of it")
	}
	if b.Over != "" {
		text += ", which is taken to be over " + b.Over
	}
	return text
}

func side(metres float64, units quantity.Units, positive, negative string) string {
	if metres < 0 {
		return units.Metres(-metres) + " " + negative
	}
	return units.Metres(metres) + " " + positive
}

// describeTaskLog says what one log of a task holds.
func describeTaskLog(row func(name, format string, args ...any), log inspect.TaskLog) {
	text := fmt.Sprintf("%s: %d fixes", log.Name, log.Fixes)
	if log.NoClock {
		text += " without times"
	} else {
		zone := "UTC"
		if log.Zoneless {
			zone = "by a clock without a zone"
		}
		text += fmt.Sprintf(", %s to %s %s, every %s", log.From.UTC().Format("2006-01-02 15:04:05"), log.To.UTC().Format("2006-01-02 15:04:05"), zone, log.Interval.Round(time.Millisecond))
		if log.Silences > 0 {
			text += fmt.Sprintf(", %d %s", log.Silences, words.Plural(log.Silences, "silence"))
		}
	}
	row("log", "%s", text)
	var quality []string
	for _, q := range log.Qualities {
		quality = append(quality, fmt.Sprintf("%s %d", q.Quality, q.Fixes))
	}
	row("", "fix quality: %s", strings.Join(quality, ", "))
	switch {
	case log.Device == "":
		row("", "it tells of no device's work")
	case log.Working < 0:
		row("", "%s: whether it works is not told; it would be worked out from the motion", log.Device)
	default:
		row("", "%s: working in %d of %d fixes", log.Device, log.Working, log.Fixes)
	}
	if len(log.Values) > 0 {
		row("", "tells of: %s", strings.Join(log.Values, ", "))
	}
}
