// Package spec reads what is written: a job file and the implement files it
// names. It opens nothing else. A [Spec] has every value in SI units, and the
// place of each that may still prove wrong when logs and boundaries are opened.
//
//	page.go       YAML -> entries with their key paths and lines
//	spec.go       a job as a whole
//	implement.go  how wide the bar is, where it hangs
//	product.go    what is put down, and the crop
//	whatif.go     what only --what-if needs
//	retrack.go    a job file -> the same elsewhere, with more machines and logs
//	guest.go      a machine of another job
//	error.go      what is wrong, and where
//
// What is wrong is an [*InputError]; of several things the first is told.
package spec

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // so that time_zone works where no zones are installed

	"go.yaml.in/yaml/v4"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/whatif"
	"lapwing/coverage/worklog"
	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// A Spec is a job as it is written in a file or in the flags of a command.
type Spec struct {
	File  string   // the job file; "" for a call
	Files []string // all files that it is written in, the job file first

	Field    string // "" where the field is not named
	Boundary []Path // files; none where Worked, or where nothing is said
	Worked   bool   // the boundary is to be taken from the worked ground

	Zone      *time.Location // for times without a zone
	ZoneGiven bool

	Machines []Machine
	Options  field.Options
	Products []Product
	Crop     *agronomy.Crop // nil if not given
	RainAt   *time.Time     // nil if not given

	GNSS      GNSS
	GoingBack agronomy.GoingBack
	Switching whatif.Switching

	Warnings []field.Warning
}

// A Path is the path of a file that a job names.
type Path struct {
	Place
	Text string // as it is written
	Path string // as seen from the working directory
	// From and To say of a log which part of it is meant: the fixes from one time up
	// to, and without, another. Zero: from its beginning, to its end.
	From, To time.Time
}

// A Machine is a machine as it is written.
type Machine struct {
	Name, Operator string        // Name is "" in a call: the logs tell machines apart
	LoggedAs       string        // its name in the logs' column of machines; that is Name where the job gives no other
	Lap            *plane.Length // by which its passes lap by plan; nil if not given
	// Implement is nil where the job does not give it: then one of the tracks must be a
	// task set, which tells, or Missing is the error.
	Implement *machine.Implement
	Missing   *InputError
	Working   worklog.Rule
	Tracks    []Path
}

// A Product is a product as it is written, with the names of columns that the
// logs must have.
type Product struct {
	agronomy.Product
	Kernel     float64 // kg of one seed; 0 if not given
	Column     Text    // that says where the product itself was on
	LoggedRate Text    // that says how much was put down, or NoRate
}

// NoRate says of a product that its logged rate is not to be used.
const NoRate = "none"

// A Text is a text with its place; Given is false where there is none.
type Text struct {
	Place
	Text  string
	Given bool
}

// GNSS is what the job says of its receivers.
type GNSS struct {
	ShortTerm, Drift *float64 // m, one standard deviation; nil if not given
	Steering         whatif.Steering
}

// Worked stands for a boundary that is to be taken from the worked ground.
const Worked = "worked"

var (
	jobKeys = []string{"field", "boundary", "time_zone", "machines", "headland", "edge_allowance", "products", "crop",
		"rain_at", "shift", "gnss", "going_back", "switching"}
	machineKeys = []string{"name", "logged_as", "operator", "lap", "implement", "working", "tracks"}
)

// A reader is a job being read.
type reader struct {
	files source.Files
	dir   string // of the job file; its paths start there
	spec  *Spec
}

// Read reads a job file and the implement files that it names. A file that is
// none gives an error whose reason is [ErrNoJob].
func Read(files source.Files, path string) (*Spec, error) {
	r := reader{files: files, dir: dirOf(files, path), spec: &Spec{File: path, Zone: time.UTC}}
	data, err := r.file(path)
	if err != nil {
		return nil, &InputError{File: path, Found: err.Error(), Want: "a job file", Reason: ErrNoJob}
	}
	top, err := parse(path, data)
	if err == nil && !top.hasAny(jobKeys) {
		top.mapping(jobKeys...)
		err = top.page.err
	}
	if err != nil {
		var wrong *InputError
		if errors.As(err, &wrong) {
			wrong.Reason = ErrNoJob
		}
		return nil, err
	}
	if err := r.job(top); err != nil {
		return nil, err
	}
	return r.spec, nil
}

// ReadImplement reads an implement file by itself.
func ReadImplement(files source.Files, path string) (machine.Implement, []field.Warning, error) {
	r := reader{files: files, dir: dirOf(files, path), spec: &Spec{Zone: time.UTC}}
	data, err := r.file(path)
	if err != nil {
		return machine.Implement{}, nil, &InputError{File: path, Found: err.Error(), Want: "an implement file"}
	}
	top, err := parse(path, data)
	if err != nil {
		return machine.Implement{}, nil, err
	}
	im := r.implement(top)
	return im, r.spec.Warnings, top.page.err
}

