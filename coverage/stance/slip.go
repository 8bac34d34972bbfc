package stance

import (
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// An antenna mounted d metres ahead of its machine's non-slip point (the rear axle
// of a tractor) has a lever arm. In a turn it moves at an angle to the machine's
// heading, the slip, whose sine is d times the curvature of the antenna's path: 14
// degrees for 2 m in a turn of 8 m radius.
//
// Neither the path alone nor one logged heading gives the slip: d differs from
// machine to machine, and headings are noisy, or filtered, or themselves the
// direction of travel. But least squares over all turns of a log give d to a few
// centimetres, as the slope of sin(slip) against curvature through zero, and with
// d the machine's heading everywhere.
//
// The figures are judgement. TestAntennaAheadInATurn holds slipFar; no test holds
// the others closely.
const (
	slipLeast   = 30       // stations in turns, at least
	slipFlat    = 1.0 / 60 // 1/m; a flatter curve is no turn
	slipTight   = 1.0 / 3  // 1/m; a tighter curve is noise
	slipFar     = 1.1      // times the distance from antenna to bar that d is, at most: more is a filter's delay
	slipSure    = 4.0      // standard errors that d is from 0, at least
	slipQuiet   = 0.02     // 1/m; least noise floor of curvature (see slip.at)
	slipNoisy   = 5.0      // noise floor in standard deviations of curvature, which are 0.004 for 2 cm in the fixes
	mostSine    = 0.9      // of the slip
	mostSlipped = 0.7      // rad between heading and travel; more is backing up
)

// A slip tells by which angle a machine heads to the left of its travel. The zero slip
// is none.
type slip struct {
	arm   float64 // m from the non-slip point to the antenna
	quiet float64 // 1/m; a curve that is much flatter may be noise
}

// at returns the slip where the antenna's path has a curvature c, in 1/m. It is shrunk
// to c³/(c²+q²), q a multiple of its noise: the noise on a straight line would else wag
// the bar.
func (s slip) at(c float64) plane.Angle {
	if s.arm == 0 {
		return 0
	}
	return plane.Angle(math.Asin(max(-mostSine, min(mostSine, s.arm*c*c*c/(c*c+s.quiet*s.quiet)))))
}

// findArm finds the arm along a path, for a bar that is rigid with the machine; 0 where
// it cannot be told.
func findArm(im *machine.Implement, path *smoothedPath, heading []geo.Bearing) float64 {
	if im.Towed || heading == nil {
		return 0
	}
	parts := make([][]slipping, path.count/chunk+1)
	parallel.Runs(path.count, chunk, func(from, to int) {
		for i := from; i < to; i++ {
			if s, ok := slipAt(path.at(i), heading[i]); ok {
				parts[from/chunk] = append(parts[from/chunk], s)
			}
		}
	})
	var fit slipFit
	all := slices.Concat(parts...)
	for _, s := range all {
		fit.add(s)
	}
	return fit.arm(im, func(d float64) (rest float64) {
		for _, s := range all {
			off := s.sine - d*s.curve
			rest += off * off
		}
		return rest
	})
}

// A slipping is how much a machine slips at a place in a turn.
type slipping struct {
	sine  float64 // of the slip
	curve float64 // 1/m, of the antenna's path
}

// slipAt returns the slip at a place, by the heading logged there; false where none is
// told, or the machine does not turn.
func slipAt(p *smoothed, heading geo.Bearing) (slipping, bool) {
	if c := math.Abs(p.curve); !heading.Known() || math.IsNaN(p.tx) || c < slipFlat || c > slipTight {
		return slipping{}, false
	}
	slip := math.Remainder(math.Atan2(p.tx, p.ty)-float64(heading.Angle()), 2*math.Pi)
	return slipping{math.Sin(slip), p.curve}, math.Abs(slip) < mostSlipped
}

// A slipFit holds the sums of the least squares of sin(slip) against curvature.
type slipFit struct{ n, sum, square, sines float64 }

func (f *slipFit) add(s slipping) {
	f.n++
	f.sum += s.sine * s.curve
	f.square += s.curve * s.curve
	f.sines += s.sine * s.sine
}

// rest is the sum of squares off a slope of d, by the sums alone: of no use where it is
// far smaller than they are.
func (s *slipFit) rest(d float64) float64 { return max(0, s.sines-d*s.sum) }

// arm returns d, in metres; 0 where it cannot be told for a bar that is rigid with the
// machine. Rest is the sum of squares off a slope.
func (s *slipFit) arm(im *machine.Implement, rest func(d float64) float64) float64 {
	far := im.AntennaToHitch.Metres()
	if im.Towed || far <= 0 || s.n < slipLeast {
		return 0
	}
	d := s.sum / s.square
	if d > slipFar*far || d < slipSure*math.Sqrt(rest(d)/(s.n-1)/s.square) {
		return 0
	}
	return d
}

// curveNoise estimates the standard deviation of the noise in the curvature of a
// path, 1/m, from the difference between each curvature and the mean of those a
// smoothing window before and after, which share no fix with it. The difference is
// zero in a steady turn, and the median ignores where turns begin and end.
func curveNoise(path *smoothedPath) float64 {
	off := make([]float64, 0, path.count)
	before, after := 0, 0
	apart := func(a, b *smoothed) bool {
		dx, dy := a.x-b.x, a.y-b.y
		return dx*dx+dy*dy >= 4*Baseline*Baseline
	}
	for i := range path.count {
		here := path.at(i)
		for before+1 < i && apart(path.at(before+1), here) {
			before++
		}
		after = max(after, i)
		for after < path.count-1 && !apart(path.at(after), here) {
			after++
		}
		if a, b := path.at(before), path.at(after); apart(a, here) && apart(b, here) {
			if size := math.Abs(here.curve - (a.curve+b.curve)/2); !math.IsNaN(size) {
				off = append(off, size)
			}
		}
	}
	if len(off) == 0 {
		return 0
	}
	// The median size of a normal deviate is 0.6745 standard deviations, and the
	// difference of one from the mean of two others has sqrt(1.5) times theirs.
	return nth(off, len(off)/2) / (0.6745 * math.Sqrt(1.5))
}

// nth returns what would be at index n of values if they were sorted, and puts
// them into another order: what is smaller before it, what is larger after. There
// is no NaN among them.
func nth(values []float64, n int) float64 {
	from, to := 0, len(values)-1
	for from < to {
		middle := values[from+(to-from)/2]
		i, j := from, to
		for i <= j {
			for values[i] < middle {
				i++
			}
			for values[j] > middle {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		switch {
		case n <= j:
			to = j
		case n >= i:
			from = i
		default:
			return values[n]
		}
	}
	return values[n]
}
