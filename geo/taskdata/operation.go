package taskdata

import (
	"fmt"
	"strconv"
	"strings"
)

// A Class is the class of a device, as it stands in its NAME (ISO 11783-5): what
// kind of work it is made for.
type Class int

// classOf reads the class in the NAME of a device, of sixteen hexadecimal digits:
// bits 49 to 55 of its 64. It is 0, "non-specific", where there is no NAME.
func classOf(name string) Class {
	n, err := strconv.ParseUint(strings.TrimSpace(name), 16, 64)
	if err != nil {
		return 0
	}
	return Class(n >> 49 & 0x7f)
}

// classWork is what devices of a class do, for the classes that say it; a tractor
// pulls anything. Numbers as open readers of the format list them.
var classWork = map[Class]string{2: "tillage", 3: "tillage", 4: "sowing and planting", 5: "fertilizing", 6: "crop protection",
	7: "harvesting", 8: "harvesting", 9: "forage harvesting", 10: "irrigation", 11: "transport"}

// practiceWork are the values of entry 179, from memory; open readers list the
// words in the same order.
var practiceWork = []string{"", "fertilizing", "sowing and planting", "crop protection", "tillage", "baling", "mowing", "wrapping",
	"harvesting", "forage harvesting", "transport", "swathing"}

// Operations says in up to three ways, from the surest down, of which kind of work
// a task is; "" where a way says nothing. It is the practice that the task names,
// that which the device told (entry 179), and what devices of its class do. What
// one way calls it means nothing in another.
func (s *Set) Operations(t *Task, device string, log *Log) (ways [3]string) {
	ways[0] = strings.ToLower(strings.TrimSpace(t.Practice))
	d := s.Device(device)
	if d == nil {
		return ways
	}
	ways[1] = d.practice(log)
	ways[2] = classWork[d.Class]
	return ways
}

// practice is the practice that a device told: by a property of an element, or in
// a log, there the last value that says anything.
func (d *Device) practice(log *Log) string {
	for i := range d.Elements {
		if word := practiceWord(d.Elements[i].Properties[CulturalPractice]); word != "" {
			return word
		}
	}
	if log == nil {
		return ""
	}
	for i := range log.Values {
		v := &log.Values[i]
		if v.DDI != CulturalPractice || d.element(v.Element) < 0 {
			continue
		}
		for k := len(v.Raw) - 1; k >= 0; k-- {
			if word := practiceWord(v.Raw[k]); word != "" {
				return word
			}
		}
	}
	return ""
}

func practiceWord(raw int32) string {
	switch {
	case raw <= 0:
		return ""
	case int(raw) < len(practiceWork):
		return practiceWork[raw]
	}
	return fmt.Sprintf("practice %d", raw)
}
