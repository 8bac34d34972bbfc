package propose

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/geo/geojson"
)

// A File is a file to be written.
type File struct {
	Name  string // in the season's directory, with slashes
	Write func(w io.Writer) error
}

// name gives each proposal and each implement a file in the season's directory,
// and puts the proposals in order.
func (s *Season) name() {
	slices.SortStableFunc(s.Proposals, func(a, b *Proposal) int {
		return cmp.Or(strings.Compare(strings.ToLower(a.Field), strings.ToLower(b.Field)), a.From.Compare(b.From))
	})
	free := func(taken map[string]bool, name string, file func(string) string) string {
		for n, try := 2, name; ; n++ {
			if !taken[try] && (s.opt.Taken == nil || !s.opt.Taken(file(try))) {
				taken[try] = true
				return file(try)
			}
			try = fmt.Sprintf("%s-%d", name, n)
		}
	}
	jobs := map[string]bool{unpackedName: true, MachinesFolder: true}
	jobFile := func(dir string) string { return path.Join(dir, "job.yaml") }
	if s.opt.Flat {
		jobFile = func(dir string) string { return dir + ".yaml" }
	}
	for _, p := range s.Proposals {
		dir := slug(p.Field)
		if dir == "" {
			dir = "field"
		}
		again := func(o *Proposal) bool { return o != p && slug(o.Field) == slug(p.Field) }
		if slices.ContainsFunc(s.Proposals, again) && !p.From.IsZero() {
			dir += "-" + p.From.Format("2006-01-02")
		}
		p.File = free(jobs, dir, jobFile)
	}
	implements := map[string]bool{}
	for _, m := range s.Machines {
		name := slug(m.Name)
		if name == "" {
			name = "machine"
		}
		m.File = free(implements, name, func(name string) string { return path.Join(MachinesFolder, name+".yaml") })
	}
	s.copies()
}

// slug is a name as part of a path: small letters and digits, with dashes between.
func slug(name string) string {
	const most = 48
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			b.WriteRune(c)
		} else if s := b.String(); s != "" && !strings.HasSuffix(s, "-") {
			b.WriteByte('-')
		}
	}
	runes := []rune(b.String())
	return strings.Trim(string(runes[:min(len(runes), most)]), "-")
}

// Files are the files of the season: a job a proposal, an implement a machine, and
// boundaries that jobs cannot name where they are.
func (s *Season) Files() (files []File) {
	for _, p := range s.Proposals {
		files = append(files, s.JobFiles(p)...)
	}
	for _, m := range s.Machines {
		files = append(files, s.ImplementFile(m))
	}
	return files
}

// JobFiles are the job file of a proposal, and its boundary where jobs cannot name it
// where it is.
func (s *Season) JobFiles(p *Proposal) []File {
	own := boundaryName
	if s.opt.Flat {
		own = path.Join(BoundariesFolder, strings.TrimSuffix(p.File, path.Ext(p.File))+path.Ext(boundaryName))
	}
	files := []File{s.jobFile(p, p.File, s.opt.Dir, own)}
	if p.copied {
		files = append(files, p.boundaryFile(path.Join(path.Dir(p.File), own)))
	}
	return files
}

// One is the season as one job file of a name in a directory. Implements stand in
// it, but for those of which a line has to be filled in: these have a file beside
// it. There must be one proposal.
func (s *Season) One(dir, name string) (files []File) {
	p := s.Proposals[0]
	stem := strings.TrimSuffix(name, path.Ext(name))
	for _, m := range s.Machines {
		m.File = ""
		if slices.ContainsFunc(m.Implement, func(l Line) bool { return l.Sure == Unknown }) {
			m.File = stem + "-" + path.Base(slug(m.Name)) + ".yaml"
			files = append(files, s.ImplementFile(m))
		}
	}
	p.File = name
	own := stem + "-" + boundaryName
	files = append(files, s.jobFile(p, name, dir, own))
	if p.copied {
		files = append(files, p.boundaryFile(own))
	}
	return files
}

// boundaryName is the file of a boundary beside its job.
const boundaryName = "boundary.geojson"

// boundaryFile is the boundary of a proposal as a file of its own.
func (p *Proposal) boundaryFile(name string) File {
	return File{name, func(w io.Writer) error {
		g := geojson.NewWriter(w, p.Boundary.land.Frame, func(m *geojson.Members) { m.Text("generator", "lapwing") })
		for _, part := range p.Boundary.land.Boundary {
			g.Feature(g.Polygon(part), func(m *geojson.Members) { m.Text("name", p.Field) })
		}
		return g.Close(nil)
	}}
}

// A text is a YAML file being written.
type text struct {
	strings.Builder
	indent string
}

func (t *text) line(format string, args ...any) {
	fmt.Fprintf(t, t.indent+format+"\n", args...)
}

