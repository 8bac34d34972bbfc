package stance

import (
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// An antenna that rides d metres ahead of where its machine does not slip
// sideways is swung into the turn: it goes beside where the machine heads, by an
// angle whose sine is d times the curve of the antenna's way. 2 m ahead in a
// turn of 8 m that is 14 degrees.
//
// Neither the way alone nor one logged heading tells that: d differs from
// machine to machine, and headings are noisy, or filtered, or themselves the
// direction of travel. But over the turns of a log the headings tell d, to a
// few centimetres, and with it the machine's own heading everywhere.
const (
	slipLeast   = 30       // stations in turns, at least
	slipFlat    = 1.0 / 60 // 1/m; a flatter curve is no turn
	slipTight   = 1.0 / 3  // and a tighter one is noise
	slipFar     = 1.1      // times the bar's own distance, at most: farther is a filter's delay
	slipSure    = 4.0      // standard errors that d is from 0, at least
	slipQuiet   = 0.02     // 1/m, at least; less of a curve is let through the less there is of it
	slipNoisy   = 5.0      // times the noise in the curve, which 2 cm in the fixes make 0.004: the same where it is larger
	mostSlipped = 0.7      // rad between heading and travel; more is backing up
)

// findSlip fills in by how much the machine heads beside where its antenna
// goes, for a bar that is rigid with it.
func findSlip(im *machine.Implement, path []smoothed, heading []geo.Bearing) {
	far := im.AntennaToHitch.Metres()
	if im.Towed || far <= 0 || heading == nil {
		return
	}
	var n, sum, square, rest float64
	slipAt := func(i int) (slip float64, ok bool) {
		p := &path[i]
		c := math.Abs(p.curve)
		if !heading[i].Known() || math.IsNaN(p.tx) || c < slipFlat || c > slipTight {
			return 0, false
		}
		slip = math.Remainder(math.Atan2(p.tx, p.ty)-float64(heading[i].Angle()), 2*math.Pi)
		return slip, math.Abs(slip) < mostSlipped
	}
	for i := range path {
		if slip, ok := slipAt(i); ok {
			n++
			sum += math.Sin(slip) * path[i].curve
			square += path[i].curve * path[i].curve
		}
	}
	if n < slipLeast {
		return
	}
	d := sum / square
	for i := range path {
		if slip, ok := slipAt(i); ok {
			off := math.Sin(slip) - d*path[i].curve
			rest += off * off
		}
	}
	if d > slipFar*far || d < slipSure*math.Sqrt(rest/(n-1)/square) {
		return
	}
	quiet := max(slipQuiet, slipNoisy*curveNoise(path))
	for i := range path {
		c := path[i].curve
		path[i].slip = plane.Angle(math.Asin(max(-0.9, min(0.9, d*c*c*c/(c*c+quiet*quiet)))))
	}
}

// curveNoise estimates the standard deviation of the noise in the curves of a
// path, 1/m: by how much they differ from the mean of those a smoothing window
// before and after, which share no fix with them. A steady turn differs by
// nothing, and the median leaves out where turns begin and end.
func curveNoise(path []smoothed) float64 {
	var off []float64
	before, after := 0, 0
	apart := func(i, j int) bool {
		return math.Hypot(path[i].x-path[j].x, path[i].y-path[j].y) >= 2*Baseline
	}
	for i := range path {
		for before+1 < i && apart(before+1, i) {
			before++
		}
		after = max(after, i)
		for after < len(path)-1 && !apart(after, i) {
			after++
		}
		if apart(before, i) && apart(after, i) {
			off = append(off, math.Abs(path[i].curve-(path[before].curve+path[after].curve)/2))
		}
	}
	if len(off) == 0 {
		return 0
	}
	// Of a normal deviate the median size is 0.6745 standard deviations; that of
	// one less the mean of two others is sqrt(1.5) of them.
	slices.Sort(off)
	return off[len(off)/2] / (0.6745 * math.Sqrt(1.5))
}
