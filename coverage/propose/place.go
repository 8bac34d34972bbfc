package propose

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/propose/cell"
	"lapwing/coverage/propose/pattern"
	"lapwing/geo"
)

// A Proposal is a job: what was done on one field, within some days, that is one
// operation.
type Proposal struct {
	Field    string // its name
	Boundary *Field // nil: the outer edge of the worked ground stands in for it
	Drives   []*Drive
	From, To time.Time // zero where no log has a clock
	Zone     Guess     // for times without one; Text is "" where all have one
	Rounds   Guess     // along the boundary
	Notes    []string  // what was taken for granted in putting it together
	File     string    // of the job, in the season's directory, with slashes

	fieldSure Sureness
	fieldWhy  string
	copied    bool // the boundary gets a file of its own beside the job
}

// hasMachine reports whether a machine is in the proposal.
func (p *Proposal) hasMachine(m *Machine) bool {
	return slices.ContainsFunc(p.Drives, func(d *Drive) bool { return d.machine == m })
}

// Machines are the machines of the proposal, in the order in which they began.
func (p *Proposal) Machines() (all []*Machine) {
	for _, d := range p.Drives {
		if !slices.Contains(all, d.machine) {
			all = append(all, d.machine)
		}
	}
	return all
}

// crop is what grows on the field, as a task set has it; "" where none does.
func (p *Proposal) crop() string {
	if p.Boundary != nil && p.Boundary.crop != "" {
		return p.Boundary.crop
	}
	said := slices.IndexFunc(p.Drives, func(d *Drive) bool { return d.crop != "" })
	if said < 0 {
		return ""
	}
	return p.Drives[said].crop
}

// Of are the drives of one machine.
func (p *Proposal) Of(m *Machine) (its []*Drive) {
	for _, d := range p.Drives {
		if d.machine == m {
			its = append(its, d)
		}
	}
	return its
}

// finds are the files that the proposal names.
func (p *Proposal) finds() (all []*Find) {
	for _, d := range p.Drives {
		all = append(all, d.find)
	}
	if p.Boundary != nil && !p.copied {
		all = append(all, p.Boundary.find)
	}
	return all
}

// drives lists the drives of all finds from the earliest on, those of one log that
// lies there twice once, and those in which a machine worked.
func (s *Season) drives() []*Drive {
	var all []*Drive
	for _, f := range s.Finds {
		for _, d := range f.Drives {
			if len(d.cells) == 0 {
				s.left(s.nameDrive(d), "no work in it")
				continue
			}
			all = append(all, d)
		}
	}
	slices.SortStableFunc(all, func(a, b *Drive) int {
		if a.NoClock != b.NoClock {
			if a.NoClock {
				return 1
			}
			return -1
		}
		return cmp.Or(a.From.Compare(b.From), cmp.Compare(a.Path, b.Path))
	})
	bySum := map[uint64]*Drive{}
	return slices.DeleteFunc(all, func(d *Drive) bool {
		first := bySum[d.sum]
		if first == nil {
			bySum[d.sum] = d
			return false
		}
		s.left(s.nameDrive(d), "the same fixes as %s", s.nameDrive(first))
		return true
	})
}

// nameDrive names a drive in a message: its log, and the machine where the log names
// several.
func (s *Season) nameDrive(d *Drive) string {
	if d.Named != "" && len(d.find.Drives) > 1 && d.implement == nil {
		return s.shown(d.Path) + ", machine " + d.Named
	}
	return s.shown(d.Path)
}

// How much of a drive must lie on a field for it to be work there, and not a way
// across: judgement; TestOnlyAcross holds these from both sides.
const (
	leastWork  = 0.1  // of the field's ground
	muchWork   = 1000 // m of passes, on
	leastThere = 0.02 // of the field's ground
	mostOfIt   = 0.5  // of the passes of the drive
	leastWay   = 50   // m of passes
)

// worksOn reports whether a drive works on a field.
func (s *Season) worksOn(d *Drive, g *Field) bool {
	if !g.touches(d.cells) {
		return false
	}
	there := g.metresOf(d)
	part := there * d.machine.anyMetres(s) / g.Area()
	return there >= leastWay && (part >= leastWork || there >= muchWork && part >= leastThere || there >= mostOfIt*d.workedMetres())
}

