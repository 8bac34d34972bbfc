package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Spec is what the command line says, as if it were written in a job file.
func (f Flags) Spec(in Inputs) (*spec.Spec, error) {
	s := &spec.Spec{Zone: time.UTC}
	if len(f.Tracks) == 0 {
		return nil, flagWrong("--track", "missing", "a log of fixes")
	}
	var m spec.Machine
	for i, path := range f.Tracks {
		if slices.Contains(f.Tracks[:i], path) {
			return nil, flagWrong("--track", "found "+strconv.Quote(path)+" twice", "each log once")
		}
		m.Tracks = append(m.Tracks, spec.Path{Text: path, Path: path})
	}
	if err := f.boundaries(s); err != nil {
		return nil, err
	}
	if err := f.implement(in, s, &m); err != nil {
		return nil, err
	}
	s.Machines = []spec.Machine{m}
	return s, nil
}

func flagWrong(flag, found, want string) error {
	return spec.Place{Key: flag}.Wrong(found, want)
}

// boundaries takes over what --boundary says.
func (f Flags) boundaries(s *spec.Spec) error {
	for i, path := range f.Boundaries {
		switch {
		case slices.Contains(f.Boundaries[:i], path):
			return flagWrong("--boundary", "found "+strconv.Quote(path)+" twice", "each boundary once")
		case i > 0 && (path == spec.Worked || f.Boundaries[0] == spec.Worked):
			return flagWrong("--boundary", "found worked beside a file", "one or the other")
		case i > 0 && !f.ManyFields:
			return flagWrong("--boundary", fmt.Sprintf("found %d of them", len(f.Boundaries)), "one field")
		case path == spec.Worked:
			s.Worked = true
		case path != "":
			s.Boundary = append(s.Boundary, spec.Path{Text: path, Path: path})
		}
	}
	return nil
}

// implement takes over --width or --implement; without either that of the
// device is to be taken.
func (f Flags) implement(in Inputs, s *spec.Spec, m *spec.Machine) error {
	switch {
	case f.Width != "" && f.Implement != "":
		return flagWrong("--width", "found beside --implement", "one of the two")
	case f.Width != "":
		width, err := spec.FlagLength("--width", f.Width, plane.Centimetre)
		m.Implement = &machine.Implement{Width: width, Sections: machine.EqualSections(width, 1)}
		return err
	case f.Implement == "":
		m.Missing = spec.Place{Key: "--width"}.Wrong("missing", `a length such as "50 ft" or "16.5 m", or --implement`)
		return nil
	}
	im, warnings, err := spec.ReadImplement(in.Files, f.Implement)
	m.Implement, s.Warnings = &im, append(s.Warnings, warnings...)
	return err
}

// A listing is what the command line says of how to measure and list, read.
type listing struct {
	minArea                 plane.Area
	minWidth, edgeTolerance *plane.Length // nil if not given
	maxGap                  time.Duration
}

// read reads what the command line says beside a job file.
func (o Overrides) read() (l listing, err error) {
	l.minArea = plane.SquareMetre
	if o.MinArea != "" {
		m2, err := quantity.Parse(o.MinArea, quantity.Area)
		if err != nil {
			return l, spec.FlagError("--min-area", err)
		}
		if m2 > 1e10 {
			return l, flagWrong("--min-area", "found "+strconv.Quote(o.MinArea), "an area that a field can have")
		}
		l.minArea = plane.Area(m2 * float64(plane.SquareMetre))
	}
	for _, length := range []struct {
		flag, text string
		to         **plane.Length
	}{{"--min-width", o.MinWidth, &l.minWidth}, {"--edge-tolerance", o.EdgeTolerance, &l.edgeTolerance}} {
		if length.text != "" {
			v, err := spec.FlagLength(length.flag, length.text, 0)
			if err != nil {
				return l, err
			}
			*length.to = &v
		}
	}
	if o.MaxGap != "" {
		s, err := quantity.Parse(o.MaxGap, quantity.Duration)
		if err != nil {
			return l, spec.FlagError("--max-gap", err)
		}
		if s <= 0 || s > 24*3600 {
			return l, flagWrong("--max-gap", "found "+strconv.Quote(o.MaxGap), "more than zero and a day at most")
		}
		l.maxGap = time.Duration(s * 1e9)
	}
	return l, nil
}

