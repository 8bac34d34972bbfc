package job

import (
	"fmt"
	"math"
	gopath "path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Proposal is a job worked out from a boundary and logs alone, to be written
// as a job file that people then put right.
type Proposal struct {
	Job      *Job
	in       Inputs
	boundary string // path, or worked
	tracks   []string
	logs     []columns
	zoneless int
	zone     string // a guess, where times have no zone
	zoneWhy  string
	sections int    // that the logs tell of; 0 where they do not
	width    string // as it is to stand in the file; "" where task sets tell it
	widthWhy string
}

// Propose reads a boundary and logs and works out the rest. Of f it takes
// Boundaries, Tracks and Width; without Width it is the logs' own, or else how
// far neighbouring passes lie apart, in feet or metres. What is wrong is an
// [*InputError], as with [Load].
func Propose(in Inputs, f Flags, feet bool) (*Proposal, error) {
	if len(f.Tracks) == 0 {
		return nil, &InputError{Found: "found no log", Want: "a boundary and one log of fixes or more"}
	}
	r := newReading(in, f.Overrides)
	if err := r.flagBoundaries(f.Boundaries); err != nil {
		return nil, err
	}
	p := &Proposal{in: in, Job: r.job, boundary: r.ground, tracks: f.Tracks}
	sets := !slices.ContainsFunc(f.Tracks, func(path string) bool { return !r.isSet(path) })
	var bar coverage.Implement
	if !sets || f.Width != "" {
		bar.Width = 12 * plane.Metre // to find passes by; their spacing hardly depends on it
		if f.Width != "" {
			var err error
			if bar.Width, err = flagLength("--width", f.Width, plane.Centimetre); err != nil {
				return nil, err
			}
		}
		bar.Sections = coverage.EqualSections(bar.Width, 1)
	}
	if err := r.driveFlags(f.Tracks, bar); err != nil {
		return nil, err
	}
	if err := r.field(f.Tracks[0]); err != nil {
		return nil, err
	}
	p.rename()
	if err := p.look(r); err != nil {
		return nil, err
	}
	switch {
	case f.Width != "":
		p.width, p.widthWhy = f.Width, "as given"
	case !sets:
		if err := p.guessWidth(feet); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// rename calls a field whose file is called just boundary, field or job after
// the directory it is in.
func (p *Proposal) rename() {
	path := p.boundary
	if path == "" || path == worked {
		path = p.tracks[0]
	}
	name := p.Job.Field.Name
	if name != baseName(path) || !slices.Contains([]string{"boundary", "field", "job"}, strings.ToLower(name)) {
		return
	}
	if dir := gopath.Base(gopath.Dir(p.in.Abs(path))); dir != "." && dir != "/" {
		p.Job.Field.Name = dir
	}
}

// look reads once more what the columns of the logs are.
func (p *Proposal) look(r *reading) error {
	again := newReading(p.in, Overrides{})
	lists, err := again.readLogs(p.tracks)
	if err != nil {
		return err
	}
	p.logs = slices.Concat(lists...)
	hours, n := 0.0, 0
	var lon float64
	for _, c := range p.logs {
		p.zoneless += c.log.Zoneless
		if c.sections != nil {
			for _, value := range c.sections.Distinct {
				p.sections = max(p.sections, len(strings.TrimSpace(value)))
			}
		}
		if c.log.Zoneless > 0 && !c.log.NoClock {
			for _, f := range c.log.Fixes {
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
	return nil
}

// zoneGuess says whether a mean hour of work is more likely UTC or the local
// time at a longitude: the one that lies nearer to early afternoon.
func zoneGuess(hour, lon float64) (zone, why string) {
	const workday = 13.0 // hours by the sun
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
	for _, c := range p.logs {
		if c.width == nil {
			continue
		}
		widths, err := c.widths()
		if err != nil {
			return err
		}
		if widest := slices.Max(widths); widest > narrowestBar {
			p.width = inUnit(widest, feet)
			p.widthWhy = fmt.Sprintf("the widest in column %q of %s", c.width.Name, c.file)
			return nil
		}
	}
	apart := p.spacings()
	const fewest = 3
	if len(apart) < fewest {
		return &InputError{File: p.logs[0].file, Found: fmt.Sprintf("%d passes beside another, too few to tell the working width by", len(apart)),
			Want: `--width, such as --width "40 ft"`}
	}
	slices.Sort(apart)
	n := len(apart)
	const uneven = 1.25 // between the quarters: over that, passes of other spacing are among them
	if apart[3*n/4] > uneven*apart[n/4] {
		return &InputError{File: p.logs[0].file,
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

// spacings returns for each pass how far the nearest pass of the same machine
// beside it lies, in metres.
func (p *Proposal) spacings() (apart []float64) {
	machines := p.Job.Machines
	field := p.Job.Field
	if field.Worked {
		var ok bool
		if field, ok = coverage.FieldAround(machines); !ok {
			return nil
		}
	}
	passes, _ := coverage.Split(field, machines, coverage.Options{})
	var lines []straight
	for i := range passes {
		if s, ok := straightOf(&passes[i]); ok {
			lines = append(lines, s)
		}
	}
	for i, a := range lines {
		nearest := math.Inf(1)
		for j, b := range lines {
			if i == j || a.machine != b.machine {
				continue
			}
			if d, ok := a.beside(b); ok {
				nearest = min(nearest, d)
			}
		}
		if nearest < widestBar {
			apart = append(apart, nearest)
		}
	}
	return apart
}

// A straight is a pass that runs straight, in metres.
type straight struct {
	machine        int
	x, y, ux, uy   float64 // its start, and the way it goes
	length, middle float64
}

// straightOf returns a pass as a straight line: its chord, where the path is
// hardly longer.
func straightOf(p *coverage.Pass) (straight, bool) {
	const shortest, hardly = 20.0, 1.01
	if len(p.Poses) < 2 {
		return straight{}, false
	}
	a, b := p.Poses[0].Bar, p.Poses[len(p.Poses)-1].Bar
	dx, dy := (b.X - a.X).Metres(), (b.Y - a.Y).Metres()
	chord := math.Hypot(dx, dy)
	if chord < shortest || p.Length/float64(plane.Metre) > hardly*chord {
		return straight{}, false
	}
	return straight{p.Machine, a.X.Metres(), a.Y.Metres(), dx / chord, dy / chord, chord, chord / 2}, true
}

// beside returns how far b lies from the middle of a, if it runs beside it
// within a few degrees, and no nearer than ground worked twice.
func (a straight) beside(b straight) (float64, bool) {
	const parallel = 0.05 // radians
	if math.Abs(a.ux*b.uy-a.uy*b.ux) > parallel {
		return 0, false
	}
	mx, my := a.x+a.ux*a.middle-b.x, a.y+a.uy*a.middle-b.y
	if along := mx*b.ux + my*b.uy; along < 0 || along > b.length {
		return 0, false
	}
	d := math.Abs(mx*b.uy - my*b.ux)
	return d, d > narrowestBar
}

// seen says in words what a log holds.
func (c columns) seen() string {
	s := c.log.Format + ", " + countOf(len(c.log.Fixes), "fix", "fixes")
	if !c.log.NoClock {
		at := spanOf(c.log.Fixes)
		s += fmt.Sprintf(", %s to %s", at.from.Time().UTC().Format("2006-01-02 15:04"), at.to.Time().UTC().Format("2006-01-02 15:04"))
		if _, every := silencesOf(c.log); every > 0 {
			s += fmt.Sprintf(", every %g s", every.Round(10*time.Millisecond).Seconds())
		}
	} else {
		s += ", no times"
	}
	for _, said := range []struct {
		is   bool
		text string
	}{
		{c.working != nil, "says whether the machine works"},
		{c.sections != nil, "says which sections are open"},
		{c.machine != nil, "says which machine it is"},
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
	if p.Job.Field.Worked {
		return p.logs[0].log.Fixes[len(p.logs[0].log.Fixes)/2].At
	}
	return p.Job.Field.Frame.Centre
}
