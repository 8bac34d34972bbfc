package boundary

import (
	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// nest makes polygons of rings that lie in no order. A shapefile winds shells
// clockwise and holes the other way, but many a writer does not: what lies
// within an even number of rings is taken for a shell, whichever way it runs.
func (d *draft) nest(rings []ring) ([]outline, error) {
	var solid []ring
	var flats []plane.Ring
	for _, r := range rings {
		if err := d.checkPlaces(r); err != nil {
			return nil, err
		}
		c, err := d.runOn(r)
		if err != nil {
			return nil, err
		}
		if len(c) == 0 {
			d.note(0, "empty ring left out")
			continue
		}
		solid, flats = append(solid, r), append(flats, flat(c))
	}
	depth := make([]int, len(solid))
	around := make([]int, len(solid)) // the innermost ring around it
	for i := range solid {
		around[i] = -1
		for j := range solid {
			if i == j || !d.lies(flats[i], flats[j]) {
				continue
			}
			depth[i]++
			if around[i] < 0 || d.lies(flats[j], flats[around[i]]) {
				around[i] = j
			}
		}
		if d.steps < 0 {
			return nil, d.tangled(solid[i])
		}
	}
	var out []outline
	shellOf := make(map[int]int)
	for i, r := range solid {
		if depth[i]%2 == 0 {
			shellOf[i] = len(out)
			out = append(out, outline{r})
		}
	}
	for i, r := range solid {
		if depth[i]%2 == 1 {
			if s, ok := shellOf[around[i]]; ok {
				out[s] = append(out[s], r)
			} else {
				return nil, d.fault(0, r.where, "rings that overlap", "rings side by side or within each other")
			}
		}
	}
	return out, nil
}

// asked is how many places of a ring are asked for whether it lies within another.
const asked = 32

// lies reports whether inner lies within outer, judged by most of its corners and the
// middles of its edges that are not on the other's edge: rounding carries a few of them
// across. Where the file is as it should be they all say the same.
func (d *draft) lies(inner, outer plane.Ring) bool {
	d.steps--
	box, room := inner.Bounds(), outer.Bounds()
	middle := plane.Point{X: box.Min.X + (box.Max.X-box.Min.X)/2, Y: box.Min.Y + (box.Max.Y-box.Min.Y)/2}
	if !holds(room, middle) {
		return false
	}
	laid := repair.Lay(inner, outer)
	inner, outer = laid[0], laid[1]
	say := func(i int) int {
		p, next := inner[i], inner[(i+1)%len(inner)]
		sum := 0
		for _, at := range []plane.Point{p.Add(p), p.Add(next)} {
			d.steps -= len(outer)
			sum += locate(outer, at)
		}
		return sum
	}
	votes := 0
	for k := range min(asked, len(inner)) {
		if d.steps < 0 {
			return false
		}
		votes += say(k * len(inner) / min(asked, len(inner)))
	}
	for i := 0; votes == 0 && i < len(inner) && d.steps >= 0; i++ { // on the edge, wherever it was asked
		votes += say(i)
	}
	return votes > 0
}
