package job

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// An Inspection is what one file holds: a log or boundaries.
type Inspection struct {
	File       string
	Format     string       // such as "CSV" or "GeoJSON"
	Log        *LogFacts    // nil where the file is a boundary
	Set        *SetFacts    // of a task set; nil for other files
	Boundaries []FieldFacts // empty where the file is a log
	Extent     Extent       // of all fixes and boundaries
	Warnings   []coverage.Warning
}

// LogFacts are what a log holds.
type LogFacts struct {
	Fixes    int
	NoClock  bool          // no times: what follows about time is zero
	From, To time.Time     // of the earliest fix and the latest
	Interval time.Duration // the usual one between fixes: the median
	Silences []LogSilence  // from the longest down
	Columns  []gnsslog.Meaning
	Machines []string // the names in the machine column
	Sections int      // how many the sections column has
	// Working counts the fixes that say they work; -1 where the log is silent on it.
	Working int
	// Qualities counts the fixes by their quality, best known first.
	Qualities []QualityCount
	// Passes are the working stretches as an assessment would find them for a
	// bar as wide as the log says, or else of 12 m; that matters only where
	// working has to be worked out.
	Passes []PassFacts
	Bar    float64      // the width of that bar, m
	Places []geo.LonLat // of the fixes, in the order of the file
	Worked []geo.LonLat // of the middle of the bar, on the passes
}

// A QualityCount is how many fixes have a quality.
type QualityCount struct {
	Quality geo.Quality
	Fixes   int
}

// PassFacts are what one working stretch is.
type PassFacts struct {
	From, To geo.LonLat
	Start    time.Time // zero where the log has no clock
	Length   float64   // m
}

// A LogSilence is a gap of the log, as [coverage.Gaps] finds them.
type LogSilence struct {
	From     time.Time
	Duration time.Duration
	Line     int // of the fix after it
}

// FieldFacts are what one boundary is.
type FieldFacts struct {
	ID           string // in a task set
	Name         string // "" where the file has none
	Parts, Holes int
	Area         float64 // m² on the ellipsoid, holes taken out
	Perimeter    float64 // m, holes included
}

// Inspect says what a log or a boundary holds; "-" is standard input. Times
// without a zone are taken to be in the given one; nil means UTC.
func Inspect(in Inputs, path string, zone *time.Location) (*Inspection, error) {
	r := newReading(in, Overrides{})
	if zone != nil {
		r.job.Zone, r.zoneGiven = zone, true
	}
	if r.isSet(path) {
		return r.inspectSet(path)
	}
	found, err := in.Formats.Look(in.Files, path, shown(path), gnsslog.Options{Zone: r.job.Zone, Keep: isOurs})
	var unopened source.Reason
	switch {
	case errors.As(err, &unopened):
		return nil, &InputError{File: path, Found: err.Error(), Want: "a log or a boundary"}
	case err != nil:
		return nil, asInput(err)
	case found.Log != nil:
		return r.inspectLog(path, found.Log)
	}
	return r.inspectBoundary(path, found.Boundary)
}

// inspectLog gathers the facts of a log.
func (r *reading) inspectLog(path string, log *gnsslog.Log) (*Inspection, error) {
	r.noteLog(shown(path), log)
	c := columnsOf(shown(path), log)
	log = c.log
	facts := &LogFacts{Fixes: len(log.Fixes), NoClock: log.NoClock, Columns: c.meanings(), Working: -1}
	extent := noExtent()
	for _, f := range log.Fixes {
		extent.add(f.At)
	}
	if c.machine != nil {
		facts.Machines = slices.Sorted(slices.Values(c.machine.Distinct))
	}
	if c.sections != nil {
		for _, value := range c.sections.Distinct {
			facts.Sections = max(facts.Sections, len(strings.TrimSpace(value)))
		}
	}
	if c.working != nil {
		facts.Working = r.countWorking(c)
	}
	if !log.NoClock {
		s := spanOf(log.Fixes)
		facts.From, facts.To = s.from.Time(), s.to.Time()
		facts.Silences, facts.Interval = silencesOf(log)
	}
	facts.Qualities = qualitiesOf(log.Fixes)
	for _, f := range log.Fixes {
		facts.Places = append(facts.Places, f.At)
	}
	if facts.Working >= 0 || c.working == nil { // a working word not understood is a warning already
		if err := r.passesOf(c, facts); err != nil {
			return nil, err
		}
	}
	return &Inspection{File: shown(path), Format: log.Format, Log: facts, Extent: extent, Warnings: r.job.Warnings}, nil
}

// qualitiesOf counts fixes by quality.
func qualitiesOf(fixes []geo.Fix) (out []QualityCount) {
	var counts [geo.NoFix + 1]int
	for _, f := range fixes {
		counts[min(f.Quality, geo.NoFix)]++
	}
	for q, n := range counts {
		if n > 0 {
			out = append(out, QualityCount{geo.Quality(q), n})
		}
	}
	slices.SortStableFunc(out, func(a, b QualityCount) int { return cmp.Compare(b.Fixes, a.Fixes) })
	return out
}

