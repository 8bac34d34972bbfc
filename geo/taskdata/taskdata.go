// Package taskdata reads task sets of ISO 11783-10, versions 3 and 4: fields
// with their boundaries, devices with their elements, tasks, and the logs that
// were kept while they were worked.
//
// A set is a TASKDATA.XML, a folder or a zip archive that holds one. [Read]
// goes this way:
//
//	folder.go     where the files are; no case in names, no path that leaves
//	element.go    XML to elements, with the line of each
//	partfield.go  PFD: names and ground (set right by geo/boundary)
//	device.go     DVC: elements, their geometry and how they hang together
//	task.go       TSK: which field, which devices, which logs
//	operation.go  of which kind of work a task is
//	totals.go     what its devices summed up
//	header.go     TLG*.XML: what a record holds
//	timelog.go    TLG*.BIN: fixes, and values that last until changed
//
// [Set.Tracks] then looks at a task as a machine's day: fixes, whether the
// bar worked at each, which of its sections, where they sit (bar.go, work.go,
// hitch.go, track.go).
//
// The text of the standard is not free. Record layout and enumerations follow
// what open readers of it agree on, the data dictionary its published export;
// where a fact is known from memory only, the comment beside it says so.
//
// Everything is in SI units and in degrees on WGS 84. What is missing, twice
// there or left out is in the notes, as long as the rest can be used.
package taskdata

import (
	"lapwing/geo"
)

// A Set is what one task set holds, in the order of the file.
type Set struct {
	File       string // the TASKDATA.XML read, as it stands in messages
	Version    string // "4.3"; "" where the file does not say
	Partfields []Partfield
	Devices    []Device
	Tasks      []Task
	Notes      []geo.Note
}

// A Partfield is a field.
type Partfield struct {
	ID, Name string
	Crop     string  // what grows there; "" where the set does not say
	Area     float64 // m², as the set states it; 0 where it does not
	// Boundary is the ground, as geo/boundary makes it; empty where the set
	// has none or Fault says why it cannot be used.
	Boundary []geo.Polygon
	Fault    *SyntaxError

	crop string // the id of the crop type
}

// A Task is one job of work: on one field, by some devices.
type Task struct {
	ID, Name  string
	Partfield string   // an id; "" where the set does not say
	Practice  string   // what kind of work it is, as the set's own list of practices calls it; "" where it does not say
	Devices   []string // ids of the devices allocated, each once
	Couplings []Coupling
	Logs      []*Log
	// Totals are what the task's effective times (TIM) say was done in all; the last of
	// several values of an element counts.
	Totals []Total

	practice string // the id of the practice
}

// A Total is a sum that a device kept over a task, raw.
type Total struct {
	DDI     DDI
	Element string // the id of the device element
	Raw     int32
}

// A Coupling says that two devices hang together at two connectors, all ids.
type Coupling struct{ DeviceA, ConnectorA, DeviceB, ConnectorB string }

// A SyntaxError says that a set, or a part of it, cannot be read, and why.
type SyntaxError = geo.SyntaxError

// Partfield returns the field with an id; nil if there is none. Of several
// the first counts.
func (s *Set) Partfield(id string) *Partfield {
	return byID(s.Partfields, id, func(p *Partfield) string { return p.ID })
}

// Device returns the device with an id; nil if there is none.
func (s *Set) Device(id string) *Device {
	return byID(s.Devices, id, func(d *Device) string { return d.ID })
}

// Task returns the task with an id; nil if there is none.
func (s *Set) Task(id string) *Task { return byID(s.Tasks, id, func(t *Task) string { return t.ID }) }

func byID[T any](of []T, id string, idOf func(*T) string) *T {
	for i := range of {
		if id != "" && idOf(&of[i]) == id {
			return &of[i]
		}
	}
	return nil
}