// place puts each drive on the fields that it works on, and makes proposals of the
// drives of each field. Drives on no field are put together by the ground that
// they share.
func (s *Season) place(drives []*Drive, grounds []*Field) {
	of := map[*Field][]*Drive{}
	var elsewhere []*Drive
	for _, d := range drives {
		found := s.fieldsOf(d, grounds)
		for _, g := range found {
			of[g] = append(of[g], d.partOn(g, found))
		}
		if len(found) == 0 {
			elsewhere = append(elsewhere, d)
		} else if rest := s.outside(d, found); rest != nil {
			elsewhere = append(elsewhere, rest)
		}
	}
	for _, g := range grounds {
		if len(of[g]) == 0 {
			s.leftField(g)
			continue
		}
		for _, twin := range g.twins {
			s.left(twin.Path, "the same ground as %s", s.shown(g.Path))
		}
		groups := s.operations(of[g], g.Area())
		for _, group := range groups {
			p := s.proposal(g, group)
			p.noteOthers(len(groups))
			s.Proposals = append(s.Proposals, p)
		}
	}
	named := map[string]int{} // how many grounds are called so
	for _, together := range s.grounded(elsewhere) {
		together = slices.DeleteFunc(together, func(d *Drive) bool {
			if d.likeWork() {
				return false
			}
			s.left(s.nameDrive(d), "on no field given, and nothing in it looks like field work")
			return true
		})
		if len(together) == 0 {
			continue
		}
		ground := cell.Cells{}
		for _, d := range together {
			ground.Add(d.cells)
		}
		name := s.nameOf(together[0].file)
		if named[name]++; named[name] > 1 {
			name = fmt.Sprintf("%s %d", name, named[name])
		}
		groups := s.operations(together, ground.Blocks().Area())
		for _, group := range groups {
			p := s.proposal(nil, group)
			p.noteOthers(len(groups))
			p.Field, p.fieldSure, p.fieldWhy = name, Guessed, "the name of the file, or of its folder"
			s.Proposals = append(s.Proposals, p)
		}
	}
}

// partOn is the part of a drive that is of one of the fields that it works on: without
// the passes of the others, which would be taken to reach over this one's boundary
// where they lap a common edge. What is on none of them goes with what was before.
func (d *Drive) partOn(g *Field, found []*Field) *Drive {
	const least = 0.1 // of a pass, for it to be of the field too; judgement, TestNeighbours holds it
	if len(found) < 2 || d.NoClock {
		return d
	}
	last := true
	part := d.only(func(p *pass) bool {
		if g.metresOn(p) >= least*p.Metres {
			last = true
		} else if slices.ContainsFunc(found, func(o *Field) bool { return o != g && o.metresOn(p) >= least*p.Metres }) {
			last = false
		}
		return last
	})
	if part == nil || len(part.passes) == len(d.passes) {
		return d
	}
	return part
}

// noteOthers says where a field has more jobs than one.
func (p *Proposal) noteOthers(jobs int) {
	if jobs > 1 {
		p.Notes = append(p.Notes, fmt.Sprintf("this is one of %d jobs of the field: work over ten days apart, and work over all of the ground again, is a job each", jobs))
	}
}

// fieldsOf lists the fields that a drive works on. A task of a set is on the field
// that the set says, if that has a boundary and any work came near it.
func (s *Season) fieldsOf(d *Drive, grounds []*Field) (found []*Field) {
	if d.field != "" {
		for _, g := range grounds {
			if g.IsAt(d.field) && g.touches(d.cells) {
				return []*Field{g}
			}
		}
	}
	x := geo.NoExtent()
	for at := range d.cells {
		x.Add(at.Middle())
	}
	for _, g := range grounds {
		if x.Meets(g.extent, 0) && s.worksOn(d, g) {
			found = append(found, g)
		}
	}
	return found
}

// outside is the part of a drive that works beside the fields that it works on, on
// ground of which no boundary is there; nil where it does not. A way along a road is
// no work.
func (s *Season) outside(d *Drive, found []*Field) *Drive {
	const beside = 0.0005 // degrees, 50 m: turns
	if d.field != "" {
		return nil
	}
	around := make([]geo.Extent, len(found))
	for i, g := range found {
		around[i] = g.extent.Around(beside)
	}
	away := func(p *pass) bool {
		in := func(at geo.LonLat) bool {
			return slices.ContainsFunc(around, func(x geo.Extent) bool { return x.Holds(at) })
		}
		return !slices.ContainsFunc(p.Places, in)
	}
	ground := cell.Cells{}
	for i := range d.passes {
		if away(&d.passes[i]) {
			ground.Cover(d.passes[i].Places)
		}
	}
	blocks := ground.Blocks()
	area := blocks.Dense()
	if ground.Metres() < muchWork || area == 0 {
		return nil
	}
	if d.NoClock {
		s.left(s.nameDrive(d), "about %s of its work lies on no field given, and without times it cannot be told apart", s.area(area))
		return nil
	}
	return d.only(away)
}

// leftField says that a boundary has no work on it.
func (s *Season) leftField(g *Field) {
	s.left(g.Path+nameIn(g), idle)
}

