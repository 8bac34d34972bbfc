package beside

// A Weighted is a value with the length it holds for, both in metres: a lap or gap, or
// how far short of the edge the work begins.
type Weighted struct{ Value, Length float64 }

// Quantile returns the value that a share of some, of a length together, does not
// exceed. They rise, and there is one at least.
func Quantile(values []Weighted, length, share float64) float64 {
	sum := 0.0
	for _, v := range values {
		if sum += v.Length; sum >= share*length {
			return v.Value
		}
	}
	return values[len(values)-1].Value
}

// below is the share of a normal distribution that lies more than one standard
// deviation below its mean, Φ(-1).
const below = 0.158655

// Spread returns the standard deviation of some laps of a length together, as told by
// their middle 68 %: half of what lies from one standard deviation below the mean of a
// normal distribution to one above. The laps rise.
//
// Passes of a field meet in more ways than side by side: at bends, at the ends of point
// rows and where one goes round an obstacle the lap is a matter of the ground, not of
// steering. A twentieth of such laps, some times as far off, would double the root mean
// square, and hardly moves these quantiles. The median absolute deviation would bear
// more, but where a bar hangs to one side, laps and gaps take turns, and half of them
// are no deviation from their median.
func Spread(laps []Weighted, length float64) float64 {
	return (Quantile(laps, length, 1-below) - Quantile(laps, length, below)) / 2
}
