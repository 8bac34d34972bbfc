package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage/field"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/source"
)

// field finds the fields of the job: those of the boundaries that it names, or,
// where it names none, that on which tasks were done. Else the one field is left
// to be taken from the worked ground. Its name is that of the job or of the
// boundary file, or of the job file or the first log.
func (u *understanding) field() error {
	name := u.spec.Field
	named := u.boundaries()
	if len(named) == 0 {
		if name == "" {
			instead := u.spec.File
			if instead == "" {
				instead = tracksOf(u.spec)[0].Path
			}
			name = source.Stem(instead)
		}
		u.job.Fields = []field.Field{{Name: name, Worked: true}}
		return nil
	}
	all, err := u.grounds(named)
	if err != nil {
		return err
	}
	all = u.withoutTwins(all)
	u.fieldNames = ownNames(all)
	found, err := u.chosen(all, name)
	if err != nil {
		return err
	}
	if len(found) > 1 {
		return u.fields(found)
	}
	ground := found[0]
	if name == "" && !named[0].isSet {
		name = source.Stem(found[0].path)
	}
	if name != "" {
		found[0].name = name
	}
	f, err := found[0].field()
	if err != nil {
		return err
	}
	u.job.Fields, u.lands = []field.Field{f}, []namedBoundary{ground}
	return u.near(found)
}

// A namedFile is a file with boundaries, or what of a task set bounds fields.
type namedFile struct {
	reference
	name string // as it stands in messages
}

// boundaries are the files that bound the job's fields: those that it names,
// or the task set that its logs are of.
func (u *understanding) boundaries() (files []namedFile) {
	for _, b := range u.spec.Boundary {
		files = append(files, namedFile{u.sources.references[b.Path], b.Path})
	}
	if u.spec.Worked || len(files) > 1 {
		return files
	}
	ofSet := func(path string, ids ...string) []namedFile {
		shown := path
		for _, id := range ids {
			shown += "#" + id
		}
		return []namedFile{{reference{path: path, ids: ids, isSet: true}, shown}}
	}
	if field, path := u.taskField(); field != nil && (len(files) == 0 || files[0].name == path) {
		return ofSet(path, field.ID)
	}
	if path := u.taskSet(); u.many && len(files) == 0 && path != "" {
		return ofSet(path)
	}
	return files
}

// A namedBoundary is the boundary of one field.
type namedBoundary struct {
	path, name string
	own        bool     // the name is the file's own
	names      []string // the file's own names for it and for its twins
	parts      []geo.Polygon
	// set is the path of the task set that the ground is of, and ids are those of
	// its field there, and of its twins; "" and nil for what is of another file.
	set string
	ids []string
}

func (g *namedBoundary) field() (field.Field, error) {
	f, err := field.NewField(g.name, g.parts)
	if err != nil {
		return f, &InputError{File: g.path, Found: err.Error()}
	}
	return f, nil
}

// mostFields is how many boundaries one file may have: a province's, not a
// country's. Judgement.
const mostFields = 50_000

// grounds gathers the boundaries in files. Those of one name are parts of one
// field, except in a task set, where fields have ids.
func (u *understanding) grounds(files []namedFile) (out []namedBoundary, err error) {
	ofName := map[string]int{} // index in out of what has a name of its own
	joined := map[int]bool{}   // those of several boundaries
	for _, f := range files {
		bounds, ids, err := u.boundsOf(f)
		if err != nil {
			return nil, err
		}
		if len(bounds) > mostFields {
			return nil, &InputError{File: f.name, Found: fmt.Sprintf("found %d boundaries", len(bounds)), Want: fmt.Sprintf("%d at most", mostFields)}
		}
		for i, b := range bounds {
			g := namedBoundary{path: f.name, name: b.Name, own: b.Name != "", parts: slices.Clip(b.Parts)}
			if f.isSet {
				g.set, g.ids = f.path, []string{ids[i]}
			}
			at, known := ofName[g.name]
			switch {
			case known && g.own && !f.isSet:
				out[at].parts = append(out[at].parts, g.parts...)
				joined[at] = true
				continue
			case g.own:
				g.names = []string{g.name}
			case len(bounds) == 1:
				g.name = source.Stem(f.name)
			default:
				g.name = fmt.Sprintf("%s %d", source.Stem(f.name), i+1)
			}
			if g.own && !known {
				ofName[g.name] = len(out)
			}
			out = append(out, g)
		}
	}
	for at := range out {
		if !joined[at] {
			continue
		}
		g := &out[at]
		parts, notes, err := boundary.Unite(g.path, g.parts)
		if err != nil {
			return nil, err
		}
		u.warnAll(worklog.Noted(g.path, notes))
		g.parts = parts
	}
	return out, nil
}

// boundsOf returns the boundaries in one file, of a task set with the ids of their
// fields, and passes on its reader's notes.
func (u *understanding) boundsOf(f namedFile) ([]boundary.Boundary, []string, error) {
	if f.isSet {
		return setGrounds(f.reference, u.sources.sets[f.path])
	}
	file := u.sources.boundaries[f.name]
	u.warnAll(worklog.Noted(f.name, file.Notes))
	return file.Boundaries, nil, nil
}

