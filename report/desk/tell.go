package desk

import (
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/book"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/propose"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/desk/asked"
	"lapwing/report/desk/draw"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/pages"
	"lapwing/report/words"
)

// state says what the desk has.
func (a *ask) state(season *propose.Season, jobs []*jobfile.File, apart []Left) *State {
	s := &State{Version: stateVersion, Units: pages.UnitsName(a.units()), Undo: a.history().Last(), Left: []Left{}, Jobs: []Job{}, Machines: []Machine{}, Finds: []Find{}}
	var grounds []string
	for _, f := range season.Finds {
		s.Finds = append(s.Finds, a.find(f, jobs))
		if len(f.Fields) > 0 && len(f.Drives) == 0 {
			grounds = append(grounds, slashed(f.Path))
		}
	}
	for _, l := range season.Left {
		name := slashed(l.Path)
		if !slices.ContainsFunc(jobs, func(j *jobfile.File) bool { return j.Path == name }) {
			s.Left = append(s.Left, Left{Path: name, Why: l.Why, Other: l.Other})
		}
	}
	s.Left = append(s.Left, apart...)
	var known []asked.Choice
	for _, j := range jobs {
		if j.Err == nil {
			for _, c := range asked.Products(j.Text) {
				if !slices.Contains(known, c) {
					known = append(known, c)
				}
			}
		}
	}
	implements := a.implements(jobs)
	for _, j := range jobs {
		s.Jobs = append(s.Jobs, a.job(j, season, implements, known, grounds))
	}
	for _, m := range implements {
		s.Machines = append(s.Machines, *m)
	}
	s.Book = a.held("")
	if q := a.unitsQuestion(placesIn(season)); q != nil {
		s.Questions = append(s.Questions, q)
	}
	for _, m := range implements {
		s.Questions = append(s.Questions, m.Questions...)
	}
	for i := range s.Jobs {
		s.Questions = append(s.Questions, s.Jobs[i].Questions...)
	}
	slices.SortStableFunc(s.Questions, func(a, b *asked.Question) int {
		switch {
		case a.Sure == b.Sure:
			return 0
		case a.Sure == asked.Unknown:
			return -1
		}
		return 1
	})
	return s
}

func slashed(p string) string { return filepath.ToSlash(p) }

// find says what a file is, drawn small.
func (a *ask) find(f *propose.Find, jobs []*jobfile.File) Find {
	out := Find{Path: slashed(f.Path), Format: f.Format, Jobs: []string{}}
	var m2 float64
	for _, g := range f.Fields {
		m2 += g.Area()
	}
	var said []string
	for _, d := range f.Drives {
		if d.Seen != "" && !slices.Contains(said, d.Seen) {
			said = append(said, d.Seen)
		}
	}
	switch {
	case len(f.Drives) > 0 && len(f.Fields) > 0:
		out.Kind = "set"
		out.Sentence = "A task set: " + a.fieldsText(f, m2) + "; " + strings.Join(said, "; ")
	case len(f.Drives) > 0:
		out.Kind = "log"
		out.Sentence = "A log: " + strings.Join(said, "; ")
	default:
		out.Kind = "boundary"
		out.Sentence = "A boundary file (" + f.Format + "): " + a.fieldsText(f, m2)
	}
	out.Sentence = spec.OneLine(shorten(out.Sentence, 600)) + "."
	for _, j := range jobs {
		names := slices.ContainsFunc(f.Drives, j.Has) || slices.ContainsFunc(j.Ground, func(g string) bool {
			return g == out.Path || slices.ContainsFunc(f.Fields, func(k *propose.Field) bool { return slashed(k.Path) == g })
		})
		if names {
			out.Jobs = append(out.Jobs, j.Path)
		}
	}
	x := geo.NoExtent()
	widenTo(&x, f)
	if frame, ok := draw.FrameAround(x); ok {
		p := draw.Pen{Frame: frame}
		for _, g := range f.Fields {
			p.Ground(draw.Shape{Kind: "boundary"}, g.Parts())
		}
		for _, d := range f.Drives {
			p.Ways(draw.Shape{Kind: "way", Machine: d.Named}, d.Ways())
		}
		out.Drawing = p.Drawing()
	}
	return out
}

func (a *ask) fieldsText(f *propose.Find, m2 float64) string {
	text := words.Count(len(f.Fields), "field") + ", " + a.units().SquareMetres(m2)
	var names []string
	for _, g := range f.Fields {
		if g.Name != "" && len(names) < 5 {
			names = append(names, words.Plain(g.Name, 40))
		}
	}
	if len(names) > 0 {
		text += " (" + strings.Join(names, ", ")
		if len(f.Fields) > len(names) {
			text += fmt.Sprintf(" and %d more", len(f.Fields)-len(names))
		}
		text += ")"
	}
	return text
}

// shorten cuts a text after so many letters.
func shorten(text string, most int) string {
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return text
}