// apply sets the options of a job.
func (l listing) apply(j *Job) {
	j.MinArea, j.MinWidth = l.minArea, 10*plane.Centimetre
	if spacing := machine.FinestRows(machine.Machines(j.Machines)); spacing > 0 {
		j.MinWidth = spacing / 2
	}
	if l.minWidth != nil {
		j.MinWidth = *l.minWidth
	}
	if l.edgeTolerance != nil {
		// Zero would mean the default; a tick is as good as none.
		j.Options.EdgeTolerance = max(plane.Tick, *l.edgeTolerance)
	}
	if l.maxGap > 0 {
		j.Options.MaxGap = l.maxGap
	}
}

// LengthFlag reads a length that a command of its own takes, such as
// --turn-radius "30 ft". A wrong one is an [*InputError].
func LengthFlag(flag, text string) (plane.Length, error) {
	return spec.FlagLength(flag, text, plane.Centimetre)
}

// PlaceFlag reads a place in degrees as people say it, latitude first: as a map on
// a phone copies it, "50.44, -104.61", or as the reports print it, "50.44 N, 104.61 W".
// A wrong one is an [*InputError].
func PlaceFlag(flag, text string) (geo.LonLat, error) {
	first, second, _ := strings.Cut(text, ",")
	lat, okLat := degreesOf(first, "N", "S")
	lon, okLon := degreesOf(second, "E", "W")
	at := geo.LonLat{Lon: lon, Lat: lat}
	if okLat && okLon && at.Valid() {
		return at, nil
	}
	want := `a latitude and a longitude in degrees, such as "50.44,-104.61"`
	if okLat && okLon && (geo.LonLat{Lon: lat, Lat: lon}).Valid() {
		want += "; " + flag + "-lonlat takes the longitude first"
	}
	return at, flagWrong(flag, "found "+strconv.Quote(text), want)
}

// LonLatFlag reads a place given as longitude and latitude in degrees, as files have
// it. A wrong one is an [*InputError].
func LonLatFlag(flag, text string) (geo.LonLat, error) {
	first, second, _ := strings.Cut(text, ",")
	lon, okLon := degreesOf(first, "E", "W")
	lat, okLat := degreesOf(second, "N", "S")
	at := geo.LonLat{Lon: lon, Lat: lat}
	if !okLat || !okLon || !at.Valid() {
		return at, flagWrong(flag, "found "+strconv.Quote(text), `a longitude and a latitude in degrees, such as "-104.61,50.44"`)
	}
	return at, nil
}

// degreesOf reads degrees, signed or with the letter of their half of the Earth.
func degreesOf(text, positive, negative string) (float64, bool) {
	text = strings.ToUpper(strings.TrimSpace(text))
	digits, sign := text, 1.0
	if rest, ok := strings.CutSuffix(text, positive); ok {
		digits = rest
	} else if rest, ok := strings.CutSuffix(text, negative); ok {
		digits, sign = rest, -1
	}
	digits = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(digits), "°"))
	v, err := strconv.ParseFloat(digits, 64)
	return sign * v, err == nil && (digits == text || v >= 0)
}

// HourFlag reads what an hour costs, such as "180 USD": money by the second,
// and its currency. A wrong one is an [*InputError].
func HourFlag(flag, text string) (perSecond float64, currency string, err error) {
	amount, currency, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(text), "/h"), " ")
	hour, wrong := strconv.ParseFloat(amount, 64)
	if currency = strings.TrimSpace(currency); wrong != nil || !(hour > 0) || hour > 1e15 || !isCurrency(currency) {
		return 0, "", flagWrong(flag, "found "+strconv.Quote(text), `an amount and a currency, such as "180 USD"`)
	}
	return hour / 3600, currency, nil
}

// isCurrency reports whether a word is three capital letters, as in ISO 4217.
func isCurrency(word string) bool {
	return len(word) == 3 && strings.Trim(word, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}