// guess writes a key with its value, and below it where that is from.
func (t *text) guess(key string, g Guess) {
	switch {
	case g.Sure == Unknown:
		t.line("# %s.", spec.OneLine(g.mark()))
		if g.Text != "" {
			t.line("# The best guess is %s.", g.Text)
		}
		t.line("%s:                          # <- FILL IN, such as %s: 40 ft", key, key)
	case g.Why == "":
		t.line("%s: %s", key, g.Text)
	default:
		t.line("%s: %s", key, g.Text)
		t.line("# %s.", spec.OneLine(g.mark()))
	}
}

// ImplementFile is the implement of a machine as a file of its own.
func (s *Season) ImplementFile(m *Machine) File {
	t := &text{}
	t.line("# The implement of %s, for lapwing, made from what the logs tell. Lines with", spec.OneLine(m.Name))
	t.line("# GUESS are worked out: read these first and put them right.")
	var in []string
	for _, p := range s.Proposals {
		if p.hasMachine(m) {
			in = append(in, p.Field)
		}
	}
	t.line("# It is named by the job of %s.", spec.OneLine(strings.Join(in, ", ")))
	t.line("")
	t.line("name: %s", edit.Text(m.Name))
	t.implement(m)
	return File{m.File, t.write}
}

func (t *text) write(w io.Writer) error {
	_, err := io.WriteString(w, t.String())
	return err
}

// implement writes the keys of an implement.
func (t *text) implement(m *Machine) {
	rows, parts := false, false
	for _, l := range m.Implement {
		rows, parts = rows || l.Key == "openers", parts || l.Key == "sections"
		t.guess(l.Key, l.Guess)
	}
	if !rows {
		t.line("# openers: 48               # better, where you know them: openers x row_spacing is the working width")
		t.line("# row_spacing: 10 in")
	}
	if !parts {
		t.line("# sections: 6               # parts of the bar that can be shut")
	}
}

// jobFile is the job of a proposal, as a file of that name in a directory; own is
// the name beside it of a boundary that is copied.
func (s *Season) jobFile(p *Proposal, name, root, own string) File {
	dir := filepath.Join(root, filepath.FromSlash(path.Dir(name)))
	t := &text{}
	t.line("# A job file for lapwing, made from what the files themselves tell.")
	t.line("# Lines with GUESS are worked out; read these first and put them right.")
	t.line("# Every quantity has its unit: 40 ft, 12 m, 10 in, 90 lb/ac, 800 USD/ton.")
	for _, note := range p.Notes {
		t.line("# GUESS: %s.", spec.OneLine(note))
	}
	t.line("")
	t.guess("field", Guess{edit.Text(p.Field), p.fieldSure, p.fieldWhy})
	switch {
	case p.Boundary == nil:
		t.line("boundary: worked                # no boundary given: the outer edge of the worked ground stands in for it,")
		t.line("                                # so ground left out along the edge cannot be seen. A file is better.")
	case p.copied:
		t.line("boundary: %s", edit.Text(own))
		t.line("# from: %s, which has %s without a name", edit.Text(s.from(dir, p.Boundary.Path)), countOf(len(p.Boundary.find.Fields), "field", "fields"))
		t.line("# %s", s.boundarySeen(p.Boundary))
	default:
		t.line("boundary: %s", edit.Text(s.from(dir, p.Boundary.Path)))
		t.line("# %s", s.boundarySeen(p.Boundary))
	}
	if p.Zone.Text == "" {
		t.line("# time_zone: America/Denver     # not needed: the times in the logs say their zone")
	} else {
		t.guess("time_zone", p.Zone)
	}
	t.line("")
	t.line("machines:")
	for _, m := range p.Machines() {
		s.machine(t, p, m, dir)
	}
	t.indent = ""
	t.line("")
	t.line("headland:")
	t.indent = "  "
	t.guess("rounds", p.Rounds)
	t.line("lap: 0 ft")
	t.indent = ""
	t.line("# edge_allowance: 0 ft            # a strip along the boundary left on purpose")
	t.line("")
	t.line("# What it puts down, for pounds and money; take the # away and put your own.")
	t.line("# products:")
	t.line("#   - {name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}")
	t.line("#   - {name: anhydrous ammonia, analysis: 82-0-0, rate: 70 lb N/ac, price: 800 USD/ton}")
	if crop := p.crop(); crop != "" {
		t.line("crop:")
		t.line("  name: %s # as the task set has it", edit.Text(crop))
		t.line("  # yield: 5 t/ha              # for what a skip is worth, with bushel: 60 lb where it is in bushels")
		t.line("  # price: 200 USD/t")
	} else {
		t.line("# crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}")
	}
	return File{name, t.write}
}