// implements are the implement files of the desk, and those that jobs name.
func (a *ask) implements(jobs []*jobfile.File) (all []*Machine) {
	names := a.below(machinesDir)
	for _, j := range jobs {
		for _, m := range j.Machines {
			if m.File != "" && !slices.Contains(names, m.File) {
				names = append(names, m.File)
			}
		}
	}
	for _, name := range names {
		if !jobfile.IsYAML(name) {
			continue
		}
		m := &Machine{Machine: name, Name: strings.TrimSuffix(path.Base(name), path.Ext(name)), Jobs: []string{}, Questions: []*asked.Question{}}
		text, err := a.readText(name)
		if err != nil {
			continue
		}
		for _, j := range jobs {
			if slices.ContainsFunc(j.Machines, func(o jobfile.Machine) bool { return o.File == name }) {
				m.Jobs = append(m.Jobs, j.Path)
			}
		}
		if f, err := edit.Parse(text); err == nil {
			if n := f.Value("name"); n != "" {
				m.Name = n
			}
			m.Width = f.Value("width")
			m.Questions = asked.OfImplement(name, f)
			for _, q := range m.Questions {
				q.Shown = m.Jobs
			}
		}
		all = append(all, m)
	}
	return all
}

// job says what a job is and what it leaves open.
func (a *ask) job(j *jobfile.File, season *propose.Season, implements []*Machine, known []asked.Choice, grounds []string) Job {
	out := Job{Job: j.Path, Field: j.Name(), ByHand: !j.ByDesk, Boundary: slices.Clone(j.Ground), Logs: j.Tracks(), Questions: []*asked.Question{}, Machines: []JobMachine{}, Guesses: []string{}, Error: FaultOf(j.Err)}
	if out.Boundary == nil {
		out.Boundary = []string{}
	}
	if out.Logs == nil {
		out.Logs = []string{}
	}
	for _, m := range j.Machines {
		out.Machines = append(out.Machines, JobMachine{Name: m.Name, File: m.File, Logs: m.Tracks})
	}
	if j.Err != nil {
		return out
	}
	s, err := job.Check(a.in, j.Path)
	if out.Ready = err == nil; err != nil {
		out.Error = FaultOf(err)
	}
	if by := [2]string{j.Text.Value("shift.east"), j.Text.Value("shift.north")}; by[0]+by[1] != "" {
		out.Shift = &shift{}
		out.Shift.East, _ = quantity.Parse(by[0], quantity.Length)
		out.Shift.North, _ = quantity.Parse(by[1], quantity.Length)
	}
	a.sketchOf(&out, j, s, season)
	if q := a.jobQuestions(j, known, grounds); q != nil {
		out.Questions = q
	}
	for _, m := range implements { // an open width of its machine is why a job waits
		if out.Error != nil && slices.Contains(m.Jobs, j.Path) && slices.ContainsFunc(m.Questions, func(q *asked.Question) bool { return q.Sure == asked.Unknown }) && out.Error.File == m.Machine {
			out.Error = nil
		}
	}
	out.Assessed, out.Suspects = a.assessedOf(j)
	out.Guesses = append(out.Guesses, a.guesses(j, season)...)
	return out
}

// guesses are what the verdict on a job rests on that no file tells and no person said.
func (a *ask) guesses(j *jobfile.File, season *propose.Season) (all []string) {
	for i := range j.Machines {
		m := &j.Machines[i]
		of := ""
		if len(j.Machines) > 1 {
			of = " of " + words.Plain(m.Name, 40)
		}
		implement, at := j.Text, "machines."+strconv.Itoa(i)+".implement."
		if m.File != "" {
			text, err := a.readText(m.File)
			if err != nil {
				continue
			}
			if implement, err = edit.Parse(text); err != nil {
				continue
			}
			at = ""
		}
		for _, key := range []string{"width", "openers", "row_spacing", "mount"} {
			if implement.Has(at+key) && asked.IsGuess(implement.Notes(at+key)) {
				all = append(all, "a guessed "+strings.ReplaceAll(key, "_", " ")+of+": "+implement.Value(at+key))
			}
		}
		silent := func(f *propose.Find) bool {
			return slices.ContainsFunc(f.Drives, func(d *propose.Drive) bool { return !d.Working && m.Has(d) })
		}
		working := j.Text.Value("machines." + strconv.Itoa(i) + ".working")
		if working == "inferred" || working == "" && slices.ContainsFunc(season.Finds, silent) {
			all = append(all, "working stretches"+of+" worked out from the motion")
		}
	}
	if ofWorkedGround(j) {
		all = append(all, "the edge of the worked ground for a boundary")
	}
	return all
}

