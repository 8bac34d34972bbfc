package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// opened gives the poses of p the states in which the sections that open
// reports are open, and a table of them.
func opened(m *machine.Machine, p *work.Pass, open func(pose, section int) bool) {
	states := []machine.State{nil}
	for i := range p.Poses {
		state := machine.State{}
		for k, s := range m.Implement.Sections {
			switch last := len(state) - 1; {
			case !open(i, k):
			case last >= 0 && state[last].Right == s.Left:
				state[last].Right = s.Right
			default:
				state = append(state, s)
			}
		}
		if i == 0 || !slices.Equal(state, states[len(states)-1]) {
			states = append(states, state)
		}
		p.Poses[i].State = machine.StateID(len(states) - 1)
	}
	p.States = states
}

// Sections of a metre that work (#) or not (.) along a straight pass, a metre
// a line, are outlined with no line where two of them meet.
func TestOutline(t *testing.T) {
	for _, tc := range []struct {
		name           string
		drawn          []string
		rings, corners int
	}{
		{"whole", []string{"###", "###"}, 1, 4},
		{"one alone", []string{"...", ".#.", "..."}, 1, 4},
		{"none", []string{"...", "..."}, 0, 0},
		{"apart", []string{"#.#", "#.#"}, 2, 8},
		{"hole", []string{"###", "#.#", "###"}, 2, 8},
		{"bay", []string{"###", "##.", "###"}, 1, 8},
		{"one goes on", []string{".#.", "###"}, 1, 8},
		{"one hands over to the next", []string{".#", "#."}, 2, 8},
		{"to the next and back", []string{"#.", ".#", "#."}, 3, 12},
		{"stairs", []string{"..##", ".##.", "##.."}, 1, 12},
		{"arch", []string{"###", "#.#"}, 1, 8},
		{"chess", []string{"#.#", ".#.", "#.#"}, 5, 20},
		{"ring in a ring", []string{"#####", "#...#", "#.#.#", "#...#", "#####"}, 3, 12},
	} {
		t.Run(tc.name, func(t *testing.T) {
			n := len(tc.drawn[0])
			land, machines := bench(plane.Length(n)*plane.Metre, n)
			var p work.Pass
			for i := range len(tc.drawn) + 1 {
				p.Poses = append(p.Poses, at(0, float64(i), 0))
			}
			p = pass(p.Poses...)
			want := 0
			opened(&machines[0], &p, func(pose, section int) bool {
				return pose < len(tc.drawn) && tc.drawn[pose][section] == '#'
			})
			for _, line := range tc.drawn {
				for _, c := range line {
					if c == '#' {
						want++
					}
				}
			}
			ground := sweep.Sweep(machines, []work.Pass{p})
			rings, corners, swept := 0, 0, plane.Area(0)
			for _, s := range ground.Swaths {
				rings += len(s.Rings)
				for _, r := range s.Rings {
					corners += len(r)
					swept += r.Area()
				}
				assert.InDelta(t, want, s.Dose.Ground[sweep.OnTarget], 1e-9)
			}
			assert.Equal(t, tc.rings, rings, "rings")
			assert.Equal(t, tc.corners, corners, "corners")
			assert.Equal(t, plane.Area(want)*plane.SquareMetre, swept)
			m := laid(t, land, machines, ground, field.Options{})
			closes(t, m)
			assert.Equal(t, plane.Area(want)*plane.SquareMetre, m.Totals.Covered)
		})
	}
}

// However the sections open and shut, and however the bar winds, its swath is
// within [sweep.Thin] of what every part of it swept from each pose to the
// next.
func TestOutlineAgainstQuads(t *testing.T) {
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 7))
		n := 1 + r.IntN(12)
		_, machines := bench(plane.Metres(3+15*r.Float64()), n)
		var p work.Pass
		x, y, heading, curve := 0.0, 0.0, 360*r.Float64(), 0.0
		for range 100 + r.IntN(400) {
			p.Poses = append(p.Poses, at(x, y, heading))
			if r.IntN(20) == 0 {
				curve = 12 * r.NormFloat64() // degrees a metre: a radius of 5 m
			}
			step := 0.2 + 0.6*r.Float64()
			heading += curve * step
			sin, cos := math.Sincos(heading * math.Pi / 180)
			x, y = x+step*sin, y+step*cos
		}
		p = pass(p.Poses...)
		often := 2 + r.IntN(40)
		open := make([]bool, n)
		now := 0
		opened(&machines[0], &p, func(pose, section int) bool {
			for now <= pose {
				for k := range open {
					if r.IntN(often) == 0 {
						open[k] = !open[k]
					}
				}
				now++
			}
			return open[section]
		})
		var swept arrange.Layer
		length := 0.0
		for _, s := range sweep.Sweep(machines, []work.Pass{p}).Swaths {
			swept = append(swept, s.Rings...)
		}
		for _, ring := range swept {
			length += float64(ring.Length())
		}
		require.NotEmpty(t, swept)
		only := plane.Area(0)
		for _, c := range arrange.Areas([]arrange.Layer{swept, sweptQuads(&p, machines)}) {
			if len(c.Under) == 1 {
				only += c.Area
			}
		}
		assert.Less(t, sq(only), length*plane.Tick.Metres()*sweep.Thin.Metres(), fmt.Sprint("seed ", seed))
	}
}

// sweptQuads returns what the open parts of the bar swept from each pose to
// the next, each part by itself: the slow way to the ground of a pass.
func sweptQuads(p *work.Pass, machines []machine.Machine) []plane.Ring {
	bars := work.BarsOf(p.Poses, nil)
	var out []plane.Ring
	for i := range len(bars) - 1 {
		for _, part := range machines[p.Machine].Implement.Open(p.States, p.Poses[i].State) {
			out = stance.Strip(out, bars[i:i+2], part)
		}
	}
	return out
}
