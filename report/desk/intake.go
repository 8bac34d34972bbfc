package desk

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/coverage/propose"
	"lapwing/geo"
	"lapwing/report"
	"lapwing/report/desk/asked"
	"lapwing/report/desk/history"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/pages"
	"lapwing/report/words"
)

// look says what the desk has. Files that have come since are taken in first: those of
// new fields get jobs, and logs of fields that are there join their jobs.
func (a *ask) look() (*State, error) {
	a.told("looking at the files", 0)
	if err := a.renew(); err != nil {
		return nil, err
	}
	if err := a.unpack(); err != nil {
		return nil, err
	}
	jobs, err := a.jobFiles()
	if err != nil {
		return nil, err
	}
	season, err := a.survey(jobs)
	if err != nil {
		return nil, err
	}
	defer season.Close()
	a.told("putting logs to fields", 0.8)
	in := &intake{ask: a, season: season, jobs: jobs}
	changed, err := in.take()
	if err != nil {
		return nil, err
	}
	if changed {
		if jobs, err = a.jobFiles(); err != nil {
			return nil, err
		}
	}
	a.told("drawing", 0.9)
	return a.state(season, jobs, in.apart), nil
}

// survey looks at all dropped files, and at those that jobs name elsewhere.
func (a *ask) survey(jobs []*jobfile.File) (*propose.Season, error) {
	var paths []string
	if info, err := fs.Stat(a.store, filesDir); err == nil && info.IsDir() {
		paths = append(paths, filesDir)
	}
	for _, j := range jobs {
		for _, name := range slices.Concat(j.Tracks(), j.Ground) {
			first, _, _ := cut(name)
			if first == filesDir || first == unpackedDir || first == boundariesDir || slices.Contains(paths, name) {
				continue
			}
			if _, err := a.in.Stat(name); err == nil {
				paths = append(paths, name)
			}
		}
	}
	taken := func(name string) bool {
		_, err := fs.Stat(a.store, name)
		return err == nil
	}
	for {
		units := a.units()
		season, err := propose.Survey(a.in, paths, propose.Options{Units: units, Flat: true, Taken: taken, Known: a.known,
			Progress: func(share float64) { a.told("looking at the files", 0.8*share) }})
		if stopped := a.ctx.Err(); stopped != nil {
			a.Desk.known = &propose.Known{} // what could not be read is not known to be broken
			return nil, stopped
		}
		if err != nil {
			return nil, err
		}
		if x := placesIn(season); a.book.Usual == "" && x.West <= x.East {
			a.book.Usual = pages.UnitsName(asked.UsualUnits(x))
		}
		if a.units() == units {
			return season, nil
		}
		if err := season.Close(); err != nil {
			return nil, err
		}
	}
}

// placesIn is where all that the files tell of lies.
func placesIn(season *propose.Season) geo.Extent {
	x := geo.NoExtent()
	for _, f := range season.Finds {
		widenTo(&x, f)
	}
	return x
}

// widenTo widens a box to the fields and the drives of a file.
func widenTo(x *geo.Extent, f *propose.Find) {
	for _, g := range f.Fields {
		widen(x, shells(g.Parts())...)
	}
	for _, d := range f.Drives {
		widen(x, d.Ways()...)
	}
}

// widen widens a box to some lines.
func widen(x *geo.Extent, lines ...[]geo.LonLat) {
	for _, line := range lines {
		for _, at := range line {
			x.Add(at)
		}
	}
}

func shells(parts []geo.Polygon) (rings [][]geo.LonLat) {
	for _, part := range parts {
		rings = append(rings, part.Shell)
	}
	return rings
}

// An intake puts what files tell beside the jobs that are there.
type intake struct {
	*ask
	season *propose.Season
	jobs   []*jobfile.File
	change history.Change
	apart  []Left // logs of jobs that a person wrote
	edited map[*jobfile.File]bool
	before map[*jobfile.File][]string // the tracks that a job had
}

// take makes jobs of new fields, and adds new logs to jobs that are there. It reports
// whether it changed a file.
func (in *intake) take() (bool, error) {
	in.edited, in.before = map[*jobfile.File]bool{}, map[*jobfile.File][]string{}
	for _, j := range in.jobs {
		in.before[j] = j.Tracks()
	}
	files := map[string]bool{} // implements that are needed
	for _, p := range in.season.Proposals {
		if err := in.one(p, files); err != nil {
			return false, err
		}
	}
	for _, m := range in.season.Machines {
		if files[m.File] {
			if err := in.keep(in.season.ImplementFile(m)); err != nil {
				return false, err
			}
		}
	}
	for j := range in.edited {
		in.change.Set(j.Path, j.Text.Text())
	}
	for _, c := range in.season.Copies {
		if in.named(c.Name) {
			in.copy(c)
		}
	}
	in.keepPromises()
	for _, name := range in.below(filesDir) {
		info, err := fs.Stat(in.store, name)
		size, seen := in.book.Seen[name]
		if err != nil || seen && size == info.Size() {
			continue
		}
		in.book.Seen[name] = info.Size()
		if !seen && !in.isNamed(name) { // else it is a newer version, or was there before desk.json was lost
			in.change.Came = append(in.change.Came, name)
		}
	}
	if n := len(in.change.Came); n > 0 {
		in.change.What = "the " + words.Count(n, "file") + " that came last: " + path.Base(in.change.Came[0])
		if n > 1 {
			in.change.What += fmt.Sprintf(" and %d more", n-1)
		}
	} else if len(in.change.Put) > 0 {
		in.change.What = "what was made of the files"
	}
	changed := len(in.change.Put) > 0
	return changed, in.commit(in.change)
}

