package mend

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"lapwing/geo/plane"
)

// A line beside a square corner overshoots it and crosses itself:
//
//	   |             |
//	___|__   ->   ___|
//	   |__|
func TestWithoutLoops(t *testing.T) {
	bent := []plane.Point{at(0, 10), at(10, 10), at(20, 10), at(20, 0), at(15, 0), at(15, 20), at(15, 40)}
	assert.Equal(t, []plane.Point{at(0, 10), at(10, 10), at(15, 10), at(15, 20), at(15, 40)}, withoutLoops(bent))

	round := []plane.Point{at(0, 0), at(10, 0), at(20, 0), at(20, 10), at(20, 20), at(10, 20)}
	assert.Equal(t, round, withoutLoops(round), "it turns by a half circle and crosses nothing")
}

// Where two steps of a line cross, it has turned by more than a half circle between
// them: that is why no loop is looked for where it has not.
func TestALoopTurnsByAHalfCircle(t *testing.T) {
	loops, little := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 20).Draw(rt, "places")
		sharp := rapid.Float64Range(0.1, math.Pi).Draw(rt, "sharpest turn")
		line := []plane.Point{{}}
		course := 0.0
		for i := 1; i < n; i++ {
			course += rapid.Float64Range(-sharp, sharp).Draw(rt, "turn")
			far := rapid.Float64Range(1, 30_000).Draw(rt, "way")
			sin, cos := math.Sincos(course)
			line = append(line, line[i-1].Add(plane.Point{X: plane.Round(far * sin), Y: plane.Round(far * cos)}))
		}
		turned := turnedAt(line)
		for i := range n - 1 {
			for j := i + 2; j < n-1; j++ {
				if _, cross := crossing(line[i], line[i+1], line[j], line[j+1]); cross {
					loops++
					assert.Greater(rt, turned[j]-turned[i], math.Pi)
					assert.False(rt, turnsLittle(line, j-i))
				} else if j-i == 2 && turnsLittle(line, j-i) {
					little++
				}
			}
		}
	})
	assert.Positive(t, loops, "no line crossed itself")
	assert.Positive(t, little, "no line turned little")
}
