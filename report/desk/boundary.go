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
	"lapwing/report/desk/jobfile"
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
		c.What = "the shift of " + j.Name()
		if m.Shift.East == 0 && m.Shift.North == 0 {
			if j.Text.Has("shift") {
				err = j.Text.Remove("shift")
			}
		} else {
			err = j.Text.Set("shift", "{east: "+centi(m.Shift.East)+", north: "+centi(m.Shift.North)+"}", said)
		}
		if err != nil {
			return unfit(j.Path, err)
		}
	case m.Worked && !m.Keep:
		if err := a.takeJob(&c, j.Path, map[string]string{"boundary": "worked"}); err != nil {
			return err
		}
		c.What = "the boundary of " + j.Name()
		return a.commit(c)
	default:
		f, err := a.newGround(j, m)
		if err != nil {
			return err
		}
		c.What = "the boundary of " + j.Name()
		name := a.freeName(path.Join(boundariesDir, pages.Folder(j.Path)+".geojson"), func(string) bool { return false })
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
		if err := j.Text.Set("boundary", from(j.Path, name), why); err != nil {
			return unfit(j.Path, err)
		}
	}
	if err := a.wrongJob(j.Path, j.Text.Text()); err != nil {
		return err
	}
	c.Set(j.Path, j.Text.Text())
	return a.commit(c)
}

// fromWorked is the comment of a boundary that stands for the edge of the worked ground.
const fromWorked = "Drawn from the worked ground."

// ofWorkedGround reports whether the boundary of a job tells no more than its logs do.
func ofWorkedGround(j *jobfile.File) bool {
	notes := j.Text.Notes("boundary")
	last := slices.IndexFunc(notes, func(n string) bool { return strings.HasPrefix(n, fromWorked) || strings.HasPrefix(n, said) }) // the newest stands first
	return len(j.Ground) == 0 || last >= 0 && strings.HasPrefix(notes[last], fromWorked)
}

// newGround is the field of a job with another boundary.
func (a *ask) newGround(j *jobfile.File, m message) (field.Field, error) {
	switch {
	case m.Ring != nil:
		return outline.Drawn(j.Field, outline.Places(m.Ring))
	case m.Hole != nil:
		f, err := a.fieldOf(j)
		if err != nil {
			return f, err
		}
		return outline.CutOut(f, outline.Places(m.Hole))
	case m.Worked:
		results, _, err := a.maker().Results(j.Path)
		if err != nil {
			return field.Field{}, err
		}
		return results[0].Map.Field, nil
	}
	return field.Field{}, wrong("found no change of the boundary", "shift, ring, hole or worked")
}

// fieldOf is the field of a job as its boundary files have it.
func (a *ask) fieldOf(j *jobfile.File) (field.Field, error) {
	for _, name := range j.Ground {
		fields, _, err := job.Fields(a.in, "boundary", name)
		if err != nil {
			return field.Field{}, err
		}
		for _, f := range fields {
			if len(fields) == 1 || strings.EqualFold(f.Name, j.Field) {
				return f, nil
			}
		}
	}
	return field.Field{}, wrong("found no boundary of "+j.Name(), "one to take ground out of")
}

// centi writes metres to a centimetre.
func centi(metres float64) string {
	return strconv.FormatFloat(math.Round(metres*100)/100+0, 'f', -1, 64) + " m"
}
