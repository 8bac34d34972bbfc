package live_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Ground is painted over a silence of 3 s, or of two and a half usual intervals where that
// is longer, and over no longer one. What is usual the last intervals tell.
func TestPaintedOverASilence(t *testing.T) {
	times := func(n int, seconds float64) []float64 { return slices.Repeat([]float64{seconds}, n) }
	for _, c := range []struct {
		name    string
		before  []float64 // s between fixes
		silence float64   // s, after them
		painted bool
	}{
		{"five fixes a second, 2.5 s", times(50, 0.2), 2.5, true},
		{"five fixes a second, 4.5 s", times(50, 0.2), 4.5, false},
		{"a fix in 4 s, one is missing", times(20, 4), 8, true},
		{"a fix in 4 s, two are missing", times(20, 4), 12, false},
		{"a fix in 4 s, three of the last five came late", append(times(15, 4), 8, 8, 8), 12, false},
		{"a fix in 4 s, after six of these", append(times(30, 1), times(6, 4)...), 4, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newTanker(t, "")
			k.x, k.y = 200, 10
			drive := func(seconds float64) {
				k.now += time.Duration(seconds * float64(time.Second))
				k.y += 2 * seconds
				k.fix(true)
			}
			k.fix(true)
			for _, s := range c.before {
				drive(s)
			}
			_, bars := k.engine.Painted(0, 0)
			require.NotEmpty(t, bars)
			from := k.y
			drive(c.silence)
			for range 8 {
				drive(1)
			}
			begins := false
			_, bars = k.engine.Painted(0, 0)
			land := k.engine.Land().Frame
			for _, b := range bars {
				_, y := k.frame.Metres(land.FromMetres(float64(b.LeftX), float64(b.LeftY)))
				begins = begins || b.Begins && y > from+1
			}
			assert.Equal(t, c.painted, !begins)
		})
	}
}

// A machine stands where its position moves no more than a receiver of ordinary quality
// makes it, and three minutes of that tell that its tanks were filled. One that creeps
// forward, at a fifth of a metre a second, does not stand.
func TestStandsOrCreeps(t *testing.T) {
	for _, c := range []struct {
		name   string
		off    float64 // m that positions are off, either way
		speed  float64 // m/s
		filled bool
	}{
		{"it stands, positions are exact", 0, 0, true},
		{"it stands, positions are 10 cm off", 0.1, 0, true},
		{"it creeps", 0, 0.2, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newTanker(t, "")
			k.stand(2*time.Second, false)
			k.to(15, 110, true)
			r := rand.New(rand.NewPCG(1, 2))
			y := k.y
			for end := k.now + 4*time.Minute; k.now < end; k.now += tankStep {
				y += c.speed * tankStep.Seconds()
				k.x, k.y = 15+c.off*(2*r.Float64()-1), y+c.off*(2*r.Float64()-1)
				k.fix(false)
			}
			left := 4000.0 // of 5000 m², 1000 were worked
			if c.filled {
				left = 5000
			}
			assert.InDelta(t, left, k.engine.Tanks(0)[0].Area, 30)
		})
	}
}
