package arrange

import (
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
	keys := make([]keyed, n)
	partsOf(n, nil).each(func(_, from, to int) {
		for i := from; i < to; i++ {
			var p point
			if i < len(corners) {
				p = v.see(corners[i])
			} else {
				p = v.see(bends[i-len(corners)].at)
			}
			keys[i] = keyed{p.x, p.y, int32(i)}
		}
	})
	keys = sortByX(keys)

	// A part is numbered once it is known how many distinct points lie before it.
	out := nodes{view: v, of: make([]int32, n)}
	parts := partsOf(n, func(i int) bool { return keys[i].x != keys[i-1].x })
	distinct := make([]int, parts.len()+1)
	parts.each(func(k, from, to int) {
		mine := keys[from:to]
		var room []int64
		for first := 0; first < len(mine); {
			next := first + 1
			for next < len(mine) && mine[next].x == mine[first].x {
				next++
			}
			room = sortByY(mine[first:next], room)
			first = next
		}
		for i := range mine {
			if i == 0 || mine[i].point() != mine[i-1].point() {
				distinct[k+1]++
			}
		}
	})
	for k := range distinct[1:] {
		distinct[k+1] += distinct[k]
	}
	out.at = make([]point, distinct[parts.len()])
	parts.each(func(k, from, to int) {
		next := distinct[k]
		for i, key := range keys[from:to] {
			if p := key.point(); i == 0 || out.at[next-1] != p {
				out.at[next] = p
				next++
			}
			out.of[key.of] = int32(next - 1)
		}
	})
	return out
}

// keyed is a point to sort, and whose it is.
type keyed struct{ x, y, of int32 }

func (k keyed) point() point { return point{k.x, k.y} }

// sortByX sorts from west to east, digit by digit from the last: on these sizes
// that takes a third of the time of a comparison sort.
func sortByX(keys []keyed) []keyed {
	lowest, highest := keys[0].x, keys[0].x
	for i := range keys {
		lowest, highest = min(lowest, keys[i].x), max(highest, keys[i].x)
	}
	width := bits.Len32(uint32(highest - lowest))
	spare := make([]keyed, len(keys))
	parts := partsOf(len(keys), nil)
	for shift := 0; shift < width; shift += digitBits {
		d := digit{lowest, shift}
		of, out := keys, spare
		t := parts.tally(1 << digitBits)
		parts.each(func(k, from, to int) { d.count(of[from:to], t.of(k)) })
		t.place()
		parts.each(func(k, from, to int) { d.scatter(of[from:to], out, t.of(k)) })
		keys, spare = spare, keys
	}
	return keys
}

// digitBits are the bits of a digit. More leave fewer digits, and more places to write to
// by turns than a processor's cache has lines.
const digitBits = 12

// A digit is a part of how far east of the lowest a point is.
type digit struct {
	lowest int32
	shift  int
}

func (d digit) of(k keyed) uint32 { return uint32(k.x-d.lowest) >> d.shift & (1<<digitBits - 1) }

func (d digit) count(keys []keyed, counts []int32) {
	for _, k := range keys {
		counts[d.of(k)]++
	}
}

// scatter puts keys in their places, which move on.
func (d digit) scatter(keys, to []keyed, places []int32) {
	for _, k := range keys {
		at := &places[d.of(k)]
		to[*at] = k
		*at++
	}
}

// sortByY sorts points of one x from south to north. It returns the room that it sorted in,
// for the next ones.
func sortByY(keys []keyed, room []int64) []int64 {
	if len(keys) == 1 {
		return room
	}
	room = room[:0]
	for _, k := range keys {
		room = append(room, int64(k.y)<<32|int64(k.of))
	}
	slices.Sort(room)
	for i, r := range room {
		keys[i].y, keys[i].of = int32(r>>32), int32(r)
	}
	return room
}
