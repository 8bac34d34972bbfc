package spec

import (
	"fmt"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
)

// gnssOf reads how far off the receivers are, and what steers the machines.
func gnssOf(e entry) (g GNSS) {
	if !e.given() {
		return g
	}
	e.mapping("short_term", "drift", "steering")
	g.ShortTerm, g.Drift = e.get("short_term").gnssError(), e.get("drift").gnssError()
	if s := e.get("steering"); s.given() {
		const want = "receiver or other"
		switch text := s.text(want); text {
		case "receiver":
			g.Steering = whatif.ByReceiver
		case "other":
			g.Steering = whatif.Otherwise
		default:
			s.fail("found "+strconv.Quote(text), want)
		}
	}
	return g
}

// mostError is more than any receiver errs by that shows a way at all, in metres:
// judgement, held by TestWrong from both sides.
const mostError = 100

// gnssError returns metres that a receiver may err by, or nil where there are
// none.
func (e entry) gnssError() *float64 {
	v := e.notNegative(quantity.Length)
	if v != nil && *v > mostError {
		e.fail("found "+strconv.Quote(e.text("")), fmt.Sprintf("%d m at most", mostError))
	}
	return v
}

// notNegative returns a quantity of zero or more, or nil where there is none.
func (e entry) notNegative(kind quantity.Kind) *float64 {
	if !e.given() {
		return nil
	}
	v := e.quantity(quantity.Just(kind))
	if v.SI < 0 {
		e.fail("found "+strconv.Quote(e.text("")), "zero or more")
	}
	return &v.SI
}

// goingBackOf reads what it takes to go back to a skip.
func goingBackOf(e entry) (g agronomy.GoingBack) {
	if !e.given() {
		return g
	}
	e.mapping("cost", "speed", "there")
	if cost := e.get("cost"); cost.given() {
		v := cost.quantity(quantity.Just(quantity.PricePerTime))
		g.Cost, g.Currency = v.SI, v.Currency
	}
	if speed := e.get("speed").positive(quantity.Just(quantity.Speed)); speed != nil {
		g.Speed = *speed
	}
	if there := e.get("there").positive(quantity.Just(quantity.Duration)); there != nil {
		g.There = *there
	}
	return g
}

// switchingOf reads how fast sections would open and shut.
func switchingOf(e entry) (s whatif.Switching) {
	if !e.given() {
		return s
	}
	e.mapping("on", "off")
	if on := e.get("on").notNegative(quantity.Duration); on != nil {
		s.On = *on
	}
	if off := e.get("off").notNegative(quantity.Duration); off != nil {
		s.Off = *off
	}
	return s
}
