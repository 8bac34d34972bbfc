package covertest

import (
	"math"
	"math/rand/v2"
	"slices"
)

// A Defect is something that goes wrong with a log. It may change the samples
// in place, add some and take some away.
type Defect func(r *rand.Rand, log []Sample) []Sample

// White moves each fix by independent normal noise, sigma metres east and as
// much north.
func White(sigma float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for i := range log {
			log[i].Antenna.X += sigma * r.NormFloat64()
			log[i].Antenna.Y += sigma * r.NormFloat64()
		}
		return log
	}
}

// Drift moves the fixes by an error that wanders slowly: normal, sigma metres
// east and north, and forgotten by 1/e after memory seconds (a first-order
// Gauss-Markov process).
func Drift(sigma, memory float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		e := XY{sigma * r.NormFloat64(), sigma * r.NormFloat64()}
		for i := range log {
			if i > 0 {
				keep := math.Exp(-(log[i].Time - log[i-1].Time) / memory)
				fresh := sigma * math.Sqrt(1-keep*keep)
				e = XY{keep*e.X + fresh*r.NormFloat64(), keep*e.Y + fresh*r.NormFloat64()}
			}
			log[i].Antenna = log[i].Antenna.plus(1, e)
		}
		return log
	}
}

// HeadingNoise turns each logged heading by normal noise of sigma radians.
func HeadingNoise(sigma float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for i := range log {
			log[i].Heading += sigma * r.NormFloat64()
		}
		return log
	}
}

// SpeedNoise adds normal noise of sigma metres per second to each logged
// speed, but never makes it negative.
func SpeedNoise(sigma float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for i := range log {
			log[i].Speed = max(0, log[i].Speed+sigma*r.NormFloat64())
		}
		return log
	}
}

// Silence takes away the fixes from a time on, for so many seconds.
func Silence(from, seconds float64) Defect {
	return func(_ *rand.Rand, log []Sample) []Sample {
		return slices.DeleteFunc(log, func(s Sample) bool { return s.Time >= from && s.Time < from+seconds })
	}
}

// OnlyWorking takes away the fixes without work, as a log that records only
// work does. The fix at which work ends stays.
func OnlyWorking() Defect {
	return func(_ *rand.Rand, log []Sample) []Sample {
		var out []Sample
		for i, s := range log {
			if s.Open != Shut || i > 0 && log[i-1].Open != Shut {
				out = append(out, s)
			}
		}
		return out
	}
}

// Doubled logs n fixes twice.
func Doubled(n int) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for range n {
			i := r.IntN(len(log))
			log = slices.Insert(log, i, log[i])
		}
		return log
	}
}

// OutOfOrder swaps n fixes with those after them.
func OutOfOrder(n int) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for range n {
			i := r.IntN(len(log) - 1)
			log[i], log[i+1] = log[i+1], log[i]
		}
		return log
	}
}

// Nowhere logs n fixes at longitude 0, latitude 0.
func Nowhere(n int) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for range n {
			log[r.IntN(len(log))].Nowhere = true
		}
		return log
	}
}

// Spikes moves n fixes by so many metres, each in a direction of its own.
func Spikes(n int, metres float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		for range n {
			i := r.IntN(len(log))
			log[i].Antenna = log[i].Antenna.plus(metres, ahead(2*math.Pi*r.Float64()))
		}
		return log
	}
}

// ClockJump puts the clock forward by so many seconds from a time on, or back
// where they are negative.
func ClockJump(at, seconds float64) Defect {
	return func(_ *rand.Rand, log []Sample) []Sample {
		for i := range log {
			if log[i].Time >= at {
				log[i].Time += seconds
			}
		}
		return log
	}
}
