package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// FromFlags reads a job that the command line gives without a job file. What
// is wrong is an [*InputError], as with [Load].
func FromFlags(in Inputs, f Flags) (*Job, error) {
	r := newReading(in, f.Overrides)
	if len(f.Tracks) == 0 {
		return nil, &InputError{Where: "--track", Found: "missing", Want: "a log of fixes"}
	}
	seen := map[string]bool{}
	for _, path := range f.Tracks {
		if seen[path] {
			return nil, &InputError{Where: "--track", Found: "found " + strconv.Quote(path) + " twice", Want: "each log once"}
		}
		seen[path] = true
	}
	if err := r.flagBoundaries(f.Boundaries); err != nil {
		return nil, err
	}
	bar, err := r.flagImplement(f)
	if err != nil {
		return nil, err
	}
	if err := r.driveFlags(f.Tracks, bar); err != nil {
		return nil, err
	}
	if err := r.override(f.Overrides); err != nil {
		return nil, err
	}
	if err := r.field(f.Tracks[0]); err != nil {
		return nil, err
	}
	return r.job, nil
}

// flagBoundaries takes over what --boundary says.
func (r *reading) flagBoundaries(paths []string) error {
	wrong := func(found, want string) error {
		return &InputError{Where: "--boundary", Found: found, Want: want}
	}
	for i, path := range paths {
		switch {
		case slices.Contains(paths[:i], path):
			return wrong("found "+strconv.Quote(path)+" twice", "each boundary once")
		case i > 0 && (path == worked || paths[0] == worked):
			return wrong("found worked beside a file", "one or the other")
		case i > 0 && !r.many:
			return wrong(fmt.Sprintf("found %d of them", len(paths)), "one field")
		}
	}
	if len(paths) > 0 {
		r.ground, r.more = paths[0], paths[1:]
	}
	return nil
}

// flagImplement returns the implement of --width or --implement; the zero one
// where that of the device is to be taken.
func (r *reading) flagImplement(f Flags) (coverage.Implement, error) {
	switch {
	case f.Width != "" && f.Implement != "":
		return coverage.Implement{}, &InputError{Where: "--width", Found: "found beside --implement", Want: "one of the two"}
	case f.Width != "":
		width, err := flagLength("--width", f.Width, plane.Centimetre)
		return coverage.Implement{Width: width, Sections: coverage.EqualSections(width, 1)}, err
	case f.Implement == "" && !slices.ContainsFunc(f.Tracks, func(path string) bool { return !r.isSet(path) }):
		return coverage.Implement{}, nil // task sets tell of it
	case f.Implement == "":
		return coverage.Implement{}, &InputError{Where: "--width", Found: "missing", Want: `a length such as "50 ft" or "16.5 m", or --implement`}
	}
	data, err := r.readFile(f.Implement)
	if err != nil {
		return coverage.Implement{}, &InputError{File: f.Implement, Found: err.Error(), Want: "an implement file"}
	}
	top, err := parse(f.Implement, data)
	if err != nil {
		return coverage.Implement{}, err
	}
	im := r.implement(top)
	return im, top.page.err
}