// passesOf splits the log into passes as an assessment would.
func (r *reading) passesOf(c columns, facts *LogFacts) error {
	width := c.barWidth()
	facts.Bar = width.Metres()
	bar := coverage.Implement{Width: width, Sections: coverage.EqualSections(width, max(1, facts.Sections))}
	track, err := r.track(c, bar, nil)
	if err != nil {
		return err
	}
	machines := []coverage.Machine{{Name: "machine", Implement: bar, Tracks: []coverage.Track{track}}}
	field, ok := coverage.FieldAround(machines)
	if !ok {
		return nil
	}
	passes, warnings := coverage.Split(field, machines, coverage.Options{})
	for _, w := range warnings {
		r.warn(w)
	}
	for _, p := range passes {
		f := PassFacts{
			From:   field.Frame.ToEarth(p.Poses[0].Bar),
			To:     field.Frame.ToEarth(p.Poses[len(p.Poses)-1].Bar),
			Length: p.Length / float64(plane.Metre),
		}
		if !facts.NoClock {
			f.Start = p.Start.Time()
		}
		for _, pose := range p.Poses {
			facts.Worked = append(facts.Worked, field.Frame.ToEarth(pose.Bar))
		}
		facts.Passes = append(facts.Passes, f)
	}
	return nil
}

// barWidth returns the width of the bar as far as the log tells; 12 m where it
// does not.
func (c columns) barWidth() plane.Length {
	metres := 0.0
	switch {
	case c.joined != nil:
		metres = c.joined.width
	case c.width != nil:
		metres, _ = quantity.Parse(fmt.Sprint(usualWidth(c.width), " ", c.widthUnit), quantity.Length)
	}
	if metres < narrowestBar || metres > widestBar {
		return 12 * plane.Metre
	}
	return plane.Metres(metres)
}

// countWorking counts the fixes that say they work. A word that is not
// understood would end an assessment; here it is told, and the count is -1.
func (r *reading) countWorking(c columns) (n int) {
	answers, err := c.workingAnswers()
	if err != nil {
		r.warn(coverage.Warning{File: c.file, Line: err.Line, Text: fmt.Sprintf("%s: %s, want %s", err.Where, err.Found, err.Want)})
		return -1
	}
	for _, code := range c.working.Codes {
		if answers[code] == yes {
			n++
		}
	}
	return n
}

// meanings says how each column of the log is understood, those that only
// mean something to a machine too.
func (c columns) meanings() []gnsslog.Meaning {
	out := slices.Clone(c.log.Understood)
	for i, m := range out {
		var col *gnsslog.Column
		as := ""
		switch meaning, _, _ := meaningOf(plainName(m.Column)); meaning {
		case meansWorking:
			col, as = c.working, "whether the machine works"
		case meansSections:
			col, as = c.sections, "which sections are open, from left to right"
		case meansWidth:
			if c.joined != nil {
				out[i].As = "how wide the section is, in " + c.widthUnit
			}
			col, as = c.width, "how much of the bar works, in "+c.widthUnit
			if c.widthBare {
				as += " (no unit is named: judged by its size)"
			}
		case meansMachine:
			col, as = c.machine, "which machine it is"
		case meansPart:
			if c.joined != nil {
				col, as = c.sections, "which section of the bar the record is of"
			}
		case noMeaning:
			if of, unit, ok := rateOf(m.Column); ok && m.As == "" {
				out[i].As = rateMeaning(of, unit)
			}
		}
		if col != nil && col.Name == m.Column {
			out[i].As = as
		}
	}
	return out
}

// silencesOf returns the gaps of a log, from the longest down, and the usual
// interval.
func silencesOf(log *gnsslog.Log) (out []LogSilence, usual time.Duration) {
	gaps, usual := coverage.Gaps(log.Fixes, coverage.Options{})
	for _, g := range gaps {
		s := LogSilence{From: log.Fixes[g.Fix-1].Time.Time(), Duration: g.Duration}
		if g.Fix < len(log.Lines) {
			s.Line = int(log.Lines[g.Fix])
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b LogSilence) int { return cmp.Compare(b.Duration, a.Duration) })
	return out, usual
}

// inspectBoundary gathers the facts of a boundary file.
func (r *reading) inspectBoundary(path string, file *boundary.File) (*Inspection, error) {
	r.noteBoundary(shown(path), file)
	out := &Inspection{File: shown(path), Format: file.Format, Extent: noExtent()}
	for i, b := range file.Boundaries {
		facts, err := fieldFacts(b.Name, b.Parts, &out.Extent)
		if err != nil {
			return nil, &InputError{File: shown(path), Where: fmt.Sprintf("boundary %d", i+1), Found: err.Error()}
		}
		out.Boundaries = append(out.Boundaries, facts)
	}
	out.Warnings = r.job.Warnings
	return out, nil
}

// fieldFacts gathers the facts of one boundary, and widens an extent to it.
func fieldFacts(name string, parts []geo.Polygon, extent *Extent) (FieldFacts, error) {
	f, err := coverage.NewField(name, parts)
	if err != nil {
		return FieldFacts{}, err
	}
	facts := FieldFacts{Name: name, Parts: len(parts), Perimeter: f.Perimeter() / float64(plane.Metre)}
	for _, part := range parts {
		facts.Holes += len(part.Holes)
		for _, p := range part.Shell {
			extent.add(p)
		}
	}
	for _, p := range f.Boundary {
		facts.Area += p.Area().SquareMetres()
	}
	return facts, nil
}