func nameIn(g *Field) string {
	if g.Name == "" || !g.shared && !g.ofSet {
		return ""
	}
	return " (" + g.Name + ")"
}

// likeWork reports whether a drive looks like field work by itself: its log says
// when the bar works, or how wide it is, or passes lie beside one another.
func (d *Drive) likeWork() bool {
	return d.Working || d.implement != nil || d.bar.Width.Metres > 0 || pattern.SpacingOf(ways(d)).Passes >= pattern.Fewest
}

// leastGround is which part of a drive a ground must have to be one of its own, and
// no end of a way. Judgement; TestGrounds holds it.
const leastGround = 0.05

// grounded puts drives together that worked on the same ground. A drive of several
// grounds is divided, by the times at which it was on each.
func (s *Season) grounded(drives []*Drive) [][]*Drive {
	all := cell.Cells{}
	for _, d := range drives {
		all.Add(d.cells.Blocks())
	}
	label := all.Pieces()
	of := func(p *pass) int { return label[cell.At(p.Places[0]).Block()] } // a pass is on one piece
	together := map[int][]*Drive{}
	var order []int
	put := func(piece int, d *Drive) {
		if together[piece] == nil {
			order = append(order, piece)
		}
		together[piece] = append(together[piece], d)
	}
	for _, d := range drives {
		metres := map[int]float64{}
		var most int
		for i := range d.passes {
			piece := of(&d.passes[i])
			metres[piece] += d.passes[i].Metres
			if metres[piece] > metres[most] {
				most = piece
			}
		}
		var own []int
		small := 0.0
		for _, piece := range slices.Sorted(maps.Keys(metres)) {
			if m := metres[piece]; m >= leastGround*d.workedMetres() {
				own = append(own, piece)
			} else {
				small += m
			}
		}
		if len(own) < 2 || d.NoClock {
			put(most, d)
			continue
		}
		if small > 0 {
			s.left(s.nameDrive(d), "%s of its passes lie apart from the fields that it works on", s.distance(small))
		}
		for _, piece := range own {
			put(piece, d.only(func(p *pass) bool { return of(p) == piece }))
		}
	}
	var groups [][]*Drive
	for _, piece := range order {
		groups = append(groups, together[piece])
	}
	return groups
}

// How drives of one field are told to be of one operation: TestOperations holds
// these from both sides, within what is usual (common practice, no source).
const (
	sameDays      = 3 * 24 * time.Hour  // between two drives of one machine that are one
	sameOperation = 10 * 24 * time.Hour // between two machines at work on one operation: rain holds a crew up
	sameGround    = 0.7                 // of the work of each, for two operations
	allGround     = 0.7                 // of the field that each must have worked
)

// A unit is what one machine did on a field without days between.
type unit struct {
	drives  []*Drive
	machine *Machine
	to      time.Time
	blocks  cell.Cells
	metres  float64
}

// operations groups the drives of one field: those with many days between are
// not one operation, nor are two that each work all the ground.
func (s *Season) operations(drives []*Drive, area float64) (groups [][]*Drive) {
	var units []*unit
	for _, d := range drives {
		var u *unit
		for _, before := range units {
			if before.machine == d.machine && (d.NoClock || before.to.IsZero() || d.From.Sub(before.to) <= sameDays) {
				u = before
			}
		}
		if u == nil {
			u = &unit{machine: d.machine, blocks: cell.Cells{}}
			units = append(units, u)
		}
		u.drives, u.metres = append(u.drives, d), u.metres+d.workedMetres()
		if d.To.After(u.to) {
			u.to = d.To
		}
		u.blocks.Add(d.cells.Blocks())
	}
	var all [][]*unit
	for _, u := range units {
		into := -1
		for i := len(all) - 1; i >= 0 && into < 0; i-- {
			if near(u, all[i]) && !named(u, all[i]) && !s.again(u, all[i], area) {
				into = i
			}
		}
		if into < 0 {
			all, into = append(all, nil), len(all)
		}
		all[into] = append(all[into], u)
	}
	for _, units := range all {
		var group []*Drive
		for _, u := range units {
			group = append(group, u.drives...)
		}
		groups = append(groups, group)
	}
	return groups
}

// near reports whether a unit follows a group within the days of one operation.
func near(u *unit, group []*unit) bool {
	var last time.Time
	for _, g := range group {
		if g.to.After(last) {
			last = g.to
		}
	}
	first := u.drives[0]
	return first.NoClock || last.IsZero() || first.From.Sub(last) <= sameOperation
}

