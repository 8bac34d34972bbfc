package plane

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestBreadthOfShapes(t *testing.T) {
	m := func(x, y float64) Point { return Point{Metres(x), Metres(y)} }
	for _, c := range []struct {
		name   string
		ring   Ring
		metres float64
		along  float64 // degrees, modulo 180
	}{
		{"a rectangle along its long side", Ring{m(0, 0), m(400, 0), m(400, 100), m(0, 100)}, 100, 90},
		{"the same on end", Ring{m(0, 0), m(100, 0), m(100, 400), m(0, 400)}, 100, 0},
		{"a rectangle turned by 45 degrees", Ring{m(0, 0), m(300, 300), m(200, 400), m(-100, 100)}, 100 * math.Sqrt2, 45},
		// 2 × area / the longest side of a triangle.
		{"a right-angled triangle", Ring{m(0, 0), m(300, 0), m(0, 400)}, 240, 143.13},
		{"a bay does not count", Ring{m(0, 0), m(400, 0), m(400, 100), m(200, 10), m(0, 100)}, 100, 90},
		{"two points have none", Ring{m(0, 0), m(300, 0)}, 0, 90},
		{"nor has a corner that is met again", Ring{m(-10, -20), m(-50, -20), m(-10, -20)}, 0, 90},
		{"nor have three in line", Ring{m(0, 0), m(300, 0), m(600, 0)}, 0, 90},
	} {
		got, along := c.ring.Breadth()
		assert.InDelta(t, c.metres, got.Metres(), 0.001, c.name)
		off := math.Mod(along.Degrees()-c.along+540, 180)
		assert.InDelta(t, 0, min(off, 180-off), 0.01, c.name)
	}
}

// No direction shows a ring narrower than its breadth.
func TestBreadthIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r Ring
		for range rapid.IntRange(3, 12).Draw(t, "corners") {
			r = append(r, Point{Length(rapid.IntRange(-1000, 1000).Draw(t, "x")), Length(rapid.IntRange(-1000, 1000).Draw(t, "y"))})
		}
		got, along := r.Breadth()
		sin, cos := along.Sincos()
		assert.InDelta(t, float64(got), r.across(cos, -sin), 1e-6, "square to its direction")
		for _, d := range directions {
			assert.LessOrEqual(t, float64(got), r.across(d.x, d.y)+1e-6)
		}
	})
}