// chosen returns the field of that name, or all where there is no name. A single
// field is returned whatever its file calls it.
func (u *understanding) chosen(found []namedBoundary, name string) ([]namedBoundary, error) {
	var names []string
	for _, g := range found {
		if name != "" && slices.Contains(g.names, name) {
			return []namedBoundary{g}, nil
		}
		names = append(names, g.name)
	}
	path := found[0].path
	switch {
	case len(found) == 1:
		return found, nil
	case name != "":
		return nil, &InputError{File: path, Found: fmt.Sprintf("no boundary called %q among %d", name, len(names)), Want: "one of " + geo.Quoted(names)}
	case !u.many:
		return nil, &InputError{File: path, Found: fmt.Sprintf("found %d boundaries, %s", len(names), geo.Quoted(names)), Want: "one, or a job file that names the field"}
	}
	return found, nil
}

// fields makes a field of each ground that a fix of work on it is on or beside.
func (u *understanding) fields(found []namedBoundary) error {
	if err := u.near(found); err != nil {
		return err
	}
	without := 0
	var out []field.Field
	for i, is := range u.touched(found) {
		if !is {
			without++
			continue
		}
		f, err := found[i].field()
		if err != nil {
			return err
		}
		out = append(out, f)
		u.lands = append(u.lands, found[i])
	}
	if len(out) == 0 {
		want := "fixes on one of them at least"
		if len(u.devices) > 0 {
			want += ", of a task on it"
		}
		return &InputError{File: found[0].path, Found: fmt.Sprintf("no fix on any of %d fields", len(found)), Want: want}
	}
	if without > 0 {
		u.warn(field.Warning{Count: without, Text: "no fix lies on a field; it is left out"})
	}
	u.job.Fields = out
	return nil
}

// touched reports of each ground whether a fix lies in the box around it, of a log
// that may be of work there.
func (u *understanding) touched(found []namedBoundary) []bool {
	const perDegree = 50 // cells: 2 km from south to north, a few fields; speed alone
	boxes := make([]geo.Extent, len(found))
	for i := range found {
		boxes[i] = found[i].extent()
	}
	in := newBoxGrid(boxes, perDegree)
	touched := make([]bool, len(found))
	for _, m := range u.job.Machines {
		for _, t := range m.Tracks {
			by := u.byFile[t.File]
			mark := func(near []int, p geo.LonLat) []int {
				return slices.DeleteFunc(near, func(i int) bool {
					touched[i] = touched[i] || boxes[i].Holds(p) && u.isOf(by, &found[i])
					return touched[i]
				})
			}
			for _, f := range t.Fixes {
				in.large = mark(in.large, f.At)
				c := in.cell(f.At.Lon, f.At.Lat)
				if near := in.cells[c]; len(near) > 0 {
					in.cells[c] = mark(near, f.At)
				}
			}
		}
	}
	return touched
}

// A boxGrid finds the boxes that a place may lie in by the cell of a grid that it
// is in, so that many boxes cost a fix no more than a few.
type boxGrid struct {
	perDegree float64
	cells     map[gridCell][]int // the boxes that reach into each cell
	large     []int              // those in too many cells, and those past 180 degrees
}

type gridCell struct{ x, y int32 }

func newBoxGrid(boxes []geo.Extent, perDegree float64) *boxGrid {
	const mostCells = 100 // of a box; one of more is looked at for each fix. Speed alone
	g := &boxGrid{perDegree: perDegree, cells: map[gridCell][]int{}}
	for i, x := range boxes {
		from, to := g.cell(x.West, x.South), g.cell(x.East, x.North)
		if !(x.West >= -180 && x.East <= 180) || int(to.x-from.x+1)*int(to.y-from.y+1) > mostCells {
			g.large = append(g.large, i)
			continue
		}
		for c := from; c.y <= to.y; c.y++ {
			for c.x = from.x; c.x <= to.x; c.x++ {
				g.cells[c] = append(g.cells[c], i)
			}
		}
	}
	return g
}

func (g *boxGrid) cell(lon, lat float64) gridCell {
	return gridCell{int32(math.Floor(lon * g.perDegree)), int32(math.Floor(lat * g.perDegree))}
}

// extent is the box around a ground.
func (g *namedBoundary) extent() geo.Extent {
	x := geo.NoExtent()
	for _, part := range g.parts {
		for _, p := range part.Shell {
			x.Add(p)
		}
	}
	return x
}

// farAway is how far from the boundary, in degrees of latitude, a log may
// lie: 50 km, which no machine works from a field in one log. Judgement; no test fails
// where it is halved or doubled.
const farAway = 50 / 111.0

// near returns an error unless a fix lies near one of the fields.
func (u *understanding) near(found []namedBoundary) error {
	path := found[0].path
	tracks := geo.NoExtent()
	boxes, around := make([]geo.Extent, len(found)), make([]geo.Extent, len(found))
	for i := range found {
		boxes[i] = found[i].extent()
		around[i] = boxes[i].Around(farAway)
	}
	in := newBoxGrid(around, 2)
	holds := func(p geo.LonLat) bool {
		near := func(i int) bool { return around[i].Holds(p) }
		return slices.ContainsFunc(in.large, near) || slices.ContainsFunc(in.cells[in.cell(p.Lon, p.Lat)], near)
	}
	swapped, first := "", ""
	for _, m := range u.job.Machines {
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
				tracks.Add(f.At)
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
