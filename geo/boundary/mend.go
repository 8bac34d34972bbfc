package boundary

import (
	"fmt"
	"math"
	"strconv"

	"lapwing/geo"
)

// A patch is a polygon set right, before densifying.
type patch struct {
	shell []corner   // anticlockwise
	holes [][]corner // clockwise
}

// mend sets an outline right. A shell that touches itself can give more than
// one patch; one without area gives none.
func (d *draft) mend(o outline) ([]patch, error) {
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

// noteWinding notes a ring wound against RFC 7946 3.1.6. It is not an error:
// the same section says that readers should not reject it.
func (d *draft) noteWinding(r ring, c []corner, hole bool) {
	if d.rfcWind && (winding(c) < 0) != hole {
		d.note(r.line, "ring wound the wrong way; turned (RFC 7946 3.1.6: shells anticlockwise, holes clockwise)")
	}
}

// assemble winds rings rightly and gives each hole the smallest shell around
// it; a hole with none goes to the first, where it takes nothing away.
func (d *draft) assemble(r ring, shells, holes [][]corner) []patch {
	parts := make([]patch, len(shells))
	for i, s := range shells {
		parts[i].shell = wound(s, 1)
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
		}
		parts[best].holes = append(parts[best].holes, wound(h, -1))
	}
	return parts
}

// align shifts hole by whole turns to be near shell.
func align(hole, shell []corner) {
	turn(hole, 360*math.Round((shell[0].at.Lon-hole[0].at.Lon)/360))
}

// wound returns c wound as sign says.
func wound(c []corner, sign int) []corner {
	if winding(c) == sign {
		return c
	}
	for i, j := 1, len(c)-1; i < j; i, j = i+1, j-1 { // the first place stays first
		c[i], c[j] = c[j], c[i]
	}
	return c
}

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
	if n := len(c) - 1; c[0].spot == c[n].spot {
		c = c[:n]
	} else {
		d.note(r.line, "ring not closed; closed")
	}
	out, repeats, spikes := trim(c)
	for range repeats {
		d.note(r.line, "repeated point removed")
	}
	for range spikes {
		d.note(r.line, "spike without area removed")
	}
	return out, nil
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
		out[i] = corner{spotOf(at), at, v.line}
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

func spotOf(p geo.LonLat) spot {
	return spot{int64(math.Round(p.Lon * perDegree)), int64(math.Round(p.Lat * perDegree))}
}

// trim removes repeated places and spikes, and counts them. A removed spike
// can leave a repeat or another spike, hence the stack.
func trim(c []corner) (out []corner, repeats, spikes int) {
	spike := func(a, b, c corner) bool {
		return side(a.spot, b.spot, c.spot) == 0 && folds(a.spot, b.spot, c.spot)
	}
	after := 0 // repeats that spikes leave behind are no news
	for _, p := range c {
		for len(out) >= 2 && p.spot != out[len(out)-1].spot && spike(out[len(out)-2], out[len(out)-1], p) {
			out = out[:len(out)-1]
			spikes++
			if out[len(out)-1].spot == p.spot {
				after++
			}
		}
		if n := len(out); n > 0 && out[n-1].spot == p.spot {
			repeats++
			continue
		}
		out = append(out, p)
	}
	for len(out) >= 3 { // where the end meets the start
		n := len(out)
		switch {
		case out[n-1].spot == out[0].spot:
			repeats++
			out = out[:n-1]
		case spike(out[n-2], out[n-1], out[0]):
			spikes++
			if out[n-2].spot == out[0].spot {
				after++
			}
			out = out[:n-1]
		case spike(out[n-1], out[0], out[1]):
			spikes++
			if out[n-1].spot == out[1].spot {
				after++
			}
			out = out[1:]
		default:
			return out, repeats - after, spikes
		}
	}
	return out, repeats - after, spikes
}
