package propose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/machine"
	"lapwing/coverage/propose/pattern"
	"lapwing/coverage/quantity"
	"lapwing/coverage/worklog"
	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// A Machine is a machine with one implement. What it pulls on other days, where
// files tell that it is another, is another Machine of the same name.
type Machine struct {
	Name      string
	NameSure  Sureness
	Implement []Line // its implement file
	File      string // of the implement, in the season's directory; "" where it stands in the job

	drives []*Drive
	bar    string // what its logs tell of the bar, in short; "" where they tell nothing
}

// tellApart finds which drives are of one machine: by the name that a log gives,
// and without one by the bar and by not being in two places at a time.
func (s *Season) tellApart(drives []*Drive) (all []*Machine) {
	add := func(m *Machine, d *Drive) {
		m.drives = append(m.drives, d)
		d.machine = m
	}
	alone := func(d *Drive) {
		m := &Machine{Name: d.Named, bar: s.barOf(d)}
		if d.Named != "" {
			m.NameSure = Told
		}
		all = append(all, m)
		add(m, d)
	}
	var untold []*Drive
	for _, d := range drives {
		if s.barOf(d) == "" {
			untold = append(untold, d)
			continue
		}
		i := slices.IndexFunc(all, func(m *Machine) bool { return m.mayBeOf(d) && (m.bar == s.barOf(d) || m.partOf(d)) })
		if i < 0 {
			alone(d)
		} else {
			add(all[i], d)
		}
	}
	for _, d := range untold { // a machine that files tell has the drive only if no other fits it
		var fit []*Machine
		for _, m := range all {
			if m.mayBeOf(d) && (m.bar == "" && m.likeSpaced(d) || m.bar != "" && m.likeBar(d)) {
				fit = append(fit, m)
			}
		}
		if len(fit) != 1 {
			alone(d)
		} else {
			add(fit[0], d)
		}
	}
	return all
}

// partOf reports whether a drive and the machine tell of one bar in two widths,
// since one of them never worked with all of it: what it tells is the part, and its
// passes lie apart as those of the whole bar do.
func (m *Machine) partOf(d *Drive) bool {
	if d.implement != nil || m.drives[0].implement != nil || d.bar.Sections != m.drives[0].bar.Sections {
		return false
	}
	whole, narrow := m.metres(), d.bar.Width.Metres
	of := []*Drive{d}
	if narrow > whole {
		whole, narrow, of = narrow, whole, m.drives
	}
	apart := pattern.SpacingOf(ways(of...))
	return narrow < (1-alikeSpacing)*whole && apart.Sure() && math.Abs(apart.Middle-whole) <= alikeSpacing*whole
}

// mayBeOf reports whether a drive may be of the machine: they have one name, or
// neither has a name and the machine was nowhere else at the time.
func (m *Machine) mayBeOf(d *Drive) bool {
	if !strings.EqualFold(m.Name, d.Named) {
		return false
	}
	return d.Named != "" || !slices.ContainsFunc(m.drives, func(b *Drive) bool {
		return !d.NoClock && !b.NoClock && d.From.Before(b.To) && b.From.Before(d.To)
	})
}

// barOf says in short what a drive tells of its bar: those that tell the same may
// be of one machine.
func (s *Season) barOf(d *Drive) string {
	switch {
	case s.opt.Width != "":
		return fmt.Sprint(s.opt.Width, " ", d.bar.Sections)
	case d.implement != nil && len(d.implement.Sections) < 2:
		// The width of a bar of one section may be known only as the widest that was
		// worked in a task: it is no sign of another.
		im := *d.implement
		return fmt.Sprint("set ", im.Towed, im.AntennaToHitch, im.AntennaRight, im.HitchToBar, im.Offset)
	case d.implement != nil:
		return fmt.Sprintf("set %+v", *d.implement)
	case d.bar.Width.Metres > 0:
		return fmt.Sprint(d.bar.Width.Text, " ", d.bar.Sections)
	}
	return ""
}

