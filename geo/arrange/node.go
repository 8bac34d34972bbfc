package arrange

import (
	"cmp"
	"math/bits"
	"slices"

	"lapwing/geo/plane"
)

// A view is how the sweep sees the plane: as it lies, or turned by a quarter so
// that north is where it has east.
type view struct{ turned bool }

// viewOf returns the view in which fewer corners turn back. Most edges are the
// sides of long swaths, which wander: seen lengthwise they go on and on from
// west to east, seen crosswise they turn back at every other corner.
func viewOf(segs []seg) view {
	level, upright := 0, 0 // corners that turn back from west to east, and from south to north
	for i := 1; i < len(segs); i++ {
		a, b := &segs[i-1], &segs[i]
		if a.to != b.from {
			continue
		}
		if (a.a.x < a.b.x) != (b.a.x < b.b.x) {
			level++
		}
		if (a.a.y < a.b.y) != (b.a.y < b.b.y) {
			upright++
		}
	}
	return view{upright < level}
}

// see returns where p is in the view, and place where that is in the plane.
func (v view) see(p point) point {
	if v.turned {
		return point{p.y, -p.x}
	}
	return p
}

func (v view) place(p point) plane.Point {
	if v.turned {
		p = point{-p.y, p.x}
	}
	return plane.Point{X: plane.Length(p.x), Y: plane.Length(p.y)}
}

// nodes are the distinct points of an arrangement as seen in its view, from
// west to east and then from south to north. of gives the node of each corner,
// and after the corners of each bend.
type nodes struct {
	view
	at []point
	of []int32
}

// number finds the distinct points among corners and bends.
func number(corners []point, bends []bend, v view) nodes {
	n := len(corners) + len(bends)
	if n == 0 {
		return nodes{}
	}
	at := func(i int) point {
		if i < len(corners) {
			return v.see(corners[i])
		}
		return v.see(bends[i-len(corners)].at)
	}
	lowest, highest := at(0).x, at(0).x
	for i := range n {
		x := at(i).x
		lowest, highest = min(lowest, x), max(highest, x)
	}
	keys := make([]keyed, n)
	for i := range keys {
		keys[i] = keyed{uint32(at(i).x - lowest), int32(i)}
	}
	keys = sortKeys(keys, bits.Len32(uint32(highest-lowest)))

	out := nodes{view: v, at: make([]point, 0, n), of: make([]int32, n)}
	for from := 0; from < n; {
		to := from + 1
		for to < n && keys[to].key == keys[from].key {
			to++
		}
		if to > from+1 {
			slices.SortFunc(keys[from:to], func(a, b keyed) int { return cmp.Compare(at(int(a.of)).y, at(int(b.of)).y) })
		}
		for _, k := range keys[from:to] {
			p := at(int(k.of))
			if len(out.at) == 0 || out.at[len(out.at)-1] != p {
				out.at = append(out.at, p)
			}
			out.of[k.of] = int32(len(out.at) - 1)
		}
		from = to
	}
	return out
}

// keyed is a number to sort by, and whose it is.
type keyed struct {
	key uint32
	of  int32
}

// sortKeys sorts by key, of which the lowest width bits are in use: digit by
// digit from the last, which on these sizes takes a third of the time of a
// comparison sort.
func sortKeys(keys []keyed, width int) []keyed {
	const digit = 12
	spare := make([]keyed, len(keys))
	for shift := 0; shift < width; shift += digit {
		var start [1<<digit + 1]int32
		for _, k := range keys {
			start[k.key>>shift&(1<<digit-1)+1]++
		}
		for i := 1; i < len(start); i++ {
			start[i] += start[i-1]
		}
		for _, k := range keys {
			d := k.key >> shift & (1<<digit - 1)
			spare[start[d]] = k
			start[d]++
		}
		keys, spare = spare, keys
	}
	return keys
}
