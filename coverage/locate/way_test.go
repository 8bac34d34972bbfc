package locate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// meander is a pass that wanders by a random curvature, a pose every 20 cm or
// so.
func meander(r *rand.Rand, n int) *work.Pass {
	p := &work.Pass{}
	x, y, heading, curve := 0.0, 0.0, 0.0, 0.0
	for range n {
		pose := work.Pose{Bar: plane.Point{X: plane.Metres(x), Y: plane.Metres(y)}, Heading: plane.Angle(heading)}
		if k := len(p.Poses); k > 0 {
			pose.Along = p.Poses[k-1].Along + p.Poses[k-1].Bar.Distance(pose.Bar)
		}
		p.Poses = append(p.Poses, pose)
		curve = 0.98*curve + 0.004*r.NormFloat64()
		step := 0.1 + 0.2*r.Float64()
		heading += curve * step
		sin, cos := math.Sincos(heading)
		x, y = x+step*sin, y+step*cos
	}
	p.Length = p.Poses[n-1].Along
	return p
}

// Leaping over knots finds none but the nearest, as going through all does;
// and a place beside the bar is found where it was put.
func TestWayNearest(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 1))
		p := meander(r, 3000)
		w := NewWay(0, p, 6*plane.Metre)
		for range 200 {
			x, y := 3e6*(r.Float64()-0.5), 6e6*(r.Float64()-0.5)
			least := math.Inf(1)
			for k := range w.Knots {
				least = min(least, w.Knots[k].Away(x, y))
			}
			assert.Equal(t, least, w.Knots[w.Nearest(x, y, 0, p.Length)].Away(x, y), "seed %d", seed)

			pose := p.Poses[r.IntN(len(p.Poses))]
			across := plane.Length(r.IntN(60000) - 30000)
			s := w.Locate(work.BarOf(&pose).End(across), max(0, pose.Along-1e5), min(p.Length, pose.Along+1e5))
			assert.InDelta(t, float64(pose.Along), float64(s.Along), 100, "seed %d", seed)
			assert.InDelta(t, float64(across), float64(s.Across), 100, "seed %d", seed)
		}
	}
}
