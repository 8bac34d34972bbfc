package job

import (
	"fmt"
	"math"
	"strconv"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/boundary"
)

// worked stands for a boundary that is to be taken from the worked ground.
const worked = "worked"

// field reads the field's boundary: the one that the job names, or, where it
// names none, that of the field on which tasks were done. Else it is left to
// be taken from the worked ground. The name is that of the job or of the
// boundary file, or of the file at instead.
func (r *reading) field(instead string) error {
	path, name := r.ground, r.fieldName
	if own := r.taskGround(); own != "" && (path == "" || path == referenceOf(own).path) {
		path = own
	}
	if path == "" || path == worked {
		if name == "" {
			name = baseName(instead)
		}
		r.job.Field = coverage.Field{Name: name, Worked: true}
		return nil
	}
	file, err := r.readBoundary(path)
	if err != nil {
		return err
	}
	b, err := chosen(path, file, name)
	if err != nil {
		return err
	}
	if name == "" && isSet(path) {
		name = b.Name
	}
	if name == "" {
		name = baseName(path)
	}
	if r.job.Field, err = coverage.NewField(name, b.Parts); err != nil {
		return &InputError{File: path, Found: err.Error()}
	}
	return r.near(path, b)
}

// chosen returns the boundary of the field of that name. A file with one
// boundary holds the field, whatever it calls it.
func chosen(path string, file *boundary.File, name string) (boundary.Boundary, error) {
	var names []string
	var fits []boundary.Boundary
	for _, b := range file.Boundaries {
		names = append(names, b.Name)
		if b.Name == name && name != "" {
			fits = append(fits, b)
		}
	}
	switch {
	case len(file.Boundaries) == 1:
		return file.Boundaries[0], nil
	case len(fits) == 1:
		return fits[0], nil
	case len(fits) > 1:
		return boundary.Boundary{}, &InputError{File: path, Found: fmt.Sprintf("found %d boundaries called %q", len(fits), name), Want: "one"}
	case name == "":
		return boundary.Boundary{}, &InputError{File: path, Found: fmt.Sprintf("found %d boundaries, %s", len(names), quotedList(names)), Want: "one, or a job file that names the field"}
	}
	return boundary.Boundary{}, &InputError{File: path, Found: fmt.Sprintf("no boundary called %q among %d", name, len(names)), Want: "one of " + quotedList(names)}
}

// An Extent is a box of longitudes and latitudes; longitudes run on without a
// jump from the first.
type Extent struct{ West, East, South, North float64 }

func noExtent() Extent {
	return Extent{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
}

func (x *Extent) add(p geo.LonLat) {
	if !math.IsInf(x.West, 0) {
		p.Lon = x.West + math.Remainder(p.Lon-x.West, 360)
	}
	x.West, x.East = min(x.West, p.Lon), max(x.East, p.Lon)
	x.South, x.North = min(x.South, p.Lat), max(x.North, p.Lat)
}

// String writes the box for people, to about 10 m.
func (x Extent) String() string {
	return fmt.Sprintf("longitude %.4f to %.4f, latitude %.4f to %.4f", x.West, x.East, x.South, x.North)
}

// farAway is how far from the boundary, in degrees of latitude, a log may
// lie: 50 km, which no machine works from a field in one log.
const farAway = 50 / 111.0

// holds reports whether p lies in the box or within about 50 km of it.
func (x Extent) holds(p geo.LonLat) bool {
	middle := (x.West + x.East) / 2
	wide := farAway / max(0.01, math.Cos((x.South+x.North)/2*math.Pi/180))
	return p.Lat >= x.South-farAway && p.Lat <= x.North+farAway &&
		math.Abs(math.Remainder(p.Lon-middle, 360)) <= (x.East-x.West)/2+wide
}

// near sees to it that at least one fix lies near the field.
func (r *reading) near(path string, b boundary.Boundary) error {
	field, tracks := noExtent(), noExtent()
	for _, part := range b.Parts {
		for _, p := range part.Shell {
			field.add(p)
		}
	}
	swapped, first := "", ""
	for _, m := range r.job.Machines {
		for _, t := range m.Tracks {
			if first == "" {
				first = t.File
			}
			for _, f := range t.Fixes {
				if field.holds(f.At) {
					return nil
				}
				if swapped == "" && field.holds(geo.LonLat{Lon: f.At.Lat, Lat: f.At.Lon}) {
					swapped = t.File
				}
				tracks.add(f.At)
			}
		}
	}
	switch {
	case first == "": // no fixes at all: nothing to compare
		return nil
	case swapped != "":
		return &InputError{File: swapped, Found: "latitude and longitude look swapped: only then do its fixes lie on the field",
			Want: "the two the right way round, here or in " + strconv.Quote(path)}
	}
	return &InputError{File: first, Found: "no fix lies on or near the field: the fixes span " + tracks.String(),
		Want: "fixes on " + field.String() + " as in " + path}
}