// alikeSpacing is how much two spacings, or a spacing and a width, of one machine
// differ at most: passes lap by less. Judgement; TestSeveralLogs holds it.
const alikeSpacing = 0.1

// likeSpaced reports whether the passes of a drive lie as far apart as those of
// the machine. Where that cannot be told they are of one machine if they are of the
// same days.
func (m *Machine) likeSpaced(d *Drive) bool {
	mine, theirs := pattern.SpacingOf(ways(d)), pattern.SpacingOf(ways(m.drives...))
	if mine.Sure() && theirs.Sure() {
		return math.Abs(mine.Middle-theirs.Middle) <= alikeSpacing*theirs.Middle
	}
	return m.sameDays(d)
}

// likeBar reports whether the passes of a drive lie apart as those of the
// machine's bar would. Where that cannot be told, a machine of the drive's own name
// is the same within the days of one operation.
func (m *Machine) likeBar(d *Drive) bool {
	mine, width := pattern.SpacingOf(ways(d)), m.metres()
	if !mine.Sure() {
		return d.Named != "" && m.sameDays(d)
	}
	return math.Abs(mine.Middle-width) <= alikeSpacing*width
}

// sameDays reports whether a drive is within the days of one operation of another of
// the machine.
func (m *Machine) sameDays(d *Drive) bool {
	return slices.ContainsFunc(m.drives, func(o *Drive) bool {
		return o.NoClock || d.NoClock || d.From.Sub(o.To) <= sameOperation && o.From.Sub(d.To) <= sameOperation
	})
}

// metres is the width of the bar as far as files tell; 0 where they do not.
func (m *Machine) metres() (width float64) {
	for _, d := range m.drives {
		if d.implement != nil {
			width = max(width, d.implement.Width.Metres())
		} else {
			width = max(width, d.bar.Width.Metres)
		}
	}
	return width
}

// anyMetres is the width of the bar, guessed if need be.
func (m *Machine) anyMetres(s *Season) float64 {
	if metres, err := quantity.Parse(s.opt.Width, quantity.Length); err == nil {
		return metres
	}
	if metres := m.metres(); metres > 0 {
		return metres
	}
	if apart := pattern.SpacingOf(ways(m.drives...)); apart.Sure() {
		return apart.Middle
	}
	return anyWidth
}

// equip works out the implements of the machines that are in proposals, and their
// names.
func (s *Season) equip(all []*Machine) {
	for _, m := range all {
		if !slices.ContainsFunc(s.Proposals, func(p *Proposal) bool { return p.hasMachine(m) }) {
			continue
		}
		s.Machines = append(s.Machines, m)
		m.Implement = append(m.Implement, s.width(m))
		if s.opt.Width == "" {
			m.Implement = append(m.Implement, m.rows()...)
		}
		m.Implement = append(m.Implement, m.sections(s.opt.Width != "")...)
		m.Implement = append(m.Implement, m.hitch()...)
	}
	s.nameMachines()
}

// nameMachines gives names to those that have none: the name of their log, where
// that tells two apart, or a number.
func (s *Season) nameMachines() {
	nameless := func(m *Machine) bool { return m.NameSure != Told }
	beside := func(m *Machine) bool { // on a field with another that has no name either
		return slices.ContainsFunc(s.Proposals, func(p *Proposal) bool {
			return p.hasMachine(m) && slices.ContainsFunc(p.Machines(), func(o *Machine) bool { return o != m && nameless(o) })
		})
	}
	taken := func(name string) bool {
		return slices.ContainsFunc(s.Machines, func(m *Machine) bool { return strings.EqualFold(m.Name, name) })
	}
	n := 1
	for _, m := range s.Machines {
		if m.Name != "" {
			continue
		}
		m.NameSure = Guessed
		if beside(m) {
			if name := source.Stem(m.drives[0].Path); len(m.drives) == 1 && !slices.Contains(plainNames, strings.ToLower(name)) && !taken(name) {
				m.Name = name
				continue
			}
		}
		for taken(fmt.Sprintf("machine %d", n)) {
			n++
		}
		m.Name = fmt.Sprintf("machine %d", n)
	}
}

