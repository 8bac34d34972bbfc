package plane

import "slices"

// Thinned leaves out points of a line that lie within a tolerance of the
// line through the others (D. Douglas, T. Peucker, "Algorithms for the
// reduction of the number of points required to represent a digitized line or
// its caricature", 1973). Both ends stay.
func Thinned(line []Point, tolerance Distance) []Point {
	if len(line) < 3 {
		return line
	}
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	type stretch struct{ from, to int }
	todo := []stretch{{0, len(line) - 1}}
	kept := 2
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if at := farthest(line[s.from:s.to+1], tolerance); at > 0 {
			at += s.from
			keep[at] = true
			kept++
			todo = append(todo, stretch{s.from, at}, stretch{at, s.to})
		}
	}
	out := make([]Point, 0, kept)
	for i, p := range line {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// Thinned is [Thinned] of a ring: its first corner stays, and the one farthest
// from that.
func (r Ring) Thinned(tolerance Distance) Ring {
	if len(r) == 0 {
		return nil
	}
	far, most := 0, 0.0
	for i, p := range r {
		x, y := float64(p.X-r[0].X), float64(p.Y-r[0].Y)
		if d := x*x + y*y; d > most {
			far, most = i, d
		}
	}
	there := Thinned(r[:far+1], tolerance)
	back := Thinned(append(slices.Clone(r[far:]), r[0]), tolerance)
	return append(slices.Clone(there), back[1:len(back)-1]...)
}

// farthest returns which point of a line lies farthest from the segment
// between its ends, the first of several; 0 if none lies farther than
// tolerance. It compares squares times the square of the segment's length,
// which takes neither a root nor a division.
func farthest(line []Point, tolerance Distance) int {
	a, b := line[0], line[len(line)-1]
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	length2 := dx*dx + dy*dy
	scale := max(length2, 1)
	far, at := float64(tolerance*tolerance)*scale, 0
	for i, p := range line[1 : len(line)-1] {
		px, py := float64(p.X-a.X), float64(p.Y-a.Y)
		var d float64
		switch along := px*dx + py*dy; {
		case along <= 0:
			d = (px*px + py*py) * scale
		case along >= length2:
			d = ((px-dx)*(px-dx) + (py-dy)*(py-dy)) * scale
		default:
			d = px*dy - py*dx
			d *= d
		}
		if d > far {
			far, at = d, i+1
		}
	}
	return at
}
