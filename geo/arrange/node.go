package arrange

import "math/bits"

// nodes are the distinct points of an arrangement, from west to east and then
// from south to north. of gives the node of each corner, and after the
// corners of each bend.
type nodes struct {
	at []point
	of []int32
}

// number finds the distinct points among corners and bends.
func number(corners []point, bends []bend) nodes {
	n := len(corners) + len(bends)
	if n == 0 {
		return nodes{}
	}
	at := func(i int) point {
		if i < len(corners) {
			return corners[i]
		}
		return bends[i-len(corners)].at
	}
	lowest := at(0)
	highest := lowest
	for i := range n {
		p := at(i)
		lowest = point{min(lowest.x, p.x), min(lowest.y, p.y)}
		highest = point{max(highest.x, p.x), max(highest.y, p.y)}
	}
	yBits := bits.Len32(uint32(highest.y - lowest.y))
	keys := make([]keyed, n)
	for i := range keys {
		p := at(i)
		keys[i] = keyed{uint64(uint32(p.x-lowest.x))<<yBits | uint64(uint32(p.y-lowest.y)), int32(i)}
	}
	keys = sortKeys(keys, yBits+bits.Len32(uint32(highest.x-lowest.x)))

	out := nodes{at: make([]point, 0, n), of: make([]int32, n)}
	for i, k := range keys {
		if i == 0 || k.key != keys[i-1].key {
			out.at = append(out.at, at(int(k.of)))
		}
		out.of[k.of] = int32(len(out.at) - 1)
	}
	return out
}

// keyed is a number to sort by, and whose it is.
type keyed struct {
	key uint64
	of  int32
}

// sortKeys sorts by key, of which the lowest width bits are in use: digit by
// digit from the last, which on these sizes takes a third of the time of a
// comparison sort.
func sortKeys(keys []keyed, width int) []keyed {
	const digit = 11
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