// sketchOf draws a job: its boundary, and the ways of its machines as wide as their
// bars.
func (a *ask) sketchOf(out *Job, j *jobfile.File, s *spec.Spec, season *propose.Season) {
	type drawn struct {
		shape draw.Shape
		ways  [][]geo.LonLat
	}
	var all []drawn
	days := [2]string{}
	for i, m := range j.Machines {
		shape := draw.Shape{Kind: "way", Machine: m.Name}
		if s != nil && i < len(s.Machines) && s.Machines[i].Implement != nil {
			shape.Width = s.Machines[i].Implement.Width.Metres()
		}
		one := drawn{shape: shape}
		for _, f := range season.Finds {
			for _, d := range f.Drives {
				if !m.Has(d) {
					continue
				}
				one.ways = append(one.ways, d.Ways()...)
				if !d.NoClock && !d.From.IsZero() {
					const day = "2006-01-02"
					if from := d.From.Format(day); days[0] == "" || from < days[0] {
						days[0] = from
					}
					days[1] = max(days[1], d.To.Format(day))
				}
			}
		}
		if shape.Width == 0 && m.File != "" {
			one.shape.Width = a.guessedWidth(m.File)
		}
		all = append(all, one)
	}
	out.Days = days
	var boundaries []geo.Polygon
	for _, name := range j.Ground {
		fields, _, err := job.Fields(a.in, "boundary", name)
		if err != nil {
			continue
		}
		for i := range fields {
			if len(fields) > 1 && j.Field != "" && !strings.EqualFold(fields[i].Name, j.Field) {
				continue
			}
			boundaries = append(boundaries, onEarth(&fields[i])...)
		}
	}
	for _, poly := range boundaries {
		for _, ring := range append([][]geo.LonLat{poly.Shell}, poly.Holes...) {
			out.Rings = append(out.Rings, lonLats(ring))
		}
	}
	x := geo.NoExtent()
	widen(&x, shells(boundaries)...)
	if len(boundaries) == 0 {
		for _, one := range all {
			widen(&x, one.ways...)
		}
	}
	frame, ok := draw.FrameAround(x)
	if !ok {
		return
	}
	p := draw.Pen{Frame: frame}
	for _, poly := range boundaries {
		p.Ground(draw.Shape{Kind: "boundary"}, []geo.Polygon{poly})
	}
	near := x.Around(0.003) // 300 m: work elsewhere in the log is not drawn
	for _, one := range all {
		one.ways = slices.DeleteFunc(one.ways, func(way []geo.LonLat) bool { return len(way) == 0 || !near.Holds(way[0]) })
		p.Ways(one.shape, one.ways)
	}
	out.Sketch = p.Drawing()
	out.Text = a.jobText(out)
}

// onEarth is the boundary of a field as places.
func onEarth(f *field.Field) (polygons []geo.Polygon) {
	for i := range f.Boundary {
		var rings [][]geo.LonLat
		for _, ring := range f.Boundary[i].Rings() {
			var places []geo.LonLat
			for _, at := range ring {
				places = append(places, f.Frame.ToEarth(at))
			}
			rings = append(rings, places)
		}
		polygons = append(polygons, geo.Polygon{Shell: rings[0], Holes: rings[1:]})
	}
	return polygons
}

func lonLats(places []geo.LonLat) (ring [][2]float64) {
	for _, at := range places {
		ring = append(ring, [2]float64{at.Lon, at.Lat})
	}
	return ring
}

// guessedWidth is the width of an implement file, or the best guess that it names.
func (a *ask) guessedWidth(file string) float64 {
	text, err := a.readText(file)
	if err != nil {
		return 0
	}
	f, err := edit.Parse(text)
	if err != nil {
		return 0
	}
	_, best := asked.Why(f.Notes("width"))
	metres, _ := quantity.Parse(best, quantity.Length)
	return metres
}

// jobText says in a line what a job is.
func (a *ask) jobText(j *Job) string {
	text := j.Field
	switch {
	case j.Days[0] == "":
	case j.Days[0] == j.Days[1]:
		text += ", " + j.Days[0]
	default:
		text += ", " + j.Days[0] + " to " + j.Days[1]
	}
	var names []string
	for _, m := range j.Machines {
		names = append(names, words.Plain(m.Name, 40))
	}
	text += "; " + strings.Join(names, ", ") + "; " + words.Count(len(j.Logs), "log")
	return spec.OneLine(text)
}

// assessedOf is the last assessment of a job; nil where there is none.
func (a *ask) assessedOf(j *jobfile.File) (*Assessed, *pages.Suspected) {
	told := a.maker().Telling(j.Path)
	if told == nil {
		return nil, nil
	}
	files := slices.DeleteFunc(a.below(path.Join(pages.Dir, pages.Folder(j.Path))), func(name string) bool {
		return path.Ext(name) == ".html" || path.Base(name) == book.RecordFile
	})
	return &Assessed{Verdict: told.Verdict, Run: told.Run, Stale: told.Stale, Page: told.Page, Files: append([]string{}, files...), Outline: told.Outline}, told.Suspects
}
