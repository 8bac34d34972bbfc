package desk

import (
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/report/desk/history"
	"lapwing/report/desk/outline"
	"lapwing/report/desk/pages"
)

// boundary changes where the boundary of a job lies: it is shifted against the tracks,
// drawn, or ground is taken out of it.
func (a *ask) boundary(m message) error {
	j, err := a.jobAt(m.Job)
	if err != nil {
		return err
	}
	c := history.Change{}
	switch {
	case m.Shift != nil:
		c.What = "the shift of " + j.name()
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
		c.What = "the boundary of " + j.name()
		return a.commit(c)
	default:
		f, err := a.newGround(j, m)
		if err != nil {
			return err
		}
		c.What = "the boundary of " + j.name()
		name := a.freeName(path.Join(boundariesDir, pages.Folder(j.path)+".geojson"), func(string) bool { return false })
		text, err := outline.Written(f)
		if err != nil {
			return err
		}
		if _, _, err := job.Fields(a.with(name, text), "boundary", name); err != nil {
			return err
		}
		c.Set(name, text)
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
	c.Set(j.path, j.text.Text())
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
		return outline.Drawn(j.field, outline.Places(m.Ring))
	case m.Hole != nil:
		f, err := a.fieldOf(j)
		if err != nil {
			return f, err
		}
		return outline.CutOut(f, outline.Places(m.Hole))
	case m.Worked:
		results, _, err := a.maker().Results(j.path)
		if err != nil {
			return field.Field{}, err
		}
		return results[0].Map.Field, nil
	}
	return field.Field{}, wrong("found no change of the boundary", "shift, ring, hole or worked")
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

// centi writes metres to a centimetre.
func centi(metres float64) string {
	return strconv.FormatFloat(math.Round(metres*100)/100+0, 'f', -1, 64) + " m"
}