// widest is the drive of the machine that tells of the widest bar.
func (m *Machine) widest() *Drive {
	return slices.MaxFunc(m.drives, func(a, b *Drive) int {
		if a.implement != nil && b.implement != nil {
			return cmp.Compare(a.implement.Width, b.implement.Width)
		}
		return cmp.Compare(a.bar.Width.Metres, b.bar.Width.Metres)
	})
}

// width is the line of the working width.
func (s *Season) width(m *Machine) Line {
	d := m.widest()
	line := func(text string, sure Sureness, why string, args ...any) Line {
		return Line{"width", Guess{text, sure, fmt.Sprintf(why, args...)}}
	}
	bar := d.bar
	switch {
	case s.opt.Width != "":
		return line(s.opt.Width, Told, "as given")
	case d.implement != nil:
		return line(exact(d.implement.Width), Told, "the task set tells it%s%s", of(m.Name), s.also(d.implement.Width.Metres(), "m"))
	case bar.Width.Metres > 0 && bar.Shaped:
		return line(bar.Width.Text, Likely, "as wide as the polygons in %s", d.Path)
	case bar.Width.Metres > 0 && bar.Placed:
		return line(bar.Width.Text, Likely, "the records of its %d sections lie so far apart in %s, with half a section more on either side", bar.Sections, d.Path)
	case bar.Width.Metres > 0 && len(bar.Parts) > 0 && !bar.Judged:
		return line(bar.Width.Text, Told, "the widths of its %d sections in %s, summed%s", len(bar.Parts), d.Path, s.also(bar.Width.Metres, bar.Width.Text))
	case bar.Width.Metres > 0 && bar.Judged:
		return line(bar.Width.Text, Likely, "the widest in column %q of %s, which names no unit: judged by the size that bars have%s", bar.From, d.Path, s.also(bar.Width.Metres, bar.Width.Text))
	case bar.Width.Metres > 0:
		return line(bar.Width.Text, Told, "the widest in column %q of %s%s", bar.From, d.Path, s.also(bar.Width.Metres, bar.Width.Text))
	}
	return s.spacedWidth(m)
}

func of(name string) string {
	if name == "" {
		return ""
	}
	return " of " + name
}

// also writes a width in feet or metres behind one that is in another unit.
func (s *Season) also(metres float64, text string) string {
	unit := text[strings.LastIndexByte(text, ' ')+1:]
	if s.opt.Units == quantity.US && unit != "ft" {
		return fmt.Sprintf("; %s ft", trimmed(metres/quantity.Foot, 2))
	}
	if s.opt.Units != quantity.US && unit != "m" {
		return fmt.Sprintf("; %s m", trimmed(metres, 3))
	}
	return ""
}

// spacedWidth is the width as far as the spacing of passes tells.
func (s *Season) spacedWidth(m *Machine) Line {
	apart := pattern.SpacingOf(ways(m.drives...))
	between := 0
	for _, p := range s.Proposals {
		var others []*Drive
		for _, d := range p.Drives {
			if d.machine != m {
				others = append(others, d)
			}
		}
		between += pattern.Between(ways(p.Of(m)...), ways(others...))
	}
	spread := fmt.Sprintf("half of %d neighbouring passes lie %s to %s apart", apart.Passes, s.inUnit(apart.Low), s.inUnit(apart.High))
	switch {
	case apart.Passes < pattern.Fewest:
		return Line{"width", Guess{"", Unknown, fmt.Sprintf("no file tells the working width, and %s beside another, too few to tell it by", passesLie(apart.Passes))}}
	case !apart.Even():
		return Line{"width", Guess{s.inUnit(apart.Middle), Unknown, "no file tells the working width, and passes are too uneven to tell it by: " + spread}}
	case between*4 > apart.Passes:
		return Line{"width", Guess{s.inUnit(apart.Middle), Unknown, "no file tells the working width, and passes of another machine lie between its own: " + spread}}
	}
	return Line{"width", Guess{s.inUnit(apart.Middle), Likely, "the usual distance between neighbouring passes: " + spread + ". Where passes lap, the bar is that much wider"}}
}

