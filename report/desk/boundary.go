package desk

import (
	"bytes"
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/geo"
	"lapwing/geo/arrange"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
	"lapwing/report/desk/draw"
	"lapwing/report/desk/pages"
)

// boundary changes where the boundary of a job lies: it is shifted against the tracks,
// drawn, or ground is taken out of it.
func (a *ask) boundary(m message) error {
	j, err := a.jobAt(m.Job)
	if err != nil {
		return err
	}
	c := change{}
	switch {
	case m.Shift != nil:
		c.what = "the shift of " + j.name()
		if m.Shift.East == 0 && m.Shift.North == 0 {
			if j.text.Has("shift") {
				err = j.text.Remove("shift")
			}
		} else {
			err = j.text.Set("shift", "{east: "+centi(m.Shift.East)+", north: "+centi(m.Shift.North)+"}", said)
		}
		if err != nil {
			return unfit(j.path, err)
		}
	case m.Worked && !m.Keep:
		if err := a.takeJob(&c, j.path, map[string]string{"boundary": "worked"}); err != nil {
			return err
		}
		c.what = "the boundary of " + j.name()
		return a.commit(c)
	default:
		f, err := a.newGround(j, m)
		if err != nil {
			return err
		}
		c.what = "the boundary of " + j.name()
		name := a.freeName(path.Join(boundariesDir, pages.Folder(j.path)+".geojson"), func(string) bool { return false })
		text, err := written(f)
		if err != nil {
			return err
		}
		if _, _, err := job.Fields(a.with(name, text), "boundary", name); err != nil {
			return err
		}
		c.set(name, text)
		why := said
		if m.Worked || m.Hole != nil && ofWorkedGround(j) {
			why = fromWorked
		}
		if err := j.text.Set("boundary", from(j.path, name), why); err != nil {
			return unfit(j.path, err)
		}
	}
	if err := a.wrongJob(j.path, j.text.Text()); err != nil {
		return err
	}
	c.set(j.path, j.text.Text())
	return a.commit(c)
}

// fromWorked is the comment of a boundary that stands for the edge of the worked ground.
const fromWorked = "Drawn from the worked ground."

// ofWorkedGround reports whether the boundary of a job tells no more than its logs do.
func ofWorkedGround(j *jobFile) bool {
	notes := j.text.Notes("boundary")
	last := slices.IndexFunc(notes, func(n string) bool { return strings.HasPrefix(n, fromWorked) || strings.HasPrefix(n, said) }) // the newest stands first
	return len(j.ground) == 0 || last >= 0 && strings.HasPrefix(notes[last], fromWorked)
}

// newGround is the field of a job with another boundary.
func (a *ask) newGround(j *jobFile, m message) (field.Field, error) {
	switch {
	case m.Ring != nil:
		return drawn(j.field, placesOf(m.Ring))
	case m.Hole != nil:
		f, err := a.fieldOf(j)
		if err != nil {
			return f, err
		}
		return cutOut(f, placesOf(m.Hole))
	case m.Worked:
		results, _, err := a.maker().Results(j.path)
		if err != nil {
			return field.Field{}, err
		}
		return results[0].Map.Field, nil
	}
	return field.Field{}, wrong("found no change of the boundary", "shift, ring, hole or worked")
}

func placesOf(ring [][2]float64) (places []geo.LonLat) {
	for _, at := range ring {
		places = append(places, geo.LonLat{Lon: at[0], Lat: at[1]})
	}
	return places
}

// fieldOf is the field of a job as its boundary files have it.
func (a *ask) fieldOf(j *jobFile) (field.Field, error) {
	for _, name := range j.ground {
		fields, _, err := job.Fields(a.in, "boundary", name)
		if err != nil {
			return field.Field{}, err
		}
		for _, f := range fields {
			if len(fields) == 1 || strings.EqualFold(f.Name, j.field) {
				return f, nil
			}
		}
	}
	return field.Field{}, wrong("found no boundary of "+j.name(), "one to take ground out of")
}

