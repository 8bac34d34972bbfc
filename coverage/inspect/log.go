package inspect

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
)

// A Log is what a log holds.
type Log struct {
	Fixes    int
	NoClock  bool          // the log has no times: the fields about time are zero
	From, To time.Time     // of the earliest fix and the latest
	Interval time.Duration // the usual one between fixes: the median
	Silences []Silence     // from the longest down
	Columns  []gnsslog.Meaning
	Machines []string // the names in the machine column
	Sections int      // how many the sections column has
	// Working counts the fixes at work; -1 where the log has no working state.
	Working int
	// Qualities counts the fixes by their quality, best known first.
	Qualities []Quality
	// Passes are the working stretches as an assessment would find them for a
	// bar as wide as the log says, or else of 12 m; that matters only where
	// working has to be worked out.
	Passes []Pass
	Bar    float64      // the width of that bar, m
	Places []geo.LonLat // of the fixes, in the order of the file
	Worked []geo.LonLat // of the middle of the bar, on the passes
}

// A Quality is the number of fixes of one quality.
type Quality struct {
	Quality geo.Quality
	Fixes   int
}

// A Pass is one working stretch.
type Pass struct {
	From, To geo.LonLat
	Start    time.Time // zero where the log has no clock
	Length   float64   // m
}

// A Silence is a gap of the log, as [track.Gaps] finds them.
type Silence struct {
	From     time.Time
	Duration time.Duration
	Line     int // of the fix after it
}

// log gathers the facts of a log.
func (i *inspection) log(log *gnsslog.Log) error {
	l := worklog.Of(i.facts.File, log)
	i.warn(l.Warnings(i.zoned)...)
	i.facts.Format = log.Format
	facts := &Log{Fixes: len(l.Fixes), NoClock: l.NoClock, Columns: l.Meanings(), Working: -1, Sections: l.Sections()}
	i.facts.Log = facts
	for _, f := range l.Fixes {
		i.facts.Extent.Add(f.At)
		facts.Places = append(facts.Places, f.At)
	}
	names, _ := l.Machines()
	facts.Machines = slices.Sorted(slices.Values(names))
	if l.TellsWork() {
		facts.Working = i.countWorking(l)
	}
	if !l.NoClock {
		span := l.Span()
		facts.From, facts.To = span.From.Time(), span.To.Time()
		facts.Silences, facts.Interval = silencesOf(l.Log)
	}
	facts.Qualities = qualitiesOf(l.Fixes)
	if facts.Working >= 0 || !l.TellsWork() { // a working word not understood is a warning already
		return i.passes(l)
	}
	return nil
}

// qualitiesOf counts fixes by quality.
func qualitiesOf(fixes []geo.Fix) (out []Quality) {
	var counts [geo.NoFix + 1]int
	for _, f := range fixes {
		counts[min(f.Quality, geo.NoFix)]++
	}
	for q, n := range counts {
		if n > 0 {
			out = append(out, Quality{geo.Quality(q), n})
		}
	}
	slices.SortStableFunc(out, func(a, b Quality) int { return cmp.Compare(b.Fixes, a.Fixes) })
	return out
}

// passes splits the log into passes as an assessment would.
func (i *inspection) passes(l worklog.Log) error {
	facts := i.facts.Log
	width := l.Bar()
	facts.Bar = width.Metres()
	bar := machine.Implement{Width: width, Sections: machine.EqualSections(width, max(1, facts.Sections))}
	track, warnings, err := l.Track(bar, nil)
	if err != nil {
		return err
	}
	i.warn(warnings...)
	machines := []machine.Logged{{Machine: machine.Machine{Name: "machine", Implement: bar}, Tracks: []machine.Track{track}}}
	around, ok := coverage.FieldAround(machines)
	if !ok {
		return nil
	}
	passes, _, warnings := coverage.Split(around, machines, field.Options{})
	i.warn(warnings...)
	for _, p := range passes {
		f := Pass{
			From:   around.Frame.ToEarth(p.Poses[0].Bar),
			To:     around.Frame.ToEarth(p.Poses[len(p.Poses)-1].Bar),
			Length: p.Length.Metres(),
		}
		if !facts.NoClock {
			f.Start = p.Start.Time()
		}
		for _, pose := range p.Poses {
			facts.Worked = append(facts.Worked, around.Frame.ToEarth(pose.Bar))
		}
		facts.Passes = append(facts.Passes, f)
	}
	return nil
}

// countWorking counts the fixes that say they work. A word that is not
// understood would end an assessment; here it is told, and the count is -1.
func (i *inspection) countWorking(l worklog.Log) int {
	n, err := l.CountWorking()
	var wrong *geo.SyntaxError
	if errors.As(err, &wrong) {
		i.warn(field.Warning{File: l.File, Line: wrong.Line, Text: fmt.Sprintf("%s: %s, want %s", wrong.Where, wrong.Found, wrong.Want)})
		return -1
	}
	return n
}

// silencesOf returns the gaps of a log, from the longest down, and the usual
// interval.
func silencesOf(log *gnsslog.Log) (out []Silence, usual time.Duration) {
	gaps, usual := track.Gaps(log.Fixes, field.Options{})
	for _, g := range gaps {
		s := Silence{From: log.Fixes[g.Fix-1].Time.Time(), Duration: g.Duration}
		if g.Fix < len(log.Lines) {
			s.Line = int(log.Lines[g.Fix])
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b Silence) int { return cmp.Compare(b.Duration, a.Duration) })
	return out, usual
}
