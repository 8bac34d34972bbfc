package covertest

import "math"

// An XY is a place in metres east and north of the field's centre.
type XY struct{ X, Y float64 }

// A Stance is a place and the way faced there.
type Stance struct {
	XY
	Heading float64 // radians clockwise from north
}

// ahead is the unit vector of a heading.
func ahead(heading float64) XY {
	sin, cos := math.Sincos(heading)
	return XY{sin, cos}
}

// right is the unit vector to the right of a heading.
func right(heading float64) XY {
	sin, cos := math.Sincos(heading)
	return XY{cos, -sin}
}

// plus returns a + k b.
func (a XY) plus(k float64, b XY) XY { return XY{a.X + k*b.X, a.Y + k*b.Y} }

func (a XY) dot(b XY) float64 { return a.X*b.X + a.Y*b.Y }

// Distance returns the distance from a to b.
func Distance(a, b XY) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// A Mask says which sections are open, bit i for section i from the left.
// Bits past the last section mean nothing.
type Mask uint64

// The masks most used.
const (
	Shut Mask = 0
	All  Mask = ^Shut
)

// A Leg is a piece of a path: straight, or of one curvature.
type Leg struct {
	From   Stance
	Length float64 // metres
	Curve  float64 // 1 / radius, positive to the right
	Open   Mask
	Stand  float64 // seconds; a leg that stands has no length
	Back   bool    // in reverse
	Pace   float64 // times the rig's speed; 0 means 1
}

// pace is how many times the rig's speed the leg is driven at.
func (l Leg) pace() float64 {
	if l.Pace == 0 {
		return 1
	}
	return l.Pace
}

// At returns the stance d metres along the leg.
func (l Leg) At(d float64) Stance {
	h0 := l.From.Heading
	if l.Back {
		d = -d
	}
	if l.Curve == 0 {
		return Stance{l.From.plus(d, ahead(h0)), h0}
	}
	h := h0 + l.Curve*d
	a, b := ahead(h0), ahead(h)
	return Stance{XY{l.From.X + (a.Y-b.Y)/l.Curve, l.From.Y + (b.X-a.X)/l.Curve}, h}
}

// A Path is a drive through the field, leg by leg. Its methods add legs and
// return the path, so that a drive reads as one sentence.
type Path struct {
	Legs   []Leg
	Radius float64           // of the turns TurnTo makes
	Pace   func(Leg) float64 // of a leg that is driven, times the rig's speed; nil means 1 for all
	end    Stance
	open   Mask
	begun  bool
}

// NewPath returns a path without legs whose turns have the given radius.
func NewPath(radius float64) *Path { return &Path{Radius: radius} }

// Start returns a path that begins at a stance, with the product off.
func Start(x, y, heading float64) *Path {
	return &Path{end: Stance{XY{x, y}, heading}, begun: true}
}

// End returns the stance at the end of the path.
func (p *Path) End() Stance { return p.end }

// Length returns the length of the path.
func (p *Path) Length() float64 {
	var sum float64
	for _, l := range p.Legs {
		sum += l.Length
	}
	return sum
}

// Open sets the sections that are open from here on.
func (p *Path) Open(m Mask) *Path { p.open = m; return p }

// On opens all sections from here on.
func (p *Path) On() *Path { return p.Open(All) }

// Off shuts all sections from here on.
func (p *Path) Off() *Path { return p.Open(Shut) }

// Straight goes straight ahead.
func (p *Path) Straight(length float64) *Path { return p.add(length, 0) }

// Back backs up straight.
func (p *Path) Back(length float64) *Path {
	p.add(length, 0)
	leg := &p.Legs[len(p.Legs)-1]
	leg.Back = true
	p.end = leg.At(length)
	return p
}

// Arc turns through an angle, positive to the right.
func (p *Path) Arc(radius, angle float64) *Path {
	return p.add(math.Abs(angle)*radius, math.Copysign(1/radius, angle))
}

// Stand stands still; an open bar stays open.
func (p *Path) Stand(seconds float64) *Path {
	p.Legs = append(p.Legs, Leg{From: p.end, Open: p.open, Stand: seconds})
	return p
}

// Jump is at another place at once, as nothing that drives can be: the first
// stance of a path, or a turn that a small table does not care about. It takes
// no time: what works up to it and from it needs a [Path.Stand], lifted, between.
func (p *Path) Jump(to Stance) *Path {
	p.end, p.begun = to, true
	return p
}

// TurnTo takes the shortest way to a stance that turns no tighter than
// Radius. A path without legs begins there instead.
func (p *Path) TurnTo(to Stance) *Path {
	if !p.begun {
		return p.Jump(to)
	}
	for _, l := range shortest(p.end, to, p.Radius) {
		p.add(l.Length, l.Curve)
	}
	p.end = to // to the last digit
	return p
}

func (p *Path) add(length, curve float64) *Path {
	if length <= 0 {
		return p
	}
	leg := Leg{From: p.end, Length: length, Curve: curve, Open: p.open}
	if p.Pace != nil {
		leg.Pace = p.Pace(leg)
	}
	p.Legs = append(p.Legs, leg)
	p.end = leg.At(length)
	return p
}