// cutOut takes ground out of a field: a yard, a slough.
func cutOut(f field.Field, places []geo.LonLat) (field.Field, error) {
	hole, err := ringOn(f.Frame, places)
	if err != nil {
		return f, err
	}
	var boundary arrange.Layer
	before := areaOf(f)
	for _, part := range f.Boundary {
		boundary = append(boundary, part.Rings()...)
	}
	f.Boundary = ground([]arrange.Layer{boundary, {hole}, {hole.Reversed()}}, func(under []int) bool {
		return slices.Contains(under, 0) && len(under) == 1
	})
	switch after := areaOf(f); {
	case after == 0:
		return f, wrong("found a hole that leaves nothing of the field", "a smaller one")
	case after == before:
		return f, wrong("found a hole beside the field", "one on it")
	}
	return f, nil
}

// drawn is a field whose boundary a person drew, whichever way round. Where the line
// crosses itself the field is all that it goes round.
func drawn(name string, places []geo.LonLat) (field.Field, error) {
	x := geo.NoExtent()
	for _, at := range places {
		x.Add(at)
	}
	frame, ok := draw.FrameAround(x)
	if !ok {
		return field.Field{}, wrong("found a ring without corners", "three or more")
	}
	ring, err := ringOn(frame, places)
	if err != nil {
		return field.Field{}, err
	}
	f := field.Field{Name: name, Frame: frame}
	f.Boundary = ground([]arrange.Layer{{ring}, {ring.Reversed()}}, func(under []int) bool { return len(under) > 0 })
	if areaOf(f) == 0 {
		return f, wrong("found a ring without ground in it", "one around the field")
	}
	return f, nil
}

// ringOn lays a drawn ring on the plane.
func ringOn(frame geo.Frame, places []geo.LonLat) (ring plane.Ring, err error) {
	for _, at := range places {
		p, ok := frame.ToPlane(at)
		if !ok || max(p.X, -p.X, p.Y, -p.Y) > plane.Reach-field.Room {
			return nil, wrong("found a corner more than 49 km from the field", "one near it")
		}
		if len(ring) == 0 || ring[len(ring)-1] != p {
			ring = append(ring, p)
		}
	}
	if len(ring) > 1 && ring[0] == ring[len(ring)-1] {
		ring = ring[:len(ring)-1]
	}
	if len(ring) < 3 {
		return nil, wrong(fmt.Sprintf("found a ring of %d corners", len(ring)), "three or more")
	}
	return ring, nil
}

// mostCrossings is how often the edges of a drawn ring may cross one another and those
// of the boundary: a line that a hand drew crosses itself a few times.
const mostCrossings = 100_000

// ground is what lies under layers as is wanted, in polygons; none where their edges
// cross too often.
func ground(layers []arrange.Layer, wanted func(under []int) bool) (polygons []plane.Polygon) {
	cut, err := arrange.NewBudget(mostCrossings).Cut(layers, func(under []int) arrange.Label {
		if wanted(under) {
			return 1
		}
		return arrange.None
	})
	if err != nil {
		return nil
	}
	for i := range cut.Faces {
		if face := &cut.Faces[i]; face.Label == 1 {
			polygons = append(polygons, face.Shape)
		}
	}
	return polygons
}

func areaOf(f field.Field) (sum plane.Area) {
	for i := range f.Boundary {
		sum += f.Boundary[i].Area()
	}
	return sum
}

// centi writes metres to a centimetre.
func centi(metres float64) string {
	return strconv.FormatFloat(math.Round(metres*100)/100+0, 'f', -1, 64) + " m"
}

// written is a field as a boundary file.
func written(f field.Field) ([]byte, error) {
	var b bytes.Buffer
	w := geojson.NewWriter(&b, f.Frame, func(m *geojson.Members) { m.Text("generator", "lapwing") })
	for _, part := range f.Boundary {
		w.Feature(w.Polygon(part), func(m *geojson.Members) { m.Text("name", f.Name) })
	}
	err := w.Close(nil)
	return b.Bytes(), err
}
