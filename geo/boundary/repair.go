package boundary

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// perDegree scales degrees to whole numbers for exact tests: 1e-9 degree is
// at most 0.11 mm.
const perDegree = 1_000_000_000

// A corner is a place of a ring, as written and as a point in whole 1e-9
// degrees.
type corner struct {
	plane.Point
	at   geo.LonLat
	line int32
}

// flat are the points of a ring.
func flat(c []corner) plane.Ring {
	out := make(plane.Ring, len(c))
	for i := range c {
		out[i] = c[i].Point
	}
	return out
}

// A patch is a polygon set right, before densifying.
type patch struct {
	shell []corner   // anticlockwise
	holes [][]corner // clockwise
	stray bool       // a hole lies outside the shell, wholly or in part, or on another
}

// rings are the shell of a patch and then its holes.
func (p patch) rings() []plane.Ring {
	out := []plane.Ring{flat(p.shell)}
	for _, h := range p.holes {
		out = append(out, flat(h))
	}
	return out
}

// repair sets an outline right. A shell that touches itself can give more than
// one patch; one without area gives none.
func (d *draft) repair(o outline) ([]patch, error) {
	if len(o) == 0 || len(o[0].at) == 0 {
		d.note(0, "empty polygon left out")
		return nil, nil
	}
	var shells, holes [][]corner
	for i, r := range o {
		c, err := d.clean(r)
		if err != nil {
			return nil, err
		}
		var outer, inner [][]corner
		if len(c) >= 3 {
			if outer, inner, err = d.untangle(r, c); err != nil {
				return nil, err
			}
		}
		if len(outer) == 0 {
			if i == 0 {
				d.note(r.line, "polygon without area left out (fewer than 3 distinct points)")
				return nil, nil
			}
			d.note(r.line, "hole without area left out (fewer than 3 distinct points)")
			continue
		}
		if i > 0 { // the shells of a hole are holes
			outer, inner = inner, outer
		}
		d.noteWinding(r, c, i > 0)
		shells, holes = append(shells, outer...), append(holes, inner...)
	}
	return d.assemble(o[0], shells, holes), nil
}

// untangle splits a ring where it touches itself into loops that do not: outer
// ones, and inner ones that lie within an outer one. A ring that crosses itself by no
// more than rounding makes it is set right, see cross.go. Any other that crosses
// itself is refused, since which of its ground is meant is unknown.
func (d *draft) untangle(r ring, c []corner) (outer, inner [][]corner, err error) {
	m := repair.Meet(flat(c), &d.steps)
	switch m.How {
	case repair.Apart:
		return [][]corner{c}, nil, nil
	case repair.Unclear:
		return nil, nil, d.tangled(r)
	case repair.Cross:
		if outer, inner, barely := d.uncrossed(r, c); barely {
			return outer, inner, nil
		}
		after := func(i int) corner { return c[(i+1)%len(c)] }
		i, j := m.Edges[0], m.Edges[1]
		return nil, nil, d.crossing(r, meet(c[i], after(i), c[j], after(j)), max(c[i].line, c[j].line))
	}
	outside, inside, crossing := repair.Split(flat(c), m)
	if crossing >= 0 {
		if outer, inner, barely := d.uncrossed(r, c); barely {
			return outer, inner, nil
		}
		return nil, nil, d.crossing(r, c[crossing].at, c[crossing].line)
	}
	if len(outside)+len(inside) > 1 {
		d.note(r.line, "ring touches itself; split")
	}
	return loops(c, outside), loops(c, inside), nil
}

// loops are the corners of a ring by their numbers.
func loops(c []corner, numbers [][]int) [][]corner {
	var out [][]corner
	for _, loop := range numbers {
		one := make([]corner, len(loop))
		for i, n := range loop {
			one[i] = c[n]
		}
		out = append(out, one)
	}
	return out
}

func (d *draft) crossing(r ring, at geo.LonLat, line int32) error {
	return d.fault(int(line), r.where, fmt.Sprintf("a ring that crosses itself at %.6f, %.6f (lon, lat)", at.Lon, at.Lat),
		"a ring that does not")
}

func (d *draft) tangled(r ring) error {
	return d.fault(r.line, r.where, fmt.Sprintf("a ring of %d points too tangled to check", len(r.at)), "a field boundary")
}

// meet is about where the edges ab and pq cross, for a message.
func meet(a, b, p, q corner) geo.LonLat {
	abx, aby := b.at.Lon-a.at.Lon, b.at.Lat-a.at.Lat
	pqx, pqy := q.at.Lon-p.at.Lon, q.at.Lat-p.at.Lat
	t := ((p.at.Lon-a.at.Lon)*pqy - (p.at.Lat-a.at.Lat)*pqx) / (abx*pqy - aby*pqx)
	return geo.LonLat{Lon: a.at.Lon + t*abx, Lat: a.at.Lat + t*aby}
}

// noteWinding notes a ring wound against RFC 7946 3.1.6. It is not an error:
// the same section says that readers should not reject it.
func (d *draft) noteWinding(r ring, c []corner, hole bool) {
	if d.rfcWind && isClockwise(c) != hole {
		d.note(r.line, "ring wound the wrong way; turned (RFC 7946 3.1.6: shells anticlockwise, holes clockwise)")
	}
}

