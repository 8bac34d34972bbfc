package covertest

import (
	"math"

	"lapwing/coverage/machine"
)

// towStep is the longest step of the integration behind a tow bar, metres.
// Fourth-order steps of 1 cm leave an error far under the tick: (0.01 / L)^4
// of a tow length L of metres.
const towStep = 0.01

// A tow follows the machine with up to two links, each pulled by its front
// pin and rolling without slipping: the tractrix.
type tow struct {
	pin    float64 // antenna to the machine's hitch pin, behind it
	link   float64 // cart: pin to axle, 0 without a cart
	beyond float64 // cart: axle to its own pin, behind it
	bar    float64 // last pin to the bar
	offset float64 // bar centre right of the line of draught

	cart, heading float64 // headings of the links now
}

func newTow(imp machine.Implement, heading float64) *tow {
	t := &tow{pin: imp.AntennaToHitch.Metres(), bar: imp.HitchToBar.Metres(), offset: imp.Offset.Metres()}
	if imp.Cart != nil {
		t.link, t.beyond = imp.Cart.HitchToAxle.Metres(), imp.Cart.AxleToHitch.Metres()
	}
	t.cart, t.heading = heading, heading
	if imp.StartHeading != nil {
		t.heading = float64(*imp.StartHeading)
		t.cart = t.heading
	}
	return t
}

// length is how far the bar is behind the antenna when all is in line.
func (t *tow) length() float64 { return t.pin + t.link + t.beyond + t.bar }

// rates returns how fast the headings of cart and bar change per metre of the
// machine's path, where the machine has the given heading and curvature.
func (t *tow) rates(heading, curve, cart, bar float64) (dCart, dBar float64) {
	v := ahead(heading).plus(-t.pin*curve, right(heading)) // of the machine's pin
	if t.link > 0 {
		r := right(cart)
		dCart = v.dot(r) / t.link
		v = v.plus(-(t.link+t.beyond)*dCart, r)
	}
	return dCart, v.dot(right(bar)) / t.bar
}

// advance moves the bar along as the machine drives from one place of a leg
// to another.
func (t *tow) advance(l Leg, from, to float64) {
	n := math.Ceil((to - from) / towStep)
	if n < 1 {
		return
	}
	if l.Back {
		from, to = -from, -to
	}
	h := (to - from) / n
	heading := func(d float64) float64 { return l.From.Heading + l.Curve*d }
	for i := 0.0; i < n; i++ {
		d := from + i*h
		a1, b1 := t.rates(heading(d), l.Curve, t.cart, t.heading)
		a2, b2 := t.rates(heading(d+h/2), l.Curve, t.cart+h/2*a1, t.heading+h/2*b1)
		a3, b3 := t.rates(heading(d+h/2), l.Curve, t.cart+h/2*a2, t.heading+h/2*b2)
		a4, b4 := t.rates(heading(d+h), l.Curve, t.cart+h*a3, t.heading+h*b3)
		t.cart += h / 6 * (a1 + 2*a2 + 2*a3 + a4)
		t.heading += h / 6 * (b1 + 2*b2 + 2*b3 + b4)
	}
}

// stance returns where the bar's centre is when the machine is at s.
func (t *tow) stance(s Stance) Stance {
	at := s.plus(-t.pin, ahead(s.Heading))
	at = at.plus(-(t.link + t.beyond), ahead(t.cart))
	at = at.plus(-t.bar, ahead(t.heading)).plus(t.offset, right(t.heading))
	return Stance{at, t.heading}
}