// copy keeps a file of an archive, unless it is there.
func (in *intake) copy(c propose.Copy) {
	if _, err := fs.Stat(in.store, c.Name); err == nil {
		return
	}
	in.change.Stream = append(in.change.Stream, report.File{Name: c.Name, Write: func(w io.Writer) error {
		f, err := c.Open()
		if err != nil {
			return err
		}
		defer f.Close()
		return in.files().Copy(w, f)
	}})
}

// named reports whether a job of the change or of the desk names a file of an archive,
// or the folder that it is in.
func (in *intake) named(name string) bool {
	for _, text := range in.change.Put {
		if bytes.Contains(text, []byte(path.Dir(name))) {
			return true
		}
	}
	return slices.ContainsFunc(in.jobs, func(j *jobfile.File) bool {
		return slices.ContainsFunc(slices.Concat(j.Tracks(), j.Ground), func(t string) bool { return strings.HasPrefix(t, path.Dir(name)) })
	})
}

// isNamed reports whether a job that was there before names a file or a folder that it is
// in.
func (in *intake) isNamed(name string) bool {
	return slices.ContainsFunc(in.jobs, func(j *jobfile.File) bool {
		return j.Path != name && slices.ContainsFunc(slices.Concat(in.before[j], j.Ground), func(t string) bool {
			set, _, _ := strings.Cut(t, "#")
			return t == name || set == name || strings.HasPrefix(name, set+"/")
		})
	})
}

// keep takes a file into the change.
func (in *intake) keep(f propose.File) error {
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return err
	}
	in.change.Set(f.Name, b.Bytes())
	return nil
}

// one puts a proposal to the jobs.
func (in *intake) one(p *propose.Proposal, files map[string]bool) error {
	var fresh []*propose.Drive // in no job of this ground
	var home *jobfile.File
	for _, d := range p.Drives {
		j := in.jobOf(d, p)
		switch {
		case j != nil:
			if home == nil {
				home = j
			}
		case in.isPlaced(d):
		default:
			fresh = append(fresh, d)
		}
	}
	switch {
	case home == nil && len(fresh) == len(p.Drives):
		if j := in.without(p); j != nil {
			return in.giveGround(j, p)
		}
		return in.begin(p, files)
	case home == nil || len(fresh) == 0:
		return nil
	case !home.ByDesk:
		for _, d := range fresh {
			in.apart = append(in.apart, Left{Path: slashed(d.Path), Why: "it works on the ground of " + home.Path + ", which a person wrote or changed; put it there yourself", Job: home.Path})
		}
		return nil
	}
	for _, d := range fresh {
		if err := in.add(home, p, d, files); err != nil {
			in.apart = append(in.apart, Left{Path: slashed(d.Path), Why: "it works on the ground of " + home.Path + ", " + err.Error(), Job: home.Path})
		}
	}
	return nil
}

// isPlaced reports whether a person has said where a log belongs.
func (in *intake) isPlaced(d *propose.Drive) bool {
	for log := range in.book.Placed {
		if jobfile.Covers(log, d) {
			return true
		}
	}
	return false
}

// jobOf is the job that has a drive on the ground of a proposal; nil for none.
func (in *intake) jobOf(d *propose.Drive, p *propose.Proposal) *jobfile.File {
	for _, j := range in.jobs {
		if j.Has(d) && in.sameGround(j, p) {
			return j
		}
	}
	return nil
}

// without is the job that the desk wrote for the logs of a proposal before there was a
// boundary; nil for none.
func (in *intake) without(p *propose.Proposal) *jobfile.File {
	if p.Boundary == nil {
		return nil
	}
	for _, j := range in.jobs {
		if j.ByDesk && len(j.Ground) == 0 && (in.book.Ground[j.Path] == "" || in.book.Ground[j.Path] == noGround) && slices.ContainsFunc(p.Drives, j.Has) {
			return j
		}
	}
	return nil
}

// sameGround reports whether a job is on the ground of a proposal: it names the
// boundary, or was made for it, or a person wrote it for logs that are all here.
func (in *intake) sameGround(j *jobfile.File, p *propose.Proposal) bool {
	made := in.book.Ground[j.Path]
	at := func(name string) bool { // names have slashes, paths of a computer what it has
		return p.Boundary.IsAt(name) || p.Boundary.IsAt(filepath.FromSlash(name))
	}
	switch {
	case p.Boundary == nil:
		return len(j.Ground) == 0 || made == noGround || made == ""
	case slices.ContainsFunc(j.Ground, at), made != "" && at(made), slices.Contains(j.Ground, path.Join(boundariesDir, path.Base(p.File))):
		return true
	case made != "" && made != noGround:
		return false
	}
	return in.overlaps(j, p)
}