func passesLie(n int) string {
	if n == 1 {
		return "1 pass lies"
	}
	return fmt.Sprintf("%d passes lie", n)
}

// inUnit writes metres to a hundredth of a foot or to a centimetre.
func (s *Season) inUnit(metres float64) string {
	if s.opt.Units == quantity.US {
		return trimmed(metres/quantity.Foot, 2) + " ft"
	}
	return trimmed(metres, 2) + " m"
}

// trimmed writes a number to so many decimals, no zeros at their end.
func trimmed(x float64, decimals int) string {
	scale := math.Pow10(decimals)
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', -1, 64)
}

// exact writes a length of the grid to the tick.
func exact(l plane.Length) string { return trimmed(l.Metres(), 4) + " m" }

// rows are the lines of openers, where the logged widths tell of rows.
func (m *Machine) rows() []Line {
	d := m.widest()
	if d.bar.Rows == 0 || d.implement != nil && len(d.implement.Sections) > 1 {
		return nil
	}
	if told := d.implement; told != nil && math.Abs(told.Width.Metres()-d.bar.Width.Metres) > 0.001*told.Width.Metres() {
		return nil
	}
	why := fmt.Sprintf("the widths in %s come in whole steps of %s, so they are rows", d.Path, d.bar.Spacing.Text)
	return []Line{
		{"openers", Guess{strconv.Itoa(d.bar.Rows), Likely, why}},
		{"row_spacing", Guess{d.bar.Spacing.Text, Likely, ""}},
	}
}

// sections is the line of the parts of the bar, where files tell of any. Of a bar
// whose width is given they are parts of that.
func (m *Machine) sections(given bool) []Line {
	d := m.widest()
	line := func(text, why string, sure Sureness) []Line { return []Line{{"sections", Guess{text, sure, why}}} }
	if told := d.implement; given && told != nil && len(told.Sections) > 1 {
		return line(strconv.Itoa(len(told.Sections)), "as many as the task set tells of, taken as equally wide", Likely)
	}
	if d.implement != nil {
		var parts []worklog.Length
		for _, one := range d.implement.Sections {
			parts = append(parts, worklog.Length{Metres: (one.Right - one.Left).Metres(), Text: exact(one.Right - one.Left)})
		}
		if len(parts) < 2 {
			return nil
		}
		return line(listed(parts, d.implement), "as the task set tells", Told)
	}
	switch most := slices.MaxFunc(m.drives, func(a, b *Drive) int { return cmp.Compare(a.bar.Sections, b.bar.Sections) }).bar; {
	case most.Sections < 2:
		return nil
	case given:
		return line(strconv.Itoa(most.Sections), "as many as the log tells of, taken as equally wide", Likely)
	case len(most.Parts) > 1 && !most.Placed:
		return line(listed(most.Parts, nil), "as wide as the log has them, from left to right", Told)
	case len(most.Parts) > 1:
		return line(listed(most.Parts, nil), "as far as their records lie apart, from left to right", Likely)
	default:
		return line(strconv.Itoa(most.Sections), "as many as the log tells of, taken as equally wide", Likely)
	}
}

