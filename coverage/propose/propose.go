// Package propose works out a job from a boundary and logs alone, and writes it
// as a job file for people to put right.
//
//	propose.go  what the logs tell, and what is guessed
//	spacing.go  how far neighbouring passes lie apart
//	write.go    the job file
package propose

import (
	"fmt"
	"math"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/coverage/track"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/source"
)

// A Proposal is a job worked out from a boundary and logs alone.
type Proposal struct {
	Job      *job.Job // of one field
	in       job.Inputs
	spec     *spec.Spec
	logs     []worklog.Log
	zoneless int
	zone     string // a guess, where times have no zone
	zoneWhy  string
	sections int    // that the logs tell of; 0 where they do not
	width    string // as the file has it; "" where task sets tell it
	widthWhy string
}

// anyWidth is the width of bar with which passes are found; their spacing hardly
// depends on it. Judgement.
const anyWidth = "12 m"

// New reads a boundary and logs and works out the rest. Of f it takes
// Boundaries, Tracks and Width; without Width it is the logs' own, or else how
// far neighbouring passes lie apart, in feet or metres. What is wrong is a
// [*job.InputError].
func New(in job.Inputs, f job.Flags, feet bool) (*Proposal, error) {
	if len(f.Tracks) == 0 {
		return nil, &job.InputError{Found: "found no log", Want: "a boundary and one log of fixes or more"}
	}
	sets := !slices.ContainsFunc(f.Tracks, func(path string) bool { return !in.IsSet(path) })
	given := f.Width
	if f.Width == "" && !sets {
		f.Width = anyWidth
	}
	p := &Proposal{in: in}
	if err := p.read(f); err != nil {
		return nil, err
	}
	p.rename()
	p.look()
	switch {
	case given != "":
		p.width, p.widthWhy = given, "as given"
	case !sets:
		if err := p.guessWidth(feet); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// read reads the files and makes a job of them as they are.
func (p *Proposal) read(f job.Flags) (err error) {
	if p.spec, err = f.Spec(p.in); err != nil {
		return err
	}
	sources, err := job.Open(p.in, p.spec)
	if err != nil {
		return err
	}
	if p.Job, err = job.Understand(p.spec, sources, f.Overrides); err != nil {
		return err
	}
	p.logs, err = job.Logs(p.spec, sources)
	return err
}

// tracks are the paths of the logs.
func (p *Proposal) tracks() (paths []string) {
	for _, t := range p.spec.Machines[0].Tracks {
		paths = append(paths, t.Path)
	}
	return paths
}

// boundary is the path of the boundary file; "" where there is none.
func (p *Proposal) boundary() string {
	if len(p.spec.Boundary) == 0 {
		return ""
	}
	return p.spec.Boundary[0].Path
}

// rename calls a field whose file is called just boundary, field or job after
// the directory it is in.
func (p *Proposal) rename() {
	at := p.boundary()
	if at == "" {
		at = p.tracks()[0]
	}
	name := &p.Job.Fields[0].Name
	if *name != source.Stem(at) || !slices.Contains([]string{"boundary", "field", "job"}, strings.ToLower(*name)) {
		return
	}
	if dir := path.Base(path.Dir(p.in.Abs(at))); dir != "." && dir != "/" {
		*name = dir
	}
}

// look sums up what the columns of the logs tell.
func (p *Proposal) look() {
	hours, n := 0.0, 0
	var lon float64
	for _, l := range p.logs {
		p.zoneless += l.Zoneless
		p.sections = max(p.sections, l.Sections())
		if l.Zoneless > 0 && !l.NoClock {
			for _, f := range l.Fixes {
				t := f.Time.Time()
				hours += float64(t.Hour()) + float64(t.Minute())/60
				lon += f.At.Lon
				n++
			}
		}
	}
	if n > 0 {
		p.zone, p.zoneWhy = zoneGuess(hours/float64(n), lon/float64(n))
	}
}

// zoneGuess says whether a mean hour of work is more likely UTC or the local
// time at a longitude: the one that lies nearer to early afternoon.
func zoneGuess(hour, lon float64) (zone, why string) {
	const workday = 13.0 // hours by the sun, the middle of a working day: TestProposeZone
	off := func(h float64) float64 { return math.Abs(math.Remainder(h-workday, 24)) }
	shift := math.Round(lon / 15)
	if shift == 0 || off(hour+lon/15) <= off(hour) {
		return "UTC", "as UTC the work falls in the daytime here"
	}
	return fmt.Sprintf("Etc/GMT%+d", -int(shift)), "as UTC the work would fall in the night here, so the times are taken as local, by the longitude; put the name of your zone, which knows of summer time"
}

// guessWidth takes the width from a column of the logs, or else from how far
// neighbouring passes lie apart.
func (p *Proposal) guessWidth(feet bool) error {
	for _, l := range p.logs {
		widest, column, err := l.Widest()
		if err != nil {
			return spec.AsInput(err)
		}
		if widest > worklog.NarrowestBar {
			p.width = inUnit(widest, feet)
			p.widthWhy = fmt.Sprintf("the widest in column %q of %s", column, l.File)
			return nil
		}
	}
	apart := p.spacings()
	const fewest = 3 // passes: TestProposeIsAJob
	if len(apart) < fewest {
		return &job.InputError{File: p.logs[0].File, Found: fmt.Sprintf("%d passes beside another, too few to tell the working width by", len(apart)),
			Want: `--width, such as --width "40 ft"`}
	}
	slices.Sort(apart)
	n := len(apart)
	const uneven = 1.25 // ratio of the upper to the lower quartile, at most: TestProposeIsAJob
	if apart[3*n/4] > uneven*apart[n/4] {
		return &job.InputError{File: p.logs[0].File,
			Found: fmt.Sprintf("neighbouring passes %s to %s apart, too uneven to tell the working width by", inUnit(apart[n/4], feet), inUnit(apart[3*n/4], feet)),
			Want:  `--width, such as --width "40 ft"`}
	}
	p.width = inUnit(apart[n/2], feet)
	p.widthWhy = fmt.Sprintf("a guess: the usual distance between neighbouring passes, half of %d lie %s to %s apart. Where passes lap, the bar is that much wider",
		n, inUnit(apart[n/4], feet), inUnit(apart[3*n/4], feet))
	return nil
}

// inUnit writes metres to half a foot or to a decimetre.
func inUnit(metres float64, feet bool) string {
	if feet {
		return fmt.Sprintf("%g ft", math.Round(2*metres/quantity.Foot)/2)
	}
	return fmt.Sprintf("%g m", math.Round(10*metres)/10)
}

// seen says in words what a log holds.
func seen(l worklog.Log) string {
	s := l.Format + ", " + countOf(len(l.Fixes), "fix", "fixes")
	if !l.NoClock {
		at := l.Span()
		s += fmt.Sprintf(", %s to %s", at.From.Time().UTC().Format("2006-01-02 15:04"), at.To.Time().UTC().Format("2006-01-02 15:04"))
		if _, every := track.Gaps(l.Fixes, field.Options{}); every > 0 {
			s += fmt.Sprintf(", every %g s", every.Round(10*time.Millisecond).Seconds())
		}
	} else {
		s += ", no times"
	}
	for _, said := range []struct {
		is   bool
		text string
	}{
		{l.TellsWork(), "says whether the machine works"},
		{l.TellsSections(), "says which sections are open"},
		{l.TellsMachine(), "says which machine it is"},
	} {
		if said.is {
			s += ", " + said.text
		}
	}
	return s
}

func countOf(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// from returns a path as seen from the directory the job file will stand in.
func (p *Proposal) from(dir, path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	rel, err := filepath.Rel(p.in.Abs(dir), p.in.Abs(path))
	if err != nil {
		return path
	}
	return filepath.ToSlash(rel)
}

// middle is where the field lies, for a comment.
func (p *Proposal) middle() geo.LonLat {
	if field := p.Job.Fields[0]; !field.Worked {
		return field.Frame.Centre
	}
	fixes := p.logs[0].Fixes
	return fixes[len(fixes)/2].At
}