// noGround stands for the ground of a job that was made without a boundary.
const noGround = "-"

// overlaps reports whether the boundary of a job lies where that of a proposal does.
func (in *intake) overlaps(j *jobfile.File, p *propose.Proposal) bool {
	const alike = 0.5 // of both boxes together
	x := geo.NoExtent()
	for _, name := range j.Ground {
		fields, _, err := job.Fields(in.in, "boundary", name)
		if err != nil {
			continue
		}
		for i := range fields {
			widen(&x, shells(onEarth(&fields[i]))...)
		}
	}
	y := geo.NoExtent()
	widen(&y, shells(p.Boundary.Parts())...)
	wide := max(0, min(x.East, y.East)-max(x.West, y.West)) * max(0, min(x.North, y.North)-max(x.South, y.South))
	both := (x.East-x.West)*(x.North-x.South) + (y.East-y.West)*(y.North-y.South) - wide
	return wide > alike*both
}

// giveGround gives a job that had no boundary the one that has come.
func (in *intake) giveGround(j *jobfile.File, p *propose.Proposal) error {
	at := p.Boundary.Path
	files := in.season.JobFiles(p)
	if len(files) > 1 { // it gets a file of its own
		if err := in.keep(files[1]); err != nil {
			return err
		}
		at = files[1].Name
	}
	if err := j.Text.Set("boundary", slashed(at), "It came later."); err != nil {
		return err
	}
	if p.Field != "" && asked.IsGuess(j.Text.Notes("field")) {
		if err := j.Text.Set("field", p.Field, "As its boundary says."); err != nil {
			return err
		}
	}
	in.book.Ground[j.Path] = slashed(p.Boundary.Path)
	in.edited[j] = true
	return nil
}

// begin makes a new job.
func (in *intake) begin(p *propose.Proposal, files map[string]bool) error {
	for _, m := range p.Machines() {
		in.equip(m, files)
	}
	for _, f := range in.season.JobFiles(p) {
		if err := in.keep(f); err != nil {
			return err
		}
	}
	in.book.Ground[p.File] = noGround
	if p.Boundary != nil {
		in.book.Ground[p.File] = slashed(p.Boundary.Path)
	}
	return nil
}

// equip gives a machine the implement file that it has already, or notes that it needs
// one.
func (in *intake) equip(m *propose.Machine, files map[string]bool) {
	if files[m.File] {
		return
	}
	for _, j := range in.jobs {
		if i := j.Of(m); i >= 0 && j.Machines[i].File != "" {
			if text, err := in.readText(j.Machines[i].File); err == nil && agrees(text, m) {
				m.File = j.Machines[i].File
				return
			}
		}
	}
	if m.NameSure == propose.Told {
		for _, name := range in.below(machinesDir) {
			if text, err := in.readText(name); err == nil && jobfile.IsYAML(name) {
				if f, err := edit.Parse(text); err == nil && strings.EqualFold(f.Value("name"), m.Name) && agrees(text, m) {
					m.File = name
					return
				}
			}
		}
	}
	files[m.File] = true
}

// agrees reports whether an implement file may be of a machine: its width is not
// another than files tell.
func agrees(text []byte, m *propose.Machine) bool {
	f, err := edit.Parse(text)
	if err != nil {
		return false
	}
	for _, line := range m.Implement {
		if line.Key == "width" && line.Sure == propose.Told && f.Has("width") && !sameLength(line.Text, f.Value("width")) {
			return false
		}
	}
	return true
}

// add adds a drive to a job that is there.
func (in *intake) add(j *jobfile.File, p *propose.Proposal, d *propose.Drive, files map[string]bool) error {
	m := d.Machine()
	i := j.Of(m)
	if i < 0 {
		in.equip(m, files)
		if err := j.Text.AddLines("machines", in.season.MachineLines(p, m)); err != nil {
			return err
		}
		j.Machines = append(j.Machines, jobfile.Machine{Name: m.Name, File: m.File})
		for _, other := range p.Of(m) {
			j.Machines[len(j.Machines)-1].Tracks = append(j.Machines[len(j.Machines)-1].Tracks, slashed(other.Path))
		}
		in.edited[j] = true
		return nil
	}
	if j.Has(d) {
		return nil
	}
	key := "machines." + strconv.Itoa(i) + ".tracks"
	for k, item := range in.season.Tracks(d, path.Dir(j.Path)) {
		note := ""
		if k == 0 {
			note = "seen: " + d.Seen
		}
		if err := j.Text.Add(key, item, note); err != nil {
			return err
		}
	}
	j.Machines[i].Tracks = append(j.Machines[i].Tracks, slashed(d.Path))
	in.edited[j] = true
	return nil
}