// LooksLikeJob reports whether a YAML file is meant as a job: it names
// machines or a boundary, or it cannot be read as YAML, so that [Read] will
// say what is wrong with it. An implement file is none.
func LooksLikeJob(files source.Files, path string) bool {
	data, err := readFile(files, path)
	if err != nil {
		return true
	}
	var top yaml.Node
	if err := yaml.Unmarshal(data, &top); err != nil || len(top.Content) == 0 {
		return true
	}
	mapping := top.Content[0]
	for i := 0; mapping.Kind == yaml.MappingNode && i+1 < len(mapping.Content); i += 2 {
		switch mapping.Content[i].Value {
		case "machines", "boundary":
			return true
		}
	}
	return false
}

// file reads a file that the job is written in.
func (r *reader) file(path string) ([]byte, error) {
	r.spec.Files = append(r.spec.Files, path)
	return readFile(r.files, path)
}

// readFile returns what a file holds; its errors say why not in few words.
func readFile(files source.Files, path string) ([]byte, error) {
	f, err := files.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	const most = 1 << 20 // a job file of a thousand machines is smaller
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	switch {
	case err != nil:
		return nil, err
	case len(data) > most:
		return nil, errors.New("over 1 MiB")
	}
	return data, nil
}

// dirOf is where the paths in a file start: the folder that it lies in, and of
// what lies in none, such as a pipe, the working directory.
func dirOf(files source.Files, path string) string {
	if files.Once(path) {
		return "."
	}
	return filepath.Dir(path)
}

// path returns a path of the job file as seen from the working directory.
func (r *reader) path(p string) string {
	if p == source.Standard || filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(r.dir, p)
}

// named is the path of a file that an entry names.
func (r *reader) named(e entry) Path {
	text := e.text("")
	return Path{Place: e.place(), Text: text, Path: r.path(text)}
}

func (r *reader) warn(place Place, format string, args ...any) {
	r.spec.Warnings = append(r.spec.Warnings, field.Warning{File: place.File, Line: place.Line, Text: OneLine(fmt.Sprintf(format, args...))})
}

// job reads the whole job file.
func (r *reader) job(top entry) error {
	s := r.spec
	top.mapping(jobKeys...)
	s.Field = top.get("field").text("the name of the field")
	r.boundary(top.get("boundary"))
	r.timeZone(top.get("time_zone"))
	for i, e := range top.need("machines", "a list of machines").items("a list of machines") {
		m := r.machine(e)
		for _, other := range s.Machines[:i] {
			if strings.EqualFold(m.Name, other.Name) {
				e.get("name").fail("found "+strconv.Quote(m.Name)+" twice", "a name for each machine")
			}
		}
		s.Machines = append(s.Machines, m)
	}
	r.headland(top.get("headland"))
	s.Options.EdgeAllowance = top.get("edge_allowance").length(0)
	for i, e := range top.get("products").items("a list of products") {
		p := r.product(e)
		for _, other := range s.Products[:i] {
			if p.Name == other.Name {
				e.get("name").fail("found "+strconv.Quote(p.Name)+" twice", "a name for each product")
			}
		}
		s.Products = append(s.Products, p)
	}
	s.Crop = cropOf(top.get("crop"))
	s.Options.Shift = shiftOf(top.get("shift"))
	s.GNSS = gnssOf(top.get("gnss"))
	s.GoingBack = goingBackOf(top.get("going_back"))
	s.Switching = switchingOf(top.get("switching"))
	if at := r.time(top.get("rain_at")); top.get("rain_at").given() {
		s.RainAt = &at
	}
	return top.page.err
}

// boundary reads where the boundary is: in files, or around the worked ground.
func (r *reader) boundary(e entry) {
	const ground = "a boundary file, a list of them, or worked"
	list := e.list(ground)
	for i, one := range list {
		text := one.text(ground)
		if text == Worked && len(list) > 1 || text == "" && i > 0 {
			one.fail("found "+strconv.Quote(text)+" in a list", "a boundary file")
		}
		switch text {
		case "":
		case Worked:
			r.spec.Worked = true
		default:
			r.spec.Boundary = append(r.spec.Boundary, r.named(one))
		}
	}
}

// timeZone reads the zone for times without one.
func (r *reader) timeZone(e entry) {
	const want = `a name such as "America/Denver" or "UTC"`
	name := e.text(want)
	if name == "" {
		return
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		e.fail("found "+strconv.Quote(name)+", no such time zone", want)
		return
	}
	r.spec.Zone, r.spec.ZoneGiven = zone, true
}

