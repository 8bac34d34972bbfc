package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage"
	"lapwing/geo"
)

// worked stands for a boundary that is to be taken from the worked ground.
const worked = "worked"

// field reads the field's boundary: the one that the job names, or, where it
// names none, that of the field on which tasks were done. Else it is left to
// be taken from the worked ground. The name is that of the job or of the
// boundary file, or of the file at instead. There may be several fields.
func (r *reading) field(instead string) error {
	path, name := r.ground, r.fieldName
	if own := r.taskGround(); own != "" && len(r.more) == 0 && (path == "" || path == r.referenceOf(own).path) {
		path = own
	} else if r.many && path == "" {
		path = r.taskGrounds()
	}
	if path == "" || path == worked {
		if name == "" {
			name = baseName(instead)
		}
		r.job.Field = coverage.Field{Name: name, Worked: true}
		return nil
	}
	found, err := r.grounds(append([]string{path}, r.more...))
	if err != nil {
		return err
	}
	if found, err = r.chosen(found, name); err != nil {
		return err
	}
	if len(found) == 1 {
		if name == "" && !r.isSet(path) {
			name = baseName(found[0].path)
		}
		if name != "" {
			found[0].name = name
		}
		r.job.Field, err = found[0].field()
		if err != nil {
			return err
		}
		return r.near(found)
	}
	return r.fields(found)
}

// A namedGround is the boundary of one field.
type namedGround struct {
	path, name string
	own        bool // the name is the file's own
	parts      []geo.Polygon
}

func (g *namedGround) field() (coverage.Field, error) {
	f, err := coverage.NewField(g.name, g.parts)
	if err != nil {
		return f, &InputError{File: g.path, Found: err.Error()}
	}
	return f, nil
}

// grounds reads boundary files. Boundaries of one name are parts of one field;
// those of a task set are told apart by more than their names.
func (r *reading) grounds(paths []string) (out []namedGround, err error) {
	for _, path := range paths {
		file, err := r.readBoundary(path)
		if err != nil {
			return nil, err
		}
		for i, b := range file.Boundaries {
			g := namedGround{path: path, name: b.Name, own: b.Name != "", parts: b.Parts}
			at := slices.IndexFunc(out, func(o namedGround) bool { return o.own && o.name == g.name && !r.isSet(path) })
			switch {
			case at >= 0:
				out[at].parts = append(slices.Clone(out[at].parts), g.parts...)
				continue
			case !g.own && len(file.Boundaries) == 1:
				g.name = baseName(path)
			case !g.own:
				g.name = fmt.Sprintf("%s %d", baseName(path), i+1)
			}
			out = append(out, g)
		}
	}
	return out, nil
}

// chosen returns the field of that name, or all where there is no name. A
// single field is it, whatever its file calls it.
func (r *reading) chosen(found []namedGround, name string) ([]namedGround, error) {
	var names []string
	for _, g := range found {
		if name != "" && g.own && g.name == name {
			return []namedGround{g}, nil
		}
		names = append(names, g.name)
	}
	path := found[0].path
	switch {
	case len(found) == 1:
		return found, nil
	case name != "":
		return nil, &InputError{File: path, Found: fmt.Sprintf("no boundary called %q among %d", name, len(names)), Want: "one of " + quotedList(names)}
	case !r.many:
		return nil, &InputError{File: path, Found: fmt.Sprintf("found %d boundaries, %s", len(names), quotedList(names)), Want: "one, or a job file that names the field"}
	}
	return found, nil
}

// fields makes a field of each ground that a fix is on or beside.
func (r *reading) fields(found []namedGround) error {
	if err := r.near(found); err != nil {
		return err
	}
	without := 0
	var out []coverage.Field
	for i := range found {
		if !r.touched(&found[i]) {
			without++
			continue
		}
		f, err := found[i].field()
		if err != nil {
			return err
		}
		out = append(out, f)
	}
	if len(out) == 0 {
		return &InputError{File: found[0].path, Found: fmt.Sprintf("no fix on any of %d fields", len(found)), Want: "fixes on one of them at least"}
	}
	if without > 0 {
		r.warn(coverage.Warning{Count: without, Text: "no fix lies on a field; it is left out"})
	}
	r.job.Field, r.job.Others = out[0], out[1:]
	return nil
}

// touched reports whether a fix lies in the box around a ground.
func (r *reading) touched(g *namedGround) bool {
	box := g.extent()
	for _, m := range r.job.Machines {
		for _, t := range m.Tracks {
			for _, f := range t.Fixes {
				lon := box.West + math.Remainder(f.At.Lon-box.West, 360)
				if lon >= box.West && lon <= box.East && f.At.Lat >= box.South && f.At.Lat <= box.North {
					return true
				}
			}
		}
	}
	return false
}

// extent is the box around a ground.
func (g *namedGround) extent() Extent {
	x := noExtent()
	for _, part := range g.parts {
		for _, p := range part.Shell {
			x.add(p)
		}
	}
	return x
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

// near sees to it that at least one fix lies near one of the fields.
func (r *reading) near(found []namedGround) error {
	path := found[0].path
	tracks := noExtent()
	var boxes []Extent
	for i := range found {
		boxes = append(boxes, found[i].extent())
	}
	holds := func(p geo.LonLat) bool {
		return slices.ContainsFunc(boxes, func(x Extent) bool { return x.holds(p) })
	}
	swapped, first := "", ""
	for _, m := range r.job.Machines {
		for _, t := range m.Tracks {
			if first == "" {
				first = t.File
			}
			for _, f := range t.Fixes {
				if holds(f.At) {
					return nil
				}
				if swapped == "" && holds(geo.LonLat{Lon: f.At.Lat, Lat: f.At.Lon}) {
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
		Want: "fixes on " + boxes[0].String() + " as in " + path}
}