// named reports whether a group has a machine of the unit's name with another
// implement: no job can hold both.
func named(u *unit, group []*unit) bool {
	return u.machine.Name != "" && slices.ContainsFunc(group, func(g *unit) bool {
		return g.machine != u.machine && strings.EqualFold(g.machine.Name, u.machine.Name)
	})
}

// again reports whether a unit works again the ground that a group has worked:
// either worked all of it, and both the same. Machines whose widths are not known, at work
// at the same time, are taken to share the ground.
func (s *Season) again(u *unit, group []*unit, area float64) bool {
	blocks, worked := cell.Cells{}, 0.0
	guessed, together := u.machine.metres() == 0 && s.opt.Width == "", false
	for _, g := range group {
		worked += g.metres * g.machine.anyMetres(s)
		guessed = guessed || g.machine.metres() == 0 && s.opt.Width == ""
		together = together || u.drives[0].From.Before(g.to)
		blocks.Add(g.blocks)
	}
	if guessed && together {
		return false
	}
	return u.metres*u.machine.anyMetres(s) >= allGround*area && worked >= allGround*area &&
		u.blocks.Shared(blocks) >= sameGround && blocks.Shared(u.blocks) >= sameGround
}

// proposal makes one of the drives of an operation on a field; nil is ground
// without a boundary.
func (s *Season) proposal(g *Field, drives []*Drive) *Proposal {
	p := &Proposal{Boundary: g, Drives: drives}
	hours, fixes, lon := 0.0, 0, 0.0
	for _, d := range drives {
		if !d.NoClock {
			if p.From.IsZero() || d.From.Before(p.From) {
				p.From = d.From
			}
			if d.To.After(p.To) {
				p.To = d.To
			}
		}
		if d.Zoneless > 0 && len(d.passes) > 0 {
			hours += d.hour * float64(d.Zoneless)
			fixes += d.Zoneless
			lon = d.passes[0].Places[0].Lon
		}
	}
	if fixes > 0 {
		zone, why := zoneGuess(hours/float64(fixes), lon)
		p.Zone = Guess{zone, Guessed, fmt.Sprintf("%s carry no zone; %s", countOf(fixes, "time", "times"), why)}
	}
	switch {
	case g == nil: // named after its logs
	case g.Name != "":
		p.Field, p.fieldSure, p.fieldWhy = g.Name, Told, "the boundary's own name"
	default:
		p.Field, p.fieldSure, p.fieldWhy = s.nameOf(g.Path), Guessed, "the name of the file, or of its folder"
	}
	if g != nil && g.shared && g.Name == "" {
		// A boundary without a name of its own among others cannot be named in a job.
		p.copied = true
		p.Field += fmt.Sprintf(" %d", g.number)
	}
	if g == nil {
		if n := apartGrounds(drives); n > 1 {
			p.Notes = append(p.Notes, fmt.Sprintf("the work lies on %d grounds apart from one another, and without times it cannot be told apart; with a boundary for each they would be a job each", n))
		}
	}
	return p
}

// apartGrounds counts the pieces of ground of some drives that do not touch, those
// with a twentieth of the work at least.
func apartGrounds(drives []*Drive) (n int) {
	blocks := cell.Cells{}
	for _, d := range drives {
		blocks.Add(d.cells.Blocks())
	}
	metres := map[int]float64{}
	for at, piece := range blocks.Pieces() {
		metres[piece] += blocks[at]
	}
	for _, m := range metres {
		if m >= leastGround*blocks.Metres() {
			n++
		}
	}
	return n
}

// rounds is how many rounds were driven along the boundary of a proposal.
func (s *Season) rounds(p *Proposal) Guess {
	if p.Boundary == nil {
		return Guess{"1", Guessed, "there is no boundary to count rounds along"}
	}
	width := 0.0
	for _, m := range p.Machines() {
		width = max(width, m.anyMetres(s))
	}
	r := pattern.RoundsOf(p.Boundary.land, ways(p.Drives...), width)
	switch {
	case !r.UpAndDown:
		return Guess{"1", Guessed, "the field is not worked up and down, so its rounds cannot be told from the rest"}
	case !r.Told():
		return Guess{"1", Guessed, "too little of the boundary lies across the passes to count rounds along it"}
	}
	n, all := r.Whole()
	switch {
	case all:
		return Guess{"1", Guessed, "passes run beside the boundary on all sides, so its rounds cannot be told from the rest"}
	case n == 0:
		return Guess{"1", Guessed, fmt.Sprintf("no whole round is seen: %.0f %% of the field's ends have a pass along them", 100*r.Share(1))}
	}
	return Guess{fmt.Sprint(n), Likely, fmt.Sprintf("as driven: %.0f %% of the field's ends have %s along them, %.0f %% one more",
		100*r.Share(n), countOf(n, "pass", "passes"), 100*r.Share(n+1))}
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
