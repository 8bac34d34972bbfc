package beside

import (
	"cmp"
	"slices"

	"lapwing/coverage/locate"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Kept is the lap that a pass kept to the ground worked before it: who comes second
// sees the first one's edge, or its line, and steers by it.
type Kept struct {
	// Along is how much of the pass the rest is told of: where it ran straight beside
	// ground worked before. Zero where that is less than leastKept.
	Along plane.Distance
	Mean  plane.Distance // of the lap; negative for a gap
	// Spread is that of the lap about its mean on the same side, see [Spread]. A bar that
	// hangs to one side laps on the one and leaves gaps on the other, however steadily it
	// is steered.
	Spread      plane.Distance
	Left, Right KeptSide
	Apart       float64 // s, mean time from the neighbour's work to this; of logs without a clock it means nothing
}

// A KeptSide is the part of a [Kept] on one side, as driven.
type KeptSide struct{ Along, Mean plane.Distance }

// leastKept is how much of a pass must run beside ground worked before, for the lap to
// be told. Judgement: a steering error's waves are tens of metres long, and of less
// than one of them neither mean nor spread is the driver's. TestKept fails where it is
// halved or doubled.
const leastKept = 20 * plane.Metre

// keptStep is how far apart the lap that is kept is looked at, but keptLooks times along
// a pass at least, as far as stretches of a metre allow. Judgement: what is nearer
// together than a steering error's wave is long tells little more, and to look at each
// metre would take as long as to measure the field. No test fails where either
// is halved or doubled.
const (
	keptStep  = 10 * plane.Metre
	keptLooks = 40
)

// Kept reckons the lap that the pass of that index kept where the lap aimed for is
// known; neighbour says of the index of another pass, or its own, whether the lap to it
// is one to aim for.
//
// Turns are left out, see [locate.Knot]. Where ground was worked before on both sides, the
// width left over decides on one of them: the side counts whose mean is nearer to what
// was aimed for.
func (n *Neighbourhood) Kept(pass int, aimed plane.Length, neighbour func(other int) bool) Kept {
	w := &n.ways[pass]
	step := max(besideStep, min(keptStep, (w.Pass.Length/keptLooks).Length()))
	var laps []kept    // beside ground worked before on one side
	var both [2][]kept // on both: left, right
	for _, b := range n.beside(pass, step) {
		if !w.StraightAt(b.Along) {
			continue
		}
		left, onLeft := n.keptTo(w, &b, &b.Left, neighbour)
		right, onRight := n.keptTo(w, &b, &b.Right, neighbour)
		right.right = true
		switch {
		case onLeft && onRight:
			both[0], both[1] = append(both[0], left), append(both[1], right)
		case onLeft:
			laps = append(laps, left)
		case onRight:
			laps = append(laps, right)
		}
	}
	off := func(laps []kept) plane.Distance { return (keptOf(laps).Mean - plane.Distance(aimed)).Abs() }
	side := 0
	if off(both[1]) < off(both[0]) {
		side = 1
	}
	if len(both[0]) > len(laps) { // a lane between two, but for the ends of the one or the other
		laps = slices.DeleteFunc(laps, func(l kept) bool { return l.right != (side == 1) })
	}
	k := keptOf(append(laps, both[side]...))
	if k.Along < plane.Distance(leastKept) {
		return Kept{}
	}
	return k
}

// A kept is the lap of one stretch.
type kept struct {
	by, length plane.Distance
	apart      float64 // s
	right      bool    // else left
}

// keptTo returns the lap of a stretch of w to a neighbour on one side; false where there
// is none that counts, or it came later.
func (n *Neighbourhood) keptTo(w *locate.Way, b *Stretch, lap *Lap, neighbour func(other int) bool) (kept, bool) {
	if lap.Pass == 0 || !neighbour(lap.Pass-1) {
		return kept{}, false
	}
	other := n.ways[lap.Pass-1].Pass
	at := func(p *work.Pass, along plane.Distance) geo.Instant { return p.Poses[work.PoseAt(p.Poses, along)].Time }
	apart := at(w.Pass, b.Along).Sub(at(other, lap.Along)).Seconds()
	earlier := apart > 0
	if w.Pass.NoClock || other.NoClock {
		earlier = lap.Pass < w.ID() || lap.Pass == w.ID() && lap.Along < b.Along
	}
	return kept{by: lap.By, length: b.Length, apart: apart}, earlier
}

// keptOf sums up the laps of some stretches.
func keptOf(laps []kept) (k Kept) {
	side := func(l *kept) *KeptSide {
		if l.right {
			return &k.Right
		}
		return &k.Left
	}
	for i := range laps {
		l := &laps[i]
		s := side(l)
		s.Along, s.Mean = s.Along+l.length, s.Mean+l.by*l.length
		k.Along, k.Mean = k.Along+l.length, k.Mean+l.by*l.length
		k.Apart += l.apart * float64(l.length)
	}
	if k.Along == 0 {
		return Kept{}
	}
	k.Mean, k.Apart = k.Mean/k.Along, k.Apart/float64(k.Along)
	for _, s := range [2]*KeptSide{&k.Left, &k.Right} {
		if s.Along > 0 {
			s.Mean /= s.Along
		}
	}
	off := make([]Weighted, len(laps))
	for i := range laps {
		off[i] = Weighted{(laps[i].by - side(&laps[i]).Mean).Metres(), laps[i].length.Metres()}
	}
	slices.SortFunc(off, func(a, b Weighted) int { return cmp.Compare(a.Value, b.Value) })
	k.Spread = plane.DistanceOf(Spread(off, k.Along.Metres()))
	return k
}
