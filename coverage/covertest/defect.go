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

// SmoothDrift moves the fixes by an error that wanders without a jerk: normal, sigma
// metres east and north, with a speed of its own. Its correlation after t seconds is
// (1 + a) exp(-a), with a = √3 t / memory (Matérn 3/2). The steps from fix to fix are
// exact: place and speed together are a Markov process (J. Hartikainen and S. Särkkä,
// "Kalman filtering and smoothing solutions to temporal Gaussian process regression
// models", 2010).
func SmoothDrift(sigma, memory float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		east, north := newSmooth(r, sigma, memory), newSmooth(r, sigma, memory)
		for i := range log {
			if i > 0 {
				dt := log[i].Time - log[i-1].Time
				east.step(r, dt)
				north.step(r, dt)
			}
			log[i].Antenna = log[i].Antenna.plus(1, XY{east.at, north.at})
		}
		return log
	}
}

// smooth is one axis of a [SmoothDrift]; t may be metres as well as seconds.
type smooth struct {
	at, speed   float64
	sigma, rate float64 // rate is √3 / memory
}

func newSmooth(r *rand.Rand, sigma, memory float64) *smooth {
	s := &smooth{sigma: sigma, rate: math.Sqrt(3) / memory}
	s.at, s.speed = sigma*r.NormFloat64(), sigma*s.rate*r.NormFloat64()
	return s
}

// step goes on by t.
func (s *smooth) step(r *rand.Rand, t float64) {
	a := s.rate * t
	keep := math.Exp(-a)
	p, q, u, v := keep*(1+a), keep*t, -keep*s.rate*a, keep*(1-a) // what is kept of place and speed
	// What is new has the covariance that is missing from the lasting one.
	place, speed := s.sigma*s.sigma, s.sigma*s.sigma*s.rate*s.rate
	pp := max(0, place-p*p*place-q*q*speed)
	ps := -p*u*place - q*v*speed
	ss := max(0, speed-u*u*place-v*v*speed)
	x, y := r.NormFloat64(), r.NormFloat64()
	first := math.Sqrt(pp)
	at, to := p*s.at+q*s.speed+first*x, u*s.at+v*s.speed
	if first > 0 {
		to += ps/first*x + math.Sqrt(max(0, ss-ps*ps/pp))*y
	}
	s.at, s.speed = at, to
}

// Strays moves the machine to the side as a driver does who aims by eye: each
// pass by a normal number of its own, whole metres sigma, and along it by a smooth
// one of sigma wander that is forgotten over some metres of the way. While the bar is
// lifted it goes over from the one pass's to the next's.
func Strays(whole, wander, metres float64) Defect {
	return func(r *rand.Rand, log []Sample) []Sample {
		aside := make([]float64, len(log))
		along := newSmooth(r, wander, metres)
		pass := whole * r.NormFloat64()
		for i := 0; i < len(log); {
			end := i
			for end < len(log) && (log[end].Open == Shut) == (log[i].Open == Shut) {
				end++
			}
			next := pass
			if log[i].Open == Shut {
				next = whole * r.NormFloat64()
			}
			for k := i; k < end; k++ {
				if k > 0 {
					along.step(r, Distance(log[k].Antenna, log[k-1].Antenna))
				}
				t := float64(k-i+1) / float64(end-i+1)
				aside[k] = pass + t*(next-pass) + along.at
			}
			pass, i = next, end
		}
		for i := range log {
			log[i].Antenna = log[i].Antenna.plus(aside[i], right(log[i].Heading))
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