// assemble winds rings rightly and gives each hole the smallest shell around
// it; a hole with none goes to the first, where it takes nothing away.
func (d *draft) assemble(r ring, shells, holes [][]corner) []patch {
	parts := make([]patch, len(shells))
	for i, s := range shells {
		parts[i].shell = wound(s, false)
	}
	for _, h := range holes {
		align(h, parts[0].shell)
		best := 0
		if len(parts) > 1 {
			for i := range parts {
				if d.within(h, parts[i].shell) && (best == 0 || d.within(parts[i].shell, parts[best].shell)) {
					best = i
				}
			}
		}
		if !d.within(h, parts[best].shell) {
			d.note(int(h[0].line), "hole lies outside its polygon, wholly or in part")
			parts[best].stray = true
		}
		parts[best].holes = append(parts[best].holes, wound(h, true))
	}
	for i := range parts {
		if d.lap(parts[i].holes) {
			d.note(r.line, "holes of one polygon overlap; their ground is left out once")
			parts[i].stray = true
		}
	}
	return parts
}

// lap reports whether holes share ground.
func (d *draft) lap(holes [][]corner) bool {
	if len(holes) < 2 {
		return false
	}
	as := make([]patch, len(holes))
	for i, h := range holes {
		as[i].shell = wound(slices.Clone(h), false)
	}
	return d.overlap(as)
}

// align shifts hole by whole turns to be near shell.
func align(hole, shell []corner) {
	turn(hole, 360*math.Round((shell[0].at.Lon-hole[0].at.Lon)/360))
}

// wound returns c wound clockwise or the other way.
func wound(c []corner, clockwise bool) []corner {
	if isClockwise(c) == clockwise {
		return c
	}
	slices.Reverse(c[1:]) // the first place stays first
	return c
}

func isClockwise(c []corner) bool { return repair.Lay(flat(c))[0].Area() < 0 }

// clean checks the places of a ring and runs its longitudes on; what comes out
// is open (the first place not repeated) and free of repeated places and of
// spikes, parts where the ring goes out and back along one line.
func (d *draft) clean(r ring) ([]corner, error) {
	if err := d.checkPlaces(r); err != nil {
		return nil, err
	}
	c, err := d.runOn(r)
	if err != nil {
		return nil, err
	}
	if len(c) < 2 {
		return nil, nil
	}
	if n := len(c) - 1; c[0].Point == c[n].Point {
		c = c[:n]
	} else {
		d.note(r.line, "ring not closed; closed")
	}
	kept, repeats, spikes := repair.Trim(flat(c))
	for range repeats {
		d.note(r.line, "repeated point removed")
	}
	for range spikes {
		d.note(r.line, "spike without area removed")
	}
	return loops(c, [][]int{kept})[0], nil
}

// checkPlaces refuses places that are not on the Earth.
func (d *draft) checkPlaces(r ring) error {
	for i, v := range r.at {
		// NaN fails every comparison.
		if math.Abs(v.Lat) <= 90 && math.Abs(v.Lon) <= 180 {
			continue
		}
		where := fmt.Sprintf("%s[%d]", r.where, i)
		if math.Abs(v.Lat) <= 180 && math.Abs(v.Lon) <= 90 && fineSwapped(r) {
			return d.fault(int(v.line), where, fmt.Sprintf("latitude %s; latitude and longitude look swapped", degrees(v.Lat)),
				"longitude first, within 180, then latitude, within 90")
		}
		if !(math.Abs(v.Lat) <= 90) {
			return d.fault(int(v.line), where, "latitude "+degrees(v.Lat), "degrees within 90")
		}
		return d.fault(int(v.line), where, "longitude "+degrees(v.Lon), "degrees within 180")
	}
	return nil
}

func fineSwapped(r ring) bool {
	for _, v := range r.at {
		if !(math.Abs(v.Lat) <= 180 && math.Abs(v.Lon) <= 90) {
			return false
		}
	}
	return true
}

func degrees(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// runOn returns the places of r with longitudes that do not jump: neighbours
// more than half a turn apart are taken to be near, across the antimeridian.
func (d *draft) runOn(r ring) ([]corner, error) {
	out := make([]corner, len(r.at))
	shift := 0.0
	for i, v := range r.at {
		if i > 0 {
			shift += jump(r.at[i-1].Lon, v.Lon)
		}
		at := geo.LonLat{Lon: v.Lon + shift, Lat: v.Lat}
		if !at.Valid() {
			return nil, d.fault(int(v.line), r.where, "a ring that runs round the Earth", "a field boundary")
		}
		out[i] = corner{pointOf(at), at, v.line}
	}
	if n := len(r.at); n > 0 && shift+jump(r.at[n-1].Lon, r.at[0].Lon) != 0 {
		return nil, d.fault(r.line, r.where, "a ring around a pole", "a field boundary")
	}
	return out, nil
}

// jump is the whole turn to add to b, a longitude, to be near a.
func jump(a, b float64) float64 {
	switch step := b - a; {
	case step > 180:
		return -360
	case step < -180:
		return 360
	}
	return 0
}

func pointOf(p geo.LonLat) plane.Point {
	return plane.Point{X: plane.Length(math.Round(p.Lon * perDegree)), Y: plane.Length(math.Round(p.Lat * perDegree))}
}
