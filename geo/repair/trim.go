package repair

import "lapwing/geo/plane"

// Trim leaves out the corners of a ring that repeat the one before, and those at
// the tips of spikes, where it goes out and back along one line. It returns the
// numbers of the corners that stay, and counts the others. A spike that is
// removed can leave a repeat or another spike, hence the stack.
//
//	     d                 a b c d e: d is a spike's tip, and e repeats c
//	     |
//	b---c,e---
func Trim(r plane.Ring) (kept []int, repeats, spikes int) {
	if len(r) == 0 {
		return nil, 0, 0
	}
	flat := Lay(r)[0]
	same := func(i, j int) bool { return flat[i] == flat[j] }
	spike := func(i, j, k int) bool {
		a, b, c := flat[i], flat[j], flat[k]
		ab, bc := b.Sub(a), c.Sub(b)
		return plane.Side(a, b, c) == plane.Straight && ab.X*bc.X+ab.Y*bc.Y < 0
	}
	after := 0 // repeats that spikes leave behind are no news
	for p := range flat {
		for n := len(kept); n >= 2 && !same(p, kept[n-1]) && spike(kept[n-2], kept[n-1], p); n = len(kept) {
			kept = kept[:n-1]
			spikes++
			if same(kept[n-2], p) {
				after++
			}
		}
		if n := len(kept); n > 0 && same(kept[n-1], p) {
			repeats++
			continue
		}
		kept = append(kept, p)
	}
	for len(kept) >= 3 { // where the end meets the start
		n := len(kept)
		switch {
		case same(kept[n-1], kept[0]):
			repeats++
			kept = kept[:n-1]
		case spike(kept[n-2], kept[n-1], kept[0]):
			spikes++
			if same(kept[n-2], kept[0]) {
				after++
			}
			kept = kept[:n-1]
		case spike(kept[n-1], kept[0], kept[1]):
			spikes++
			if same(kept[n-1], kept[1]) {
				after++
			}
			kept = kept[1:]
		default:
			return kept, repeats - after, spikes
		}
	}
	return kept, repeats - after, spikes
}
