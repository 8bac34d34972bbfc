package pattern

import (
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// How rounds along the boundary are told. They are looked for along the ends of
// the field, where passes of the inside do not run beside the boundary:
//
//	|  | | | | | |  |
//	|  | | | | | |  |     the ends are above and below; one round
//	|  ' ' ' ' ' '  |
//	|_______________|
//
// Judgement all of it; TestRounds in package propose holds what comes out on driven
// fields.
const (
	endAngle   = 30.0 // degrees between an end and the passes inside, at least
	alongAngle = 20.0 // degrees between a round and the boundary, at most
	firstRound = 1.5  // widths from the boundary to the first round, at most
	nextRound  = 1.3  // widths from one round to the next, at most
	sameRound  = 0.4  // of a width: what lies nearer is the same round
	roundShare = 0.7  // of the ends that a round must be driven along
	mostRounds = 6
	fewestEnds = 10 // samples of the ends, a quarter of a width apart
)

// A step is a piece of a pass on the plane of a field, in metres.
type step struct{ x, y, ux, uy, length float64 }

// Rounds are the passes along a field's boundary, counted at its ends.
type Rounds struct {
	// UpAndDown says that the field was worked in one direction, so that it has ends.
	UpAndDown bool
	Ends      int             // places along the ends that were looked at
	Driven    [mostRounds]int // at how many of them there are so many rounds and one more
}

// RoundsOf counts the rounds that were driven along the boundary of a field by bars
// of at most some width, in metres.
func RoundsOf(land field.Field, ways []Way, width float64) (r Rounds) {
	steps := stepsOf(land.Frame, ways)
	main, ok := mainDirection(steps)
	if r.UpAndDown = ok; !ok {
		return r
	}
	index := newStepIndex(steps, width)
	for _, part := range land.Boundary {
		for _, ring := range part.Rings() {
			for _, e := range edgesOf(ring, width, width/4) {
				if math.Abs(e.ux*main.uy-e.uy*main.ux) < math.Sin(endAngle*math.Pi/180) {
					continue
				}
				r.Ends++
				for k := range min(mostRounds, index.laps(e)) {
					r.Driven[k]++
				}
			}
		}
	}
	return r
}

// Told reports whether there is enough of the boundary to count along.
func (r Rounds) Told() bool { return r.UpAndDown && r.Ends >= fewestEnds }

// Whole is how many rounds were driven along most of the ends; all is true where there
// are as many as could be counted, so that they cannot be told from the rest.
func (r Rounds) Whole() (n int, all bool) {
	for n < mostRounds && float64(r.Driven[n]) >= roundShare*float64(r.Ends) {
		n++
	}
	return n, n == mostRounds
}

// Share is at which part of the ends there are so many rounds, from 1.
func (r Rounds) Share(rounds int) float64 { return float64(r.Driven[rounds-1]) / float64(r.Ends) }

// A stepIndex finds steps by where they are, in squares a width wide.
type stepIndex struct {
	width   float64
	squares map[[2]int][]step
}

func newStepIndex(steps []step, width float64) *stepIndex {
	x := &stepIndex{width, map[[2]int][]step{}}
	for _, st := range steps {
		k := x.square(st.x, st.y)
		x.squares[k] = append(x.squares[k], st)
	}
	return x
}

func (x *stepIndex) square(east, north float64) [2]int {
	return [2]int{int(math.Floor(east / x.width)), int(math.Floor(north / x.width))}
}

// laps counts the passes along an end, from the boundary inwards until there is
// none where the next would be. The first may be as far in as a boundary drawn by
// hand is off.
func (x *stepIndex) laps(e step) (n int) {
	var in []float64 // how far in the steps lie that run along the end
	seen := map[[2]int]bool{}
	for k := -1.0; k <= mostRounds+2; k++ {
		// Left of an edge is inside: shells run anticlockwise, holes clockwise.
		at := x.square(e.x-e.uy*k*x.width, e.y+e.ux*k*x.width)
		for i := at[0] - 1; i <= at[0]+1; i++ {
			for j := at[1] - 1; j <= at[1]+1; j++ {
				if seen[[2]int{i, j}] {
					continue
				}
				seen[[2]int{i, j}] = true
				for _, st := range x.squares[[2]int{i, j}] {
					dx, dy := st.x-e.x, st.y-e.y
					beside := math.Abs(dx*e.ux + dy*e.uy)
					if beside <= x.width/2 && math.Abs(st.ux*e.uy-st.uy*e.ux) <= math.Sin(alongAngle*math.Pi/180) {
						in = append(in, dy*e.ux-dx*e.uy)
					}
				}
			}
		}
	}
	slices.Sort(in)
	next := firstRound * x.width // how far in the next round begins at most
	last := math.Inf(-1)
	for _, d := range in {
		switch {
		case d < -x.width/2:
		case d-last < sameRound*x.width:
			last = d
		case d > next:
			return n
		default:
			n++
			last, next = d, d+nextRound*x.width
		}
	}
	return n
}

// stepsOf are passes piece by piece, on the plane of a frame.
func stepsOf(frame geo.Frame, ways []Way) (out []step) {
	for _, one := range ways {
		var x, y float64
		for i, at := range one.Places {
			px, py := x, y
			x, y = frame.Metres(at)
			if l := math.Hypot(x-px, y-py); i > 0 && l > 0 {
				out = append(out, step{(x + px) / 2, (y + py) / 2, (x - px) / l, (y - py) / l, l})
			}
		}
	}
	return out
}

// mainDirection is the direction, either way, in which most was driven; false
// where a field was worked in no one direction.
func mainDirection(steps []step) (step, bool) {
	const bins, least = 36, 0.4 // of 5 degrees; of the way, within 15 degrees: judgement
	var metres [bins]float64
	total := 0.0
	for _, st := range steps {
		angle := math.Mod(math.Atan2(st.uy, st.ux)+2*math.Pi, math.Pi)
		metres[int(angle/math.Pi*bins)%bins] += st.length
		total += st.length
	}
	best, most := 0, -1.0
	for i := range metres {
		if sum := metres[(i+bins-1)%bins] + metres[i] + metres[(i+1)%bins]; sum > most {
			best, most = i, sum
		}
	}
	sin, cos := math.Sincos((float64(best) + 0.5) * math.Pi / bins)
	return step{ux: cos, uy: sin}, total > 0 && most >= least*total
}

// edgesOf samples a ring every so many metres. Near its corners, where a round cuts
// or swings, it does not.
func edgesOf(ring plane.Ring, corner, every float64) (out []step) {
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		dx, dy := (b.X - a.X).Metres(), (b.Y - a.Y).Metres()
		l := math.Hypot(dx, dy)
		for at := corner; at < l-corner; at += every {
			out = append(out, step{a.X.Metres() + dx*at/l, a.Y.Metres() + dy*at/l, dx / l, dy / l, every})
		}
	}
	return out
}
