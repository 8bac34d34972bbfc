// Package lapsum sums up the laps that passes kept, over passes, days and fields: what was
// aimed for, what was kept, and how far that scatters. An [assess.Assessment] tells the
// lap of each pass; documents about several, such as a season book's page of a driver, sum
// them up here.
package lapsum

import (
	"math"

	"lapwing/coverage/assess"
)

// A Driven is the lap of a pass among those of several that are summed up.
type Driven struct {
	*assess.LapKeptSummary
	Hang float64 // m, see [Hang]; 0 where none is known
}

// A Sum is how the lap was kept on several passes, in metres.
type Sum struct {
	Passes      int     // with ground beside them that was worked before
	Along       float64 // of them, beside it
	Kept, Aimed float64 // means by length; a gap is negative
	// Spread is one standard deviation about the mean off the aim, of all stretches
	// together, without what bars hang to one side, see [Of].
	Spread   float64
	Receiver float64 // likewise of what the receivers alone move a lap by
	Planned  bool    // of some the job says what is aimed for
	// The least and the most that was aimed for.
	LeastAimed, MostAimed float64
	Left, Right           SideSum
}

// A SideSum is the part of a [Sum] on one side, as driven.
type SideSum struct{ Along, Kept float64 }

func (s *SideSum) add(side *assess.LapSideSummary) {
	if along := float64(side.Along); along > 0 {
		s.Kept = (s.Kept*s.Along + float64(side.Mean)*along) / (s.Along + along)
		s.Along += along
	}
}

// Of sums up the laps of passes. All stretches together are taken for a mixture of
// normal distributions, one for each pass and side, by its mean, its spread and its
// length; the spread of the mixture is told by its middle 68 %, as that of one pass, see
// [beside.Spread]: one pass round an obstacle does not make it.
func Of(laps []Driven) Sum {
	s := Sum{LeastAimed: math.Inf(1), MostAimed: math.Inf(-1)}
	var off mixture
	var receiver float64
	for _, l := range laps {
		along := float64(l.Along)
		if along == 0 {
			continue
		}
		s.Passes++
		s.Along += along
		s.Kept += along * float64(l.Mean)
		s.Aimed += along * float64(l.Aimed)
		s.Planned = s.Planned || l.Planned
		s.LeastAimed, s.MostAimed = min(s.LeastAimed, float64(l.Aimed)), max(s.MostAimed, float64(l.Aimed))
		receiver += along * float64(l.Receiver) * float64(l.Receiver)
		s.Left.add(&l.Left)
		s.Right.add(&l.Right)
		for _, side := range []struct {
			*assess.LapSideSummary
			hang float64
		}{{&l.Left, l.Hang}, {&l.Right, -l.Hang}} {
			if side.Along > 0 {
				off = append(off, component{float64(side.Mean-l.Aimed) - side.hang, float64(l.Spread), float64(side.Along)})
			}
		}
	}
	if s.Passes == 0 {
		return Sum{}
	}
	s.Kept, s.Aimed, s.Receiver = s.Kept/s.Along, s.Aimed/s.Along, math.Sqrt(receiver/s.Along)
	s.Spread = off.spread()
	return s
}

// hangPart is the share of the way that a machine must have kept a lap on either side, for
// its hang to be told. Judgement: the less there is of one side, the more it is what was
// done there.
const hangPart = 0.1

// Hang is how much more, in metres, a machine laps on the left than on the mean of both
// sides, by its laps on one field; 0 where too little of the way was on one of the sides.
// To and fro, a bar that lies d to the left of where the log takes it to be laps 2 d more
// on the left and 2 d less on the right.
func Hang(laps []Driven) float64 {
	s := Of(laps)
	if min(s.Left.Along, s.Right.Along) < hangPart*s.Along {
		return 0
	}
	return (s.Left.Kept - s.Right.Kept) / 2
}

// A mixture of normal distributions.
type mixture []component

type component struct{ mean, deviation, weight float64 }

// spread is half of what lies from one standard deviation below a normal distribution's
// mean to one above.
func (m mixture) spread() float64 {
	above := 0.5 * math.Erfc(-1/math.Sqrt2) // Φ(1)
	return (m.quantile(above) - m.quantile(1-above)) / 2
}

// quantile returns the value that a share of the mixture does not exceed, by bisection to
// a thousandth of a millimetre.
func (m mixture) quantile(share float64) float64 {
	const far, enough = 10, 1e-6 // deviations; m
	low, high, weight := math.Inf(1), math.Inf(-1), 0.0
	for _, c := range m {
		low, high = min(low, c.mean-far*c.deviation), max(high, c.mean+far*c.deviation)
		weight += c.weight
	}
	for high-low > enough {
		middle := (low + high) / 2
		sum := 0.0
		for _, c := range m {
			switch {
			case c.deviation > 0:
				sum += c.weight * 0.5 * math.Erfc((c.mean-middle)/(c.deviation*math.Sqrt2))
			case c.mean <= middle:
				sum += c.weight
			}
		}
		if sum < share*weight {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
