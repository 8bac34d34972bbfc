package covertest

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"lapwing/coverage/machine"
)

// A FieldworkKind is what makes it hard to tell from a log when the bar worked.
type FieldworkKind string

// The kinds of fields that are drawn at random.
const (
	OnRectangle   FieldworkKind = "rectangle"
	OnNotch       FieldworkKind = "notch"        // a piece is cut out of one side
	OnHole        FieldworkKind = "hole"         // that passes are lifted over and driven round
	OnThreeDrills FieldworkKind = "three drills" // that work by turns of lands
	OnSpiral      FieldworkKind = "spiral"       // round and round inward, and then the middle
)

// FieldworkKinds are all of them.
var FieldworkKinds = []FieldworkKind{OnRectangle, OnNotch, OnHole, OnThreeDrills, OnSpiral}

// A Fieldwork is a field that was drawn and worked at random.
type Fieldwork struct {
	*Scene
	Kind   FieldworkKind
	Rounds int // of the headland
}

// RandomFieldwork draws a field and works it as crews do: the headland first or last,
// lifted at its corners or driven round them; a drive along it or straight across to
// the first pass; passes one beside the other, or every second one and then the ones
// between; lands that are changed in between; a pass that is left out; lifts a hand
// too early or late; no pass as fast as the next, turns slower, and long ways with the
// bar lifted as fast or faster. A field of scale 1 has some four hectares; one of another
// has as many times the passes, and they are as many times as long.
func RandomFieldwork(kind FieldworkKind, towed bool, scale float64, seed uint64) Fieldwork {
	d := &fieldworker{r: rand.New(rand.NewPCG(seed, 0xf1e1d)), seed: seed, kind: kind, towed: towed, scale: scale}
	d.width = math.Round(d.between(6, 16)*2) / 2
	d.lap = d.between(0, 0.03) * d.width
	d.rounds = 1 + d.r.IntN(2)
	d.turned = d.between(0, 2*math.Pi)
	d.implement()
	d.radius = d.between(5, 8)
	if towed {
		d.radius = d.between(7, 9)
	}
	d.haste = 1
	if d.r.IntN(2) == 0 {
		d.haste = d.between(1.1, 1.5)
	}
	d.ease = d.between(0.6, 1)
	d.speed, d.rate = d.between(1.6, 3.2), []float64{1, 2, 5}[d.r.IntN(3)]
	switch kind {
	case OnThreeDrills:
		d.threeDrills()
	case OnSpiral:
		d.spiral()
	default:
		d.toAndFro()
	}
	return Fieldwork{Scene: d.scene, Kind: kind, Rounds: d.rounds}
}

// A fieldworker draws one field.
type fieldworker struct {
	r      *rand.Rand
	seed   uint64
	kind   FieldworkKind
	towed  bool
	scale  float64
	im     machine.Implement
	width  float64 // of the bar
	lap    float64 // between passes
	rounds int
	turned float64 // the direction in which most passes run
	radius float64 // of turns
	speed  float64
	haste  float64 // times the speed, with the bar lifted on a long straight way,
	ease   float64 // and in turns
	rate   float64
	lead   float64 // that the bar is behind the place that a towed path is driven by
	scene  *Scene
}

func (d *fieldworker) between(a, b float64) float64 { return a + (b-a)*d.r.Float64() }

func (d *fieldworker) implement() {
	if !d.towed {
		d.im = Mounted(d.width, d.between(0, 4), 4)
		return
	}
	d.im = Towed(d.width, d.between(0.5, 2), d.between(3, 8), 4)
	d.lead = (d.im.AntennaToHitch + d.im.HitchToBar).Metres()
}

// rectangle is a rectangle about the field's middle, across and along the passes.
func (d *fieldworker) rectangle(left, back, right, ahead float64) Shape {
	out := Rectangle(left, back, right, ahead)
	for i, p := range out {
		out[i] = d.at(p.X, p.Y)
	}
	return out
}

