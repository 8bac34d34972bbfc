package job

import (
	"strconv"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/coverage/worklog"
)

// Fields reads the fields in a boundary file that no job names, in the order of the
// file, with what its reader doubted. Boundaries of one name are parts of one field. What
// is wrong is an [*InputError].
func Fields(in Inputs, flag, path string) ([]field.Field, []field.Warning, error) {
	if path == "" {
		return nil, nil, flagWrong(flag, `found ""`, "a boundary file")
	}
	s := &spec.Spec{Zone: time.UTC, Boundary: []spec.Path{{Text: path, Path: path}}}
	src, err := Open(in, s)
	if err != nil {
		return nil, nil, spec.AsInput(err)
	}
	u := newUnderstanding(s, src, true)
	found, err := u.grounds(u.boundaries())
	if err != nil {
		return nil, nil, spec.AsInput(err)
	}
	var out []field.Field
	for i := range found {
		f, err := found[i].field()
		if err != nil {
			return nil, nil, err
		}
		out = append(out, f)
	}
	return out, u.job.Warnings, nil
}

// ZoneOf reads the zone of a job file for times without one.
func ZoneOf(in Inputs, path string) (*time.Location, error) {
	s, err := spec.Read(in.Files, path)
	if err != nil {
		return nil, in.noJob(path, err)
	}
	return s.Zone, nil
}

// TimeFlag reads a time as rain_at of a job file is read: with its own zone, or in the one
// given.
func TimeFlag(flag, text string, zone *time.Location) (time.Time, error) {
	at, ok := worklog.ReadTime(text, zone)
	if !ok {
		return at, flagWrong(flag, "found "+strconv.Quote(text), `a time such as "2026-05-04T18:00"`)
	}
	return at, nil
}

// SpeedFlag reads a speed of more than zero, in m/s.
func SpeedFlag(flag, text string) (float64, error) {
	v, err := quantity.Parse(text, quantity.Speed)
	if err != nil {
		return 0, spec.FlagError(flag, err)
	}
	if v <= 0 {
		return 0, flagWrong(flag, "found "+strconv.Quote(text), quantity.Just(quantity.Speed).String()+", more than zero")
	}
	return v, nil
}
