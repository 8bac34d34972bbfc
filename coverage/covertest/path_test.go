package covertest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A turn gets there: the last leg ends at the stance asked for, and no way is
// shorter than the straight line.
func TestTurnGetsThere(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 5000 {
		stance := func() Stance {
			return Stance{XY{r.Float64() * 40, r.Float64() * 40}, r.Float64()*20 - 10}
		}
		from, to, radius := stance(), stance(), 1+r.Float64()*12
		end, length := from, 0.0
		for _, l := range shortest(from, to, radius) {
			l.From = end
			end = l.At(l.Length)
			length += l.Length
		}
		assert.InDelta(t, to.X, end.X, 1e-6)
		assert.InDelta(t, to.Y, end.Y, 1e-6)
		assert.InDelta(t, 0, math.Remainder(to.Heading-end.Heading, 2*math.Pi), 1e-6)
		assert.GreaterOrEqual(t, length, Distance(from.XY, to.XY)-1e-9)
	}
}

// Between lines closer than two radii the shortest turn back is the bulb: it
// leans away by acos((2r + gap) / 4r), so that its length is r (pi + 4 lean).
func TestBulb(t *testing.T) {
	const r, gap = 8.0, 6.0
	p := NewPath(r).Jump(Stance{}).TurnTo(Stance{XY{gap, 0}, math.Pi})
	lean := math.Acos((2*r + gap) / (4 * r))
	assert.Len(t, p.Legs, 3)
	assert.InDelta(t, r*(math.Pi+4*lean), p.Length(), 1e-9)
}
