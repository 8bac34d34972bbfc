package agronomy

import (
	"math"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Stretch is ground worked from one place to another, m².
type Stretch struct {
	From, To PassPlace
	Area     float64
}

// A PassPlace is a place on a pass.
type PassPlace struct {
	Pass  int            // its ID
	Along plane.Distance // along the pass
	At    plane.Point    // of the bar's centre
	Time  geo.Instant    // means nothing where the log has no clock
}

// stepAreas returns the m² from each pose of a pass to the next. The pass's
// swept ground is shared out along it as the open part of the bar and its
// travel have it ([work.Pass.StepGround]), so that the sum is what it swept.
func stepAreas(m *coverage.Map, pass *coverage.Pass) []float64 {
	steps := pass.StepGround(m.Machines)
	sum := 0.0
	for _, step := range steps {
		sum += step
	}
	if sum == 0 {
		return steps
	}
	right := pass.Swept.SquareMetres() / sum
	for i := range steps {
		steps[i] *= right
	}
	return steps
}

// markAt returns the place at a share of the way from pose i-1 to pose i.
func markAt(p *coverage.Pass, i int, share float64) PassPlace {
	a, b := &p.Poses[i-1], &p.Poses[i]
	return PassPlace{
		Pass:  p.ID,
		Along: a.Along + plane.Distance(share)*(b.Along-a.Along),
		At: plane.Point{
			X: a.Bar.X + plane.Round(share*float64(b.Bar.X-a.Bar.X)),
			Y: a.Bar.Y + plane.Round(share*float64(b.Bar.Y-a.Bar.Y)),
		},
		Time: a.Time + geo.Instant(math.Round(share*float64(b.Time-a.Time))),
	}
}