// listed writes sections as their number, where they are equal, or as their widths.
func listed(parts []worklog.Length, im *machine.Implement) string {
	equal := !slices.ContainsFunc(parts, func(p worklog.Length) bool { return p.Text != parts[0].Text })
	if im != nil {
		equal = slices.Equal(im.Sections, machine.EqualSections(im.Width, len(im.Sections)))
	}
	if equal {
		return strconv.Itoa(len(parts))
	}
	var texts []string
	for _, p := range parts {
		texts = append(texts, p.Text)
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

// hitch are the lines of where the bar is.
func (m *Machine) hitch() []Line {
	d := m.widest()
	if d.implement == nil && d.bar.OnBar {
		return onBar(d.bar)
	}
	if d.implement == nil {
		return []Line{
			{"mount", Guess{"mounted", Guessed, "no file tells. Towed bars cut corners: then say mount: towed, antenna_to_hitch: 2 m, hitch_to_bar: 9 m"}},
			{"antenna_to_hitch", Guess{"0 m", Guessed, "no file tells. Mounted: from the antenna back to the bar; turns and pass ends depend on it"}},
		}
	}
	im := d.implement
	if !d.placed && im.AntennaToHitch == 0 && !im.Towed {
		return []Line{{"mount", Guess{"mounted", Guessed, "the task set does not say how it hangs"}},
			{"antenna_to_hitch", Guess{"0 m", Guessed, "nor where the bar is from the antenna, so it is taken to be right under it; turns and pass ends depend on it"}}}
	}
	sure, mount := Told, Guess{"mounted", Told, "as the task set tells"}
	if !d.placed {
		sure = Guessed
		mount = Guess{"mounted", Guessed, "the task set says where the bar is, but not from the antenna; turns and pass ends depend on it"}
	}
	if im.Towed {
		mount.Text = "towed"
	}
	if im.Towed && !d.hitched {
		mount = Guess{"towed", Guessed, "the task set does not say how it is hitched; so far behind the pin, it is taken as towed"}
	}
	lines := []Line{{"mount", mount}}
	if im.Towed {
		lines = append(lines, Line{"antenna_to_hitch", Guess{exact(im.AntennaToHitch), sure, "from the antenna back to the pin"}},
			Line{"hitch_to_bar", Guess{exact(im.HitchToBar), Told, "from the pin back to the bar"}})
	} else {
		lines = append(lines, Line{"antenna_to_hitch", Guess{exact(im.AntennaToHitch), sure, "from the antenna back to the bar"}})
	}
	return append(lines, asideOf(im)...)
}

// onBar are the lines of a bar whose places the log has itself: the antenna stands
// for it, whatever it hangs on. A towed one is given a pin a little ahead of it, so
// that it takes its direction from its own way and not from the tractor's heading.
func onBar(bar worklog.Bar) []Line {
	onItself := Guess{"0 m", Told, "the log's places are on the bar itself"}
	switch bar.Mount {
	case worklog.MountRigid:
		return []Line{{"mount", Guess{"mounted", Likely, bar.MountWhy}}, {"antenna_to_hitch", onItself}}
	case worklog.MountTowed:
		return []Line{{"mount", Guess{"towed", Likely, bar.MountWhy}},
			{"antenna_to_hitch", Guess{"-1 m", Told, "the log's places are on the bar itself, so the pin is ahead of them"}}, {"hitch_to_bar", Guess{"1 m", Told, "and the bar as far behind the pin"}}}
	}
	return []Line{{"mount", Guess{"mounted", Guessed, "no file tells, and little hangs on it: the log's places are on the bar itself"}}, {"antenna_to_hitch", onItself}}
}

// asideOf are the lines of what stands to one side.
func asideOf(im *machine.Implement) (lines []Line) {
	if im.AntennaRight != 0 {
		lines = append(lines, Line{"antenna_right", Guess{exact(im.AntennaRight), Told, "the antenna right of the centre line"}})
	}
	if im.Offset != 0 {
		lines = append(lines, Line{"offset", Guess{exact(im.Offset), Told, "the bar's middle right of the line of draught"}})
	}
	return lines
}

// Drives are all drives of the machine, on whichever fields.
func (m *Machine) Drives() []*Drive { return m.drives }
