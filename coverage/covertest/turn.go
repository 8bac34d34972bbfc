package covertest

import "math"

// shortest returns the shortest way from one stance to another that turns no
// tighter than radius: two arcs joined by a straight or by a third arc (L. E.
// Dubins, American Journal of Mathematics 79, 1957). Between two lines closer
// than two radii it is the bulb that drivers make.
//
// The work is done in units of the radius, with a straight from one circle's
// centre to the other's for each pair of senses.
func shortest(from, to Stance, radius float64) []Leg {
	var best []Leg
	least := math.Inf(1)
	try := func(legs ...Leg) {
		var sum float64
		for _, l := range legs {
			sum += l.Length
		}
		if sum < least-1e-9 { // ties keep to the first, whatever the last digit does
			best, least = legs, sum
		}
	}
	for _, s := range []float64{1, -1} { // sense of the first arc: 1 right, -1 left
		for _, e := range []float64{1, -1} { // and of the last
			a := from.plus(s*radius, right(from.Heading)) // centres
			b := to.plus(e*radius, right(to.Heading))
			gap := Distance(a, b)
			way := math.Atan2(b.X-a.X, b.Y-a.Y)
			if s == e {
				try(arc(s, radius, way-from.Heading), Leg{Length: gap}, arc(e, radius, to.Heading-way))
				if gap < 4*radius {
					lean := math.Acos(gap / (4 * radius))
					// The third circle touches both, left or right of the line between them.
					for _, side := range []float64{1, -1} {
						// The heading on a circle is a quarter turn, in its sense,
						// from the direction of the radius.
						first := way + side*lean + s*math.Pi/2
						second := way + math.Pi - side*lean + s*math.Pi/2
						try(arc(s, radius, first-from.Heading), arc(-s, radius, second-first), arc(s, radius, to.Heading-second))
					}
				}
				continue
			}
			if gap >= 2*radius {
				run := math.Sqrt(gap*gap - 4*radius*radius)
				h := way + s*math.Atan2(2*radius, run)
				try(arc(s, radius, h-from.Heading), Leg{Length: run}, arc(e, radius, to.Heading-h))
			}
		}
	}
	return best
}

// arc is a leg that turns in a sense (1 right, -1 left) until its heading has
// changed by an angle, whole turns aside.
func arc(sense, radius, angle float64) Leg {
	turn := math.Mod(sense*angle, 2*math.Pi)
	if turn < 0 {
		turn += 2 * math.Pi
	}
	if 2*math.Pi-turn < 1e-9 { // a whole turn for want of a last digit
		turn = 0
	}
	return Leg{Length: turn * radius, Curve: sense / radius}
}