// machine reads one machine.
func (r *reader) machine(e entry) Machine {
	e.mapping(machineKeys...)
	m := Machine{Working: r.rule(e.get("working"))}
	m.Name = e.need("name", "a name").name("a name")
	if m.LoggedAs = e.get("logged_as").text("a name, as the logs have it"); m.LoggedAs == "" {
		m.LoggedAs = m.Name
	}
	m.Operator = e.get("operator").text("a name")
	lap := e.get("lap")
	if lap.given() {
		by := lap.length(0)
		m.Lap = &by
	}
	tracks := tracksOf(e.need("tracks", "a list of logs"))
	if im := e.get("implement"); im.given() {
		bar := r.implementOf(im)
		m.Implement = &bar
	} else {
		m.Missing = im.place().Wrong("missing", "the keys of an implement, or the path of a file with them")
	}
	if m.Lap != nil && m.Implement != nil && *m.Lap >= m.Implement.Width {
		lap.fail("found "+strconv.Quote(lap.text("")), "less than the working width")
	}
	for _, t := range tracks {
		one := r.track(t)
		for _, other := range m.Tracks {
			if one.Text == other.Text && one.meets(other) {
				t.fail("found "+strconv.Quote(one.Text)+" twice", "each log once")
			}
		}
		m.Tracks = append(m.Tracks, one)
	}
	return m
}

// tracksOf are the entries of a list of logs. An empty list is that of a machine
// that has none yet.
func tracksOf(e entry) []entry {
	if e.given() && e.node.Kind == yaml.SequenceNode && len(e.node.Content) == 0 {
		return nil
	}
	return e.list("a list of logs")
}

// track reads a log: its path, or with keys the part of it that is meant.
func (r *reader) track(e entry) Path {
	if e.node.Kind != yaml.MappingNode {
		e.name("the path of a log")
		return r.named(e)
	}
	e.mapping("log", "from", "to")
	log := e.need("log", "the path of a log")
	log.name("the path of a log")
	p := r.named(log)
	p.From, p.To = r.time(e.get("from")), r.time(e.get("to"))
	if !p.From.IsZero() && !p.To.IsZero() && !p.From.Before(p.To) {
		e.get("to").fail("found "+strconv.Quote(e.get("to").text("")), "a time after from")
	}
	return p
}

// meets reports whether two parts of a log have a time in common.
func (p Path) meets(q Path) bool {
	before := func(p, q Path) bool { return !p.To.IsZero() && !q.From.IsZero() && !p.To.After(q.From) }
	return !before(p, q) && !before(q, p)
}

// time returns a time; zero where none is given.
func (r *reader) time(e entry) time.Time {
	if !e.given() {
		return time.Time{}
	}
	const want = `a time such as "2026-05-04T18:00"`
	at, ok := worklog.ReadTime(e.text(want), r.spec.Zone)
	if !ok {
		e.fail("found "+strconv.Quote(e.text(want)), want)
	}
	return at
}

// rule reads what tells whether a machine works.
func (r *reader) rule(e entry) worklog.Rule {
	if !e.given() {
		return worklog.Rule{}
	}
	rule, err := worklog.ReadRule(e.text(worklog.RuleWant), r.spec.Zone)
	if err != nil {
		e.refuse(err)
	}
	return rule
}

// headland reads the rounds along the boundary.
func (r *reader) headland(e entry) {
	if !e.given() {
		return
	}
	e.mapping("rounds", "lap")
	opt := &r.spec.Options
	rounds := e.get("rounds")
	if rounds.given() {
		opt.Rounds = rounds.whole(1, 100)
	}
	lap := e.get("lap")
	opt.Lap = lap.length(0)
	machines := r.spec.bars()
	widest := machine.Widest(machines)
	if widest > 0 && opt.Lap >= widest {
		lap.fail("found "+strconv.Quote(lap.text("")), "less than the working width")
	}
	if deep := opt.HeadlandWidth(widest); deep > field.Room {
		rounds.fail(fmt.Sprintf("found %q, %.0f m deep", rounds.text(""), deep.Metres()), fmt.Sprintf("%.0f m at most", field.Room.Metres()))
	}
}

// bars are the machines with their implements alone. A machine whose implement the job does
// not give has none.
func (s *Spec) bars() (machines []machine.Machine) {
	for _, m := range s.Machines {
		one := machine.Machine{Name: m.Name}
		if m.Implement != nil {
			one.Implement = *m.Implement
		}
		machines = append(machines, one)
	}
	return machines
}