// at is the place so far across and along the passes from the field's middle.
func (d *fieldworker) at(across, along float64) XY {
	return XY{}.plus(along, ahead(d.turned)).plus(across, right(d.turned))
}

func (d *fieldworker) rig(name string, seed uint64, path *Path) Rig {
	return Rig{
		Name: name, Implement: d.im, Path: path, Speed: d.speed, Rate: d.rate, Seed: d.seed ^ seed, NoWorking: true,
		Defects: []Defect{White(0.015), Drift(0.02, 300)},
	}
}

// size is half the field's extent across the passes and along them.
func (d *fieldworker) size() (across, along float64) {
	passes := int(d.scale * float64(8+d.r.IntN(10)))
	return (float64(2*d.rounds+passes)*d.width + d.between(-0.4, 0.4)*d.width) / 2, d.scale * d.between(9, 18) * d.width / 2 * 1.3
}

func (d *fieldworker) runIn() float64 { return d.lead + d.between(3, 8) }

// headland works the rounds along a shape.
func (d *fieldworker) headland(p *Path, shape Shape, lifted bool) {
	run := d.runIn()
	for k := range d.rounds {
		ring := shape.Inset(float64(k) * (d.width - d.lap))
		if lifted {
			p.SquareRound(ring, d.width, run)
		} else {
			p.Round(ring.Inset(d.width/2), max(d.radius, 0.8*d.width), d.between(0.5, 2))
		}
	}
}

// toAndFro works a rectangle, with a notch or a hole in it or without.
func (d *fieldworker) toAndFro() {
	across, along := d.size()
	shape := d.rectangle(-across, -along, across, along)
	deep := float64(d.rounds)*d.width - float64(d.rounds-1)*d.lap
	outline, holes := shape, []Shape(nil)
	g := Lines{Ground: shape.Inset(deep), Heading: d.turned, Width: d.width, Spacing: d.width - d.lap, RunIn: d.runIn(), Ends: LastCorner, HoleRun: d.lead + d.between(3, 5)}
	lifted := d.r.IntN(3) > 0
	switch d.kind {
	case OnNotch:
		lifted = true
		arm := 2*deep + 2*d.width // at least
		across = max(across, arm+1.5*d.width)
		wide := min(d.between(2.5, 5)*d.width, 2*(across-arm))
		from, cut := -across+arm+d.r.Float64()*(2*across-2*arm-wide), d.between(0.4, 1.2)*along
		shape = d.rectangle(-across, -along, across, along)
		g.Ground = shape.Inset(deep)
		outline = Shape{shape[0], shape[1], shape[2], d.at(from+wide, along), d.at(from+wide, along-cut), d.at(from, along-cut), d.at(from, along), shape[3]}
		g.Holes = []Shape{d.rectangle(from-deep, along-cut-deep, from+wide+deep, along+50)}
	case OnHole:
		hole := Disc(d.at(d.between(-0.3, 0.3)*across, d.between(-0.3, 0.3)*along), d.between(0.8, 1.6)*d.width, 12)
		holes = []Shape{hole}
		g.Holes = []Shape{hole.Inset(-deep)}
	}
	d.scene = NewScene(string(d.kind), outline, holes...)
	p := NewPath(d.radius)
	p.Pace = d.pace
	last := d.kind == OnRectangle && d.r.IntN(4) == 0
	if !last {
		d.headland(p, outline, lifted)
	}
	for _, hole := range holes {
		for k := range d.rounds {
			p.HoleRound(hole, d.width/2+float64(k)*(d.width-d.lap))
		}
	}
	lines := d.lines(g)
	if !last {
		d.approach(p, outline, g, lines[0])
	}
	for _, l := range lines {
		p.line(g, l)
	}
	if last {
		d.headland(p, outline, lifted)
	}
	d.scene.Drive(d.rig("drill", 0, p))
}