// driveFlags makes machines of the logs. A machine column, or the device of a
// task set, says whose a fix is. Other logs are one machine's, unless two of
// them overlap in time.
func (r *reading) driveFlags(paths []string, bar coverage.Implement) error {
	lists, err := r.readLogs(paths)
	if err != nil {
		return err
	}
	logs := slices.Concat(lists...)
	one := true
	var last []columns // logs without a machine column
	for _, c := range logs {
		if c.machine != nil || c.device() != "" {
			continue
		}
		for _, before := range last {
			if one && !c.log.NoClock && !before.log.NoClock && spanOf(c.log.Fixes).overlaps(spanOf(before.log.Fixes)) {
				one = false
				r.warn(coverage.Warning{File: c.file, Text: fmt.Sprintf("overlaps %s in time, so each log is taken as a machine of its own", before.file)})
			}
		}
		last = append(last, c)
	}
	for _, c := range logs {
		bar := bar
		if bar.Width == 0 {
			if bar, err = r.deviceBar(c, logs); err != nil {
				return err
			}
		}
		switch {
		case c.machine != nil:
			err = r.addByColumn(c, bar)
		case c.device() != "":
			err = r.add(c.device(), c, bar, nil)
		case one:
			err = r.add("machine 1", c, bar, nil)
		default:
			err = r.add(r.freeName(baseName(c.file)), c, bar, nil)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// deviceBar returns the implement of the device that made a log, from all its
// logs.
func (r *reading) deviceBar(c columns, logs []columns) (coverage.Implement, error) {
	for _, m := range r.job.Machines {
		if m.Name == c.device() {
			return m.Implement, nil
		}
	}
	var its []columns
	for _, other := range logs {
		if other.device() == c.device() {
			its = append(its, other)
		}
	}
	return r.taskImplement(its)
}

// addByColumn adds the fixes of each machine that a log names.
func (r *reading) addByColumn(c columns, bar coverage.Implement) error {
	seen := map[string]bool{}
	for code, value := range c.machine.Distinct {
		name := strings.TrimSpace(value)
		if key := strings.ToLower(name); seen[key] {
			continue
		} else {
			seen[key] = true
		}
		if name == "" {
			return c.wrong(c.machine, code, "the name of a machine")
		}
		pick, err := c.only(name)
		if err != nil {
			return err
		}
		if err := r.add(name, c, bar, pick); err != nil {
			return err
		}
	}
	return nil
}

// add gives the machine of that name one more track.
func (r *reading) add(name string, c columns, bar coverage.Implement, pick func(int) bool) error {
	track, err := r.track(c, c.dividedAs(bar), pick)
	if err != nil {
		return err
	}
	for i := range r.job.Machines {
		if m := &r.job.Machines[i]; strings.EqualFold(m.Name, name) {
			m.Tracks = append(m.Tracks, track)
			return nil
		}
	}
	r.job.Machines = append(r.job.Machines, coverage.Machine{Name: name, Implement: bar, Tracks: []coverage.Track{track}})
	return nil
}

// freeName returns name, with a number behind it if a machine has it already.
func (r *reading) freeName(name string) string {
	for n, try := 2, name; ; n++ {
		taken := false
		for _, m := range r.job.Machines {
			taken = taken || strings.EqualFold(m.Name, try)
		}
		if !taken {
			return try
		}
		try = fmt.Sprintf("%s %d", name, n)
	}
}

// override takes over what the command line says of how to measure and list.
func (r *reading) override(o Overrides) error {
	j := r.job
	j.MinArea, j.MinWidth = plane.SquareMetre, 10*plane.Centimetre
	if spacing := j.finestSpacing(); spacing > 0 {
		j.MinWidth = spacing / 2
	}
	if o.MinArea != "" {
		m2, err := quantity.Parse(o.MinArea, quantity.Area)
		if err != nil {
			return flagError("--min-area", err)
		}
		if m2 > 1e10 {
			return &InputError{Where: "--min-area", Found: "found " + strconv.Quote(o.MinArea), Want: "an area that a field can have"}
		}
		j.MinArea = plane.Area(m2 * float64(plane.SquareMetre))
	}
	var err error
	if o.MinWidth != "" {
		if j.MinWidth, err = flagLength("--min-width", o.MinWidth, 0); err != nil {
			return err
		}
	}
	if o.EdgeTolerance != "" {
		if j.Options.EdgeTolerance, err = flagLength("--edge-tolerance", o.EdgeTolerance, 0); err != nil {
			return err
		}
		// Zero would mean the default; a tick is as good as none.
		j.Options.EdgeTolerance = max(plane.Tick, j.Options.EdgeTolerance)
	}
	if o.MaxGap != "" {
		s, err := quantity.Parse(o.MaxGap, quantity.Duration)
		if err != nil {
			return flagError("--max-gap", err)
		}
		if s <= 0 || s > 24*3600 {
			return &InputError{Where: "--max-gap", Found: "found " + strconv.Quote(o.MaxGap), Want: "more than zero and a day at most"}
		}
		j.Options.MaxGap = time.Duration(s * 1e9)
	}
	return nil
}

// finestSpacing returns the smallest row spacing of the machines; zero where
// nobody said one.
func (j *Job) finestSpacing() (finest plane.Length) {
	for _, m := range j.Machines {
		if s := m.Implement.RowSpacing; s > 0 && (finest == 0 || s < finest) {
			finest = s
		}
	}
	return finest
}

func flagLength(flag, text string, low plane.Length) (plane.Length, error) {
	metres, err := quantity.Parse(text, quantity.Length)
	if err != nil {
		return 0, flagError(flag, err)
	}
	l, err := onGrid(metres, low)
	if err != nil {
		return 0, &InputError{Where: flag, Found: "found " + strconv.Quote(text) + ", " + err.Error(), Want: quantity.Just(quantity.Length).String()}
	}
	return l, nil
}

// flagError says that a quantity on the command line is wrong.
func flagError(flag string, err error) error {
	e := entry{page: &page{}, path: flag}
	e.refuse(err)
	return e.page.err
}

// LengthFlag reads a length that a command of its own takes, such as
// --turn-radius "30 ft". A wrong one is an [*InputError].
func LengthFlag(flag, text string) (plane.Length, error) {
	return flagLength(flag, text, plane.Centimetre)
}

// PlaceFlag reads a place given as longitude and latitude in degrees. A wrong
// one is an [*InputError].
func PlaceFlag(flag, text string) (geo.LonLat, error) {
	lon, lat, _ := strings.Cut(text, ",")
	x, errX := strconv.ParseFloat(strings.TrimSpace(lon), 64)
	y, errY := strconv.ParseFloat(strings.TrimSpace(lat), 64)
	at := geo.LonLat{Lon: x, Lat: y}
	if errX != nil || errY != nil || !at.Valid() {
		return at, &InputError{Where: flag, Found: "found " + strconv.Quote(text), Want: `a longitude and a latitude in degrees, such as "-104.61,50.44"`}
	}
	return at, nil
}

// HourFlag reads what an hour costs, such as "180 USD": money by the second,
// and its currency. A wrong one is an [*InputError].
func HourFlag(flag, text string) (perSecond float64, currency string, err error) {
	amount, currency, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(text), "/h"), " ")
	hour, wrong := strconv.ParseFloat(amount, 64)
	if currency = strings.TrimSpace(currency); wrong != nil || !(hour > 0) || math.IsInf(hour, 0) || !isCurrency(currency) {
		return 0, "", &InputError{Where: flag, Found: "found " + strconv.Quote(text), Want: `an amount and a currency, such as "180 USD"`}
	}
	return hour / 3600, currency, nil
}

// isCurrency reports whether a word is three capital letters, as in ISO 4217.
func isCurrency(word string) bool {
	return len(word) == 3 && strings.Trim(word, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}