// machine writes one machine of a job.
func (s *Season) machine(t *text, p *Proposal, m *Machine, dir string) {
	t.indent = "  "
	t.line("- name: %s", edit.Text(m.Name))
	t.indent = "    "
	if m.NameSure != Told {
		t.line("# GUESS: the logs name no machine; call it what the crew does")
	}
	t.line("# operator: name")
	if m.File != "" {
		rel, err := filepath.Rel(filepath.FromSlash(path.Dir(p.File)), filepath.FromSlash(m.File))
		if err != nil {
			rel = m.File
		}
		t.line("implement: %s", edit.Text(filepath.ToSlash(rel)))
	} else {
		t.line("implement:")
		t.indent = "      "
		t.implement(m)
		t.indent = "    "
	}
	its := p.Of(m)
	says := func(d *Drive) bool { return d.Working }
	switch {
	case !slices.ContainsFunc(its, func(d *Drive) bool { return !d.Working }):
		t.line("working: logged               # seen: the logs say when it works")
	case slices.ContainsFunc(its, says):
		t.line("# working: logged             # seen: some of the logs say when it works; in the others it is worked out")
	default:
		t.line("working: inferred             # GUESS: no log says when it works, so it is worked out from the motion;")
		t.line(`                              # a rule such as "speed > 1 m/s" may do better`)
	}
	t.line("tracks:")
	t.indent = "      "
	for _, d := range its {
		for _, item := range s.Tracks(d, dir) {
			t.line("- %s", item)
		}
		t.line("  # seen: %s", spec.OneLine(d.Seen))
	}
}

// Tracks are the items of a machine's list of tracks that mean a drive, as they stand in
// a job in the directory dir.
func (s *Season) Tracks(d *Drive, dir string) (items []string) {
	for _, part := range d.Parts {
		items = append(items, fmt.Sprintf("{log: %s%s%s}", edit.Text(s.from(dir, d.Path)), d.timeText("from", part.From), d.timeText("to", part.To)))
	}
	if len(d.Parts) == 0 {
		items = append(items, edit.Text(s.from(dir, d.Path)))
	}
	return items
}

// MachineLines are a machine of a proposal as an item of a job's list of machines.
func (s *Season) MachineLines(p *Proposal, m *Machine) []string {
	t := &text{}
	s.machine(t, p, m, s.opt.Dir)
	lines := strings.Split(strings.TrimSuffix(t.String(), "\n"), "\n")
	for i := range lines {
		lines[i] = strings.TrimPrefix(lines[i], "  ")
	}
	return lines
}

// timeText is a key with a time, of the zone that the log's times have; nothing for
// none.
func (d *Drive) timeText(key string, at time.Time) string {
	layout := "2006-01-02T15:04:05Z"
	if d.Zoneless > 0 {
		layout = "2006-01-02T15:04:05"
	}
	if at.IsZero() {
		return ""
	}
	return fmt.Sprintf(", %s: %q", key, at.Format(layout))
}

func (s *Season) boundarySeen(g *Field) string {
	holes := 0
	for _, part := range g.land.Boundary {
		holes += len(part.Holes)
	}
	m2, at := g.Area(), g.land.Frame.Centre
	return fmt.Sprintf("seen: %s, %s, %.2f ac (%.2f ha), centre %.5f, %.5f (latitude, longitude)",
		countOf(len(g.land.Boundary), "part", "parts"), countOf(holes, "hole", "holes"), m2/quantity.Acre, m2/quantity.Hectare, at.Lat, at.Lon)
}

// area writes an area in the units of the call.
func (s *Season) area(m2 float64) string {
	if s.opt.Units == quantity.US {
		return fmt.Sprintf("%.1f ac", m2/quantity.Acre)
	}
	return fmt.Sprintf("%.1f ha", m2/quantity.Hectare)
}

// distance writes a length in the units of the call.
func (s *Season) distance(metres float64) string {
	if s.opt.Units == quantity.US {
		return trimmed(metres/quantity.Foot, 0) + " ft"
	}
	return trimmed(metres, 0) + " m"
}

// from returns a path as seen from the directory that a job file will stand in.
func (s *Season) from(dir, p string) string {
	if filepath.IsAbs(p) && !strings.HasPrefix(s.in.Abs(p), s.in.Abs(s.opt.Dir)+"/") {
		return p
	}
	rel, err := filepath.Rel(filepath.FromSlash(s.in.Abs(dir)), filepath.FromSlash(s.in.Abs(p)))
	if err != nil {
		return p
	}
	return filepath.ToSlash(rel)
}

// idle is why a field without work is left out. Where no field has work the error is another,
// and does not repeat it for each.
const idle = "no log works on it"

// nothing is the error for files of which no job can be made. It gives the reasons of the
// first that were left out.
func (s *Season) nothing(found string) error {
	const most = 3
	var why []string
	for _, l := range s.Left {
		if !l.Other && l.Why != idle && len(why) < most {
			why = append(why, l.Path+": "+l.Why)
		}
	}
	if len(why) > 0 {
		found += " (" + strings.Join(why, "; ") + ")"
	}
	return &job.InputError{Found: found, Want: "a boundary and one log of fixes or more"}
}

// Close closes the archives that the season reads from.
func (s *Season) Close() error {
	var errs []error
	for _, c := range s.open {
		errs = append(errs, c.Close())
	}
	return errors.Join(errs...)
}
