// Package inspect says what a file holds without assessing it: a log, boundaries
// or a task set.
//
//	inspect.go  any file
//	log.go      a log: time, silences, columns, passes
//	taskset.go  a task set: fields, devices, tasks
package inspect

import (
	"errors"
	"fmt"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

// Facts are what one file holds: a log, boundaries or a task set.
type Facts struct {
	File       string
	Format     string  // such as "CSV" or "GeoJSON"
	Log        *Log    // nil where the file is no log
	Set        *Set    // nil where the file is no task set
	Boundaries []Field // of a boundary file or a task set
	Extent     geo.Extent
	Warnings   []field.Warning
}

// A Field is a boundary in figures.
type Field struct {
	ID           string // in a task set
	Name         string // "" where the file has none
	Parts, Holes int
	Area         float64 // m² on the ellipsoid, holes taken out
	Perimeter    float64 // m, holes included
	Stated       float64 // m², as the task set itself says; 0 where it does not
}

// File says what the file at a path holds; "-" is standard input. Times without
// a zone are taken to be in the given one; nil means UTC. What is wrong with the
// file is a [*job.InputError].
func File(in job.Inputs, path string, zone *time.Location) (*Facts, error) {
	i := inspection{zone: zone, zoned: zone != nil}
	if zone == nil {
		i.zone = time.UTC
	}
	found, err := in.Look(path, gnsslog.Options{Zone: i.zone, Keep: worklog.Understood})
	var unopened source.Reason
	switch {
	case errors.As(err, &unopened):
		return nil, &job.InputError{File: path, Found: err.Error(), Want: "a log or a boundary", Reason: err}
	case err != nil:
		return nil, spec.AsInput(err)
	}
	i.facts = Facts{File: found.Name, Extent: geo.NoExtent()}
	switch {
	case found.Set != nil:
		err = i.set(found.SetPath, found.Set, found.IDs)
	case found.Log != nil:
		err = i.log(found.Log)
	default:
		err = i.boundary(found.Boundary)
	}
	if err != nil {
		return nil, spec.AsInput(err)
	}
	return &i.facts, nil
}

// An inspection is facts being gathered.
type inspection struct {
	facts Facts
	zone  *time.Location
	zoned bool // the zone was given
}

func (i *inspection) warn(warnings ...field.Warning) {
	for _, w := range warnings {
		w.Text = spec.OneLine(w.Text)
		i.facts.Warnings = append(i.facts.Warnings, w)
	}
}

// boundary gathers the facts of a boundary file.
func (i *inspection) boundary(file *boundary.File) error {
	i.warn(worklog.Noted(i.facts.File, file.Notes)...)
	i.facts.Format = file.Format
	for k, b := range file.Boundaries {
		if err := i.field("", b.Name, b.Parts); err != nil {
			return &job.InputError{File: i.facts.File, Where: fmt.Sprintf("boundary %d", k+1), Found: err.Error()}
		}
	}
	return nil
}

// field gathers the facts of one boundary.
func (i *inspection) field(id, name string, parts []geo.Polygon) error {
	f, err := field.NewField(name, parts)
	if err != nil {
		return err
	}
	facts := Field{ID: id, Name: name, Parts: len(parts), Perimeter: f.Perimeter().Metres()}
	for _, part := range parts {
		facts.Holes += len(part.Holes)
		for _, p := range part.Shell {
			i.facts.Extent.Add(p)
		}
	}
	for _, p := range f.Boundary {
		facts.Area += p.Area().SquareMetres()
	}
	i.facts.Boundaries = append(i.facts.Boundaries, facts)
	return nil
}
