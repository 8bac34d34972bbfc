package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// twinWithin is how far the outlines of two fields may lie apart and still be those
// of one: a file of a farm that has a field twice has it as drawn on two days, or
// rounded otherwise. Judgement; no machine works a strip as narrow. TestTwinFields has
// 30 cm, and no test fails where this is halved or doubled.
const twinWithin = 1.0 // m

// withoutTwins returns grounds without those that are the ground of one before, and
// says which they are. The one that stays bears the ids of both: tasks on either are
// on it.
func (u *understanding) withoutTwins(all []namedBoundary) []namedBoundary {
	at := func(i int) (x, y float64) { // in metres; near enough to tell what may be one
		b := all[i].extent()
		return (b.West + b.East) / 2 * 111_320 * math.Cos(b.South*math.Pi/180), (b.South + b.North) / 2 * 110_574
	}
	index := near.NewGridIndex(4*twinWithin, len(all), at)
	place := make([]int, len(all)) // in out, counted from 1; 0 for a twin
	var out []namedBoundary
next:
	for i, g := range all {
		for k := range index.Around(at(i)) {
			if k >= i || place[k] == 0 {
				continue
			}
			one := &out[place[k]-1]
			if !twins(one, &g) {
				continue
			}
			u.warn(field.Warning{File: g.path, Text: fmt.Sprintf("%s is the same ground as %s; it is done once, as that", g.title(), one.title())})
			one.names = append(one.names, g.names...)
			if one.set == g.set {
				one.ids = append(one.ids, g.ids...)
			}
			continue next
		}
		out = append(out, g)
		place[i] = len(out)
	}
	return out
}

// title is a ground as a reader knows it: by its name, with its id where it has one.
func (g *namedBoundary) title() string {
	if len(g.ids) > 0 {
		return g.ids[0] + " " + strconv.Quote(g.name)
	}
	return strconv.Quote(g.name)
}

// twins reports whether two grounds are one: each corner of either lies within
// [twinWithin] of the outline of the other.
func twins(a, b *namedBoundary) bool {
	ea, eb := a.extent(), b.extent()
	const most = 2 * twinWithin / 110_574 // degrees of latitude
	wide := most / max(0.01, math.Cos(ea.South*math.Pi/180))
	if math.Abs(ea.South-eb.South) > most || math.Abs(ea.North-eb.North) > most || math.Abs(ea.West-eb.West) > wide || math.Abs(ea.East-eb.East) > wide {
		return false
	}
	frame := geo.NewFrame(geo.LonLat{Lon: (ea.West + ea.East) / 2, Lat: (ea.South + ea.North) / 2})
	la, lb := linesOf(frame, a.parts), linesOf(frame, b.parts)
	return beside(la, lb) && beside(lb, la)
}

// linesOf are the outlines of some ground, shells and holes, on a plane.
func linesOf(frame geo.Frame, parts []geo.Polygon) (edges []near.Edge) {
	for _, p := range parts {
		for _, ring := range slices.Concat([][]geo.LonLat{p.Shell}, p.Holes) {
			for i, c := range ring {
				from, okFrom := frame.ToPlane(c)
				to, okTo := frame.ToPlane(ring[(i+1)%len(ring)])
				if okFrom && okTo {
					edges = append(edges, near.EdgeOf(from, to))
				}
			}
		}
	}
	return edges
}

// beside reports whether the edges of one outline all begin at another.
func beside(edges, other []near.Edge) bool {
	if len(other) == 0 {
		return false
	}
	index := near.New(slices.Clone(other))
	const within = twinWithin * float64(plane.Metre)
	for _, e := range edges {
		if index.Nearest(e.AX, e.AY, within*within).Edge == nil {
			return false
		}
	}
	return true
}