// lines plans the passes in the order in which they are driven.
func (d *fieldworker) lines(g Lines) []Line {
	left, far := g.Ground.reach(g.Heading)
	var all []Line
	for u := left + d.width/2; ; u += g.Spacing {
		all = append(all, Line{Across: u})
		if u+d.width/2 >= far-worthwhile {
			break
		}
	}
	if d.r.IntN(2) == 0 {
		slices.Reverse(all)
	}
	if d.r.IntN(3) == 0 && len(all) > 5 {
		k := 2 + d.r.IntN(len(all)-4)
		all = slices.Delete(all, k, k+1) // left out
	}
	if d.r.IntN(3) == 0 { // every second one, and those between on the way back
		var odd, even []Line
		for i, l := range all {
			if i%2 == 0 {
				even = append(even, l)
			} else {
				odd = append(odd, l)
			}
		}
		slices.Reverse(odd)
		all = append(even, odd...)
	}
	return d.driven(g, all)
}

// driven gives planned passes their direction and where they are worked, which is by
// hand.
func (d *fieldworker) driven(g Lines, all []Line) []Line {
	const hand = 0.1 // m, sigma of a lift
	back := d.r.IntN(2)
	var out []Line
	for i, l := range all {
		l.Back = i%2 == back
		l.Runs = d.runs(g, l)
		for k := range l.Runs {
			l.Runs[k].From += hand * d.r.NormFloat64()
			l.Runs[k].To += hand * d.r.NormFloat64()
		}
		if len(l.Runs) > 0 {
			out = append(out, l)
		}
	}
	return out
}

// pace is how fast a leg is driven, times the usual speed.
func (d *fieldworker) pace(l Leg) float64 {
	const long = 25 // m, of a straight way that a driver may hurry along
	switch {
	case l.Open != Shut:
		return max(0.7, min(1+0.1*d.r.NormFloat64(), 1.3))
	case l.Curve != 0:
		return d.ease
	case l.Length > long:
		return d.haste
	}
	return 1
}

// worthwhile is the least width of bare ground, in metres, that a pass is driven for.
const worthwhile = 0.4

// runs is where a pass is worked. One that still has bare ground beside a notch goes on
// there.
func (d *fieldworker) runs(g Lines, l Line) []Run {
	if d.kind == OnNotch {
		if lo, hi := g.Holes[0].reach(g.Heading); l.Across-d.width/2 < lo-worthwhile || l.Across+d.width/2 > hi+worthwhile {
			g.Holes = nil
		}
	}
	return g.runs(l)
}

// approach drives from the end of the headland to the first pass: along the headland,
// or straight on.
func (d *fieldworker) approach(p *Path, outline Shape, g Lines, l Line) {
	p.Off()
	if d.r.IntN(4) == 0 {
		return
	}
	ring := outline.Inset(d.width * d.between(0.5, float64(d.rounds)-0.4))
	along := l.Runs[0].From
	if l.Back {
		along = l.Runs[len(l.Runs)-1].To
	}
	to := d.at(l.Across, along)
	n, here, there := len(ring), 0, 0
	for i := range ring {
		mid := func(k int) XY { return middle(ring[k], ring[(k+1)%n]) }
		if fromEdge(p.end.XY, ring[i], ring[(i+1)%n]) < fromEdge(p.end.XY, ring[here], ring[(here+1)%n]) {
			here = i
		}
		if Distance(to, mid(i)) < Distance(to, mid(there)) {
			there = i
		}
	}
	for i, steps := here, 0; i != there && steps < n; i, steps = (i+1)%n, steps+1 {
		a, b, c := ring[i], ring[(i+1)%n], ring[(i+2)%n]
		short := min(d.radius+d.lead, Distance(a, b)/3)
		at := b.plus(-short, ahead(direction(a, b)))
		if steps > 0 || Distance(p.end.XY, at) > 3*d.radius {
			p.TurnTo(Stance{at, direction(a, b)})
		}
		short = min(short, Distance(b, c)/3)
		p.TurnTo(Stance{b.plus(short, ahead(direction(b, c))), direction(b, c)})
	}
}

func middle(a, b XY) XY { return XY{(a.X + b.X) / 2, (a.Y + b.Y) / 2} }

