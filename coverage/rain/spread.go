package rain

import (
	"math"
	"time"
)

// What an interval is made of where too little is known. Judgement, no source.
// TestSpreadByHand fails where fewestTold is 2 or 6, TestPlanByHand where the excess of
// judgedFactor over one is halved or doubled; no test of the package fails where that of
// leastFactor is.
const (
	// fewestTold is how many fields must be told by the others for these to say how
	// sure the pace is.
	fewestTold = 3
	// judgedFactor is the factor either way where they are fewer: a field of another
	// shape, with a breakdown or a long fill, has taken half as long again.
	judgedFactor = 1.5
	// leastFactor is the least there is: the hours of another day and another field
	// vary by a twentieth though those of one farm in one week may not.
	leastFactor = 1.05
	// leastTime is how long work in a field must have taken to count as one that was
	// told: of a corner chance is the larger part.
	leastTime = 10 * time.Minute
)

// A Spread is how well the time on a field is known: nine times in ten it is within
// this factor of what is told, either way.
type Spread struct {
	Factor float64
	Judged bool // by judgement: too few fields were told
	Least  bool // the fields were told better than this; it is the least taken
	Told   []Told
}

// A Told is a field of the last days as the others tell it.
type Told struct {
	Name       string
	Took, Said time.Duration // of all machines that the others know, added up
}

// SpreadOf tells each field by all others, as if it had not been begun yet.
//
// The logarithms e of what it took by what was said are taken as normal around 0. With
// s² = Σ e² / k over k fields a new one lies within t s, t the 0.95 quantile of Student's
// distribution with k - 1 degrees of freedom: each e was told by one field less than the
// new one is, so that s is on the safe side. Leaving one out: M. Stone, "Cross-validatory
// choice and assessment of statistical predictions", 1974.
func SpreadOf(fields []Worked) Spread {
	var s Spread
	squares := 0.0
	for i := range fields {
		others := make([]Worked, 0, len(fields)-1)
		others = append(append(others, fields[:i]...), fields[i+1:]...)
		told := tell(&fields[i], Paces(others))
		if told.Took < leastTime || told.Said <= 0 {
			continue
		}
		e := math.Log(told.Took.Seconds() / told.Said.Seconds())
		squares += e * e
		s.Told = append(s.Told, told)
	}
	k := float64(len(s.Told))
	if k < fewestTold {
		s.Factor, s.Judged = judgedFactor, true
		return s
	}
	s.Factor = math.Exp(student95(k-1) * math.Sqrt(squares/k))
	if s.Factor < leastFactor {
		s.Factor, s.Least = leastFactor, true
	}
	return s
}

// tell says how long the machines of a field took on their parts of it, and how long
// some paces would have had them take.
func tell(f *Worked, paces []Pace) Told {
	told := Told{Name: f.Name}
	for i := range f.By {
		by := &f.By[i]
		for k := range paces {
			if p := &paces[k]; p.Machine == by.Machine && p.tells() {
				told.Took += by.Total()
				told.Said += p.Alone(f.part(by.New))
			}
		}
	}
	return told
}

// student95 is the 0.95 quantile of Student's distribution with n degrees of freedom,
// two at least, by the expansion about the normal one (M. Abramowitz, I. Stegun,
// "Handbook of Mathematical Functions", 26.7.5). It is within 0.3 % from two degrees on:
// TestStudent.
func student95(n float64) float64 {
	const x = 1.644854 // the 0.95 quantile of the normal distribution
	const x2 = x * x
	g1 := x * (x2 + 1) / 4
	g2 := x * ((5*x2+16)*x2 + 3) / 96
	g3 := x * (((3*x2+19)*x2+17)*x2 - 15) / 384
	g4 := x * ((((79*x2+776)*x2+1482)*x2-1920)*x2 - 945) / 92160
	return x + (g1+(g2+(g3+g4/n)/n)/n)/n
}
