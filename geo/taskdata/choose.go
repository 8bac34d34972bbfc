package taskdata

import (
	"fmt"
	"slices"
)

// A Choice is a part of a set, named by ids: of tasks, of fields, of devices. Of a
// kind that no id names all are meant.
type Choice struct{ tasks, fields, devices []string }

// Choose sorts ids by what of the set they name. An id that names nothing is an
// error.
func (s *Set) Choose(ids []string) (Choice, error) {
	var c Choice
	for _, id := range ids {
		switch {
		case s.Task(id) != nil:
			c.tasks = append(c.tasks, id)
		case s.Partfield(id) != nil:
			c.fields = append(c.fields, id)
		case s.Device(id) != nil:
			c.devices = append(c.devices, id)
		default:
			return c, fmt.Errorf("no field, task or device %q in the set", id)
		}
	}
	return c, nil
}

// Names reports whether ids name some kind of thing at all.
func (c Choice) Names() (tasks, fields, devices bool) {
	return len(c.tasks) > 0, len(c.fields) > 0, len(c.devices) > 0
}

// Task reports whether a task is meant, and one on its field.
func (c Choice) Task(t *Task) bool { return meant(c.tasks, t.ID) && meant(c.fields, t.Partfield) }

// Field reports whether a field is meant.
func (c Choice) Field(id string) bool { return meant(c.fields, id) }

// Device reports whether a device is meant.
func (c Choice) Device(id string) bool { return meant(c.devices, id) }

func meant(ids []string, id string) bool { return len(ids) == 0 || slices.Contains(ids, id) }
