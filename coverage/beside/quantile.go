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
