package propose

import (
	"fmt"
	"math"
	"slices"

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
// Judgement all of it; TestRounds holds what comes out on driven fields.
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

// measure finds the headland rounds of each proposal.
func (s *Season) measure() {
	for _, p := range s.Proposals {
		p.Rounds = s.rounds(p)
	}
}

// rounds counts the rounds that were driven along the boundary.
func (s *Season) rounds(p *Proposal) Guess {
	if p.Boundary == nil {
		return Guess{"1", Guessed, "there is no boundary to count rounds along"}
	}
	width := 0.0
	for _, m := range p.Machines() {
		width = max(width, m.anyMetres(s))
	}
	steps := p.steps()
	main, ok := mainDirection(steps)
	if !ok {
		return Guess{"1", Guessed, "the field is not worked up and down, so its rounds cannot be told from the rest"}
	}
	index := newStepIndex(steps, width)
	ends := 0
	var driven [mostRounds]int // how many ends have so many rounds and one more
	for _, part := range p.Boundary.land.Boundary {
		for _, ring := range part.Rings() {
			for _, e := range edgesOf(ring, width, width/4) {
				if math.Abs(e.ux*main.uy-e.uy*main.ux) < math.Sin(endAngle*math.Pi/180) {
					continue
				}
				ends++
				for k := range min(mostRounds, index.laps(e)) {
					driven[k]++
				}
			}
		}
	}
	if ends < fewestEnds {
		return Guess{"1", Guessed, "too little of the boundary lies across the passes to count rounds along it"}
	}
	n := 0
	for n < mostRounds && float64(driven[n]) >= roundShare*float64(ends) {
		n++
	}
	share := func(k int) float64 { return 100 * float64(driven[k]) / float64(ends) }
	switch n {
	case 0:
		return Guess{"1", Guessed, fmt.Sprintf("no whole round is seen: %.0f %% of the field's ends have a pass along them", share(0))}
	case mostRounds:
		return Guess{"1", Guessed, "passes run beside the boundary on all sides, so its rounds cannot be told from the rest"}
	case 1:
		return Guess{"1", Likely, fmt.Sprintf("as driven: %.0f %% of the field's ends have a pass along them, %.0f %% a second", share(0), share(1))}
	}
	return Guess{fmt.Sprint(n), Likely, fmt.Sprintf("as driven: %.0f %% of the field's ends have so many passes along them, %.0f %% one more", share(n-1), share(n))}
}

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

// steps are the passes of the proposal piece by piece, on the plane of its field.
func (p *Proposal) steps() (out []step) {
	frame := p.Boundary.land.Frame
	for _, d := range p.Drives {
		for _, one := range d.passes {
			var x, y float64
			for i, at := range one.way {
				px, py := x, y
				x, y = frame.Metres(at)
				if l := math.Hypot(x-px, y-py); i > 0 && l > 0 {
					out = append(out, step{(x + px) / 2, (y + py) / 2, (x - px) / l, (y - py) / l, l})
				}
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
