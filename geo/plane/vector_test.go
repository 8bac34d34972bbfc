package plane_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

func TestVectorDot(t *testing.T) {
	east, slant := plane.Vector{X: 1}, plane.Vector{X: 3, Y: 4}
	assert.Equal(t, 3.0, slant.Dot(east))
	assert.Equal(t, 25.0, slant.Dot(slant), "a right triangle of 3, 4 and 5")
	assert.Zero(t, plane.Vector{Y: 7}.Dot(east))
}

// The box is around all shells, whatever holes say; of no polygon it is empty.
func TestBoundsOfPolygons(t *testing.T) {
	square := plane.Ring{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}, {X: 0, Y: 10}}
	far := plane.Ring{{X: -5, Y: 20}, {X: -4, Y: 20}, {X: -4, Y: 21}}
	box := plane.Bounds([]plane.Polygon{{Shell: square, Holes: []plane.Ring{{{X: 50, Y: 50}}}}, {Shell: far}})
	assert.Equal(t, plane.Box{Min: plane.Point{X: -5}, Max: plane.Point{X: 10, Y: 21}}, box)
	assert.Equal(t, plane.Empty(), plane.Bounds(nil))
}
