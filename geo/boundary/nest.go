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

// lies reports whether inner lies within outer, judged by its first corner or
// middle of an edge that is not on that ring's edge.
func (d *draft) lies(inner, outer plane.Ring) bool {
	d.steps--
	if box, room := inner.Bounds(), outer.Bounds(); !holds(room, box.Min) || !holds(room, box.Max) {
		return false
	}
	laid := repair.Lay(inner, outer)
	inner, outer = laid[0], laid[1]
	for i, p := range inner {
		next := inner[(i+1)%len(inner)]
		for _, at := range []plane.Point{p.Add(p), p.Add(next)} {
			if d.steps -= len(outer); d.steps < 0 {
				return false
			}
			if s := locate(outer, at); s != 0 {
				return s > 0
			}
		}
	}
	return false
}