// fromEdge is how far a place is from a straight edge.
func fromEdge(p, a, b XY) float64 {
	along := b.plus(-1, a)
	t := max(0, min(1, p.plus(-1, a).dot(along)/along.dot(along)))
	return Distance(p, a.plus(t, along))
}

// threeDrills works a rectangle by three drills, one of which works the headland
// first. The passes are shared out in lands, a few of each for each drill.
func (d *fieldworker) threeDrills() {
	across, along := d.size()
	across *= 1.8
	shape := d.rectangle(-across, -along, across, along)
	d.scene = NewScene(string(d.kind), shape)
	deep := float64(d.rounds)*d.width - float64(d.rounds-1)*d.lap
	g := Lines{Ground: shape.Inset(deep), Heading: d.turned, Width: d.width, Spacing: d.width - d.lap, RunIn: d.runIn(), Ends: LastCorner}
	left, far := g.Ground.reach(g.Heading)
	var lands [][]Line
	size := 3 + d.r.IntN(3)
	for i, u := 0, left+d.width/2; ; i, u = i+1, u+g.Spacing {
		if i%size == 0 {
			lands = append(lands, nil)
		}
		lands[len(lands)-1] = append(lands[len(lands)-1], Line{Across: u})
		if u+d.width/2 >= far-worthwhile {
			break
		}
	}
	lifted := d.r.IntN(2) == 0
	begin := defaultBegin
	for k, name := range []string{"drill A", "drill B", "drill C"} {
		p := NewPath(d.radius)
		p.Pace = d.pace
		if k == 0 {
			d.headland(p, shape, lifted)
		}
		first := true
		for i := k; i < len(lands); i += 3 {
			all := d.driven(g, lands[i])
			if k == 0 && first || !first && d.r.IntN(2) == 0 {
				d.approach(p, shape, g, all[0])
			}
			first = false
			for _, l := range all {
				p.line(g, l)
			}
		}
		rig := d.rig(name, uint64(k+1), p)
		rig.Begin = begin
		d.scene.Drive(rig)
		if k == 0 { // the others come when the headland is done, or near it
			begin = begin.Add(time.Duration(d.between(0.6, 1.1) * float64(d.rounds) * 4 * (across + along) / d.speed * float64(time.Second)))
		}
	}
}

// spiral works a rectangle round and round inward, and the middle to and fro.
func (d *fieldworker) spiral() {
	d.rounds = 1
	across, along := d.size()
	across, along = max(across, 7*d.width), max(along, 8*d.width)
	shape := d.rectangle(-across, -along, across, along)
	d.scene = NewScene(string(d.kind), shape)
	p := NewPath(d.radius)
	p.Pace = d.pace
	radius := max(d.radius, 0.8*d.width)
	spacing := d.width - d.lap
	inner := min(across, along) - radius - 2*d.width
	rounds := max(2, int(inner/spacing)-d.r.IntN(2))
	room := across - d.width/2 - float64(rounds-1)*spacing - radius // on the straight of the last round
	p.RoundAndRound(shape.Inset(d.width/2), spacing, radius, min(room, 4*d.width), rounds)
	g := Lines{
		Ground: shape.Inset(d.width + float64(rounds-1)*spacing), Heading: d.turned, Width: d.width, Spacing: spacing,
		RunIn: d.runIn(), Ends: LastCorner,
	}
	var all []Line
	left, far := g.Ground.reach(g.Heading)
	for u := left + d.width/2; ; u += g.Spacing {
		all = append(all, Line{Across: u})
		if u+d.width/2 >= far-worthwhile {
			break
		}
	}
	for _, l := range d.driven(g, all) {
		p.line(g, l)
	}
	rig := d.rig("drill", 0, p)
	rig.Defects = append(rig.Defects, fromWork)
	d.scene.Drive(rig)
}

// fromWork takes away what was logged before the bar was lowered first: a log that is begun
// in the field, where work goes on at once, begins with the bar down.
func fromWork(_ *rand.Rand, log []Sample) []Sample {
	return log[max(0, slices.IndexFunc(log, func(s Sample) bool { return s.Open != Shut })):]
}
