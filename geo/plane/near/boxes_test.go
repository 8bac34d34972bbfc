package near_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// meeting lists the numbers of the boxes that meet another, from the first on.
func meeting(n *near.Boxes, b plane.Box) []int { return slices.Collect(n.Meeting(b)) }

// 10 ticks a column and a line:
//
//	40  +---+
//	30  | 1 |   3
//	20  +---+---+
//	10      | 0 |
//	 0  2   +---+
//	    0   10  20
func TestMeetingDrawn(t *testing.T) {
	p := func(x, y plane.Length) plane.Point { return plane.Point{X: x, Y: y} }
	boxes := []plane.Box{{Min: p(10, 0), Max: p(20, 20)}, {Min: p(0, 20), Max: p(10, 40)}, {Min: p(0, 0), Max: p(0, 0)}, {Min: p(20, 30), Max: p(20, 30)}}
	for _, others := range []int{0, 500} {
		all := slices.Clone(boxes)
		for k := range others { // so many, far away, that there are two levels of boxes
			at := p(1e6+1000*plane.Length(k), -1e6)
			all = append(all, plane.Box{Min: at, Max: at.Add(p(500, 500))})
		}
		n := near.NewBoxes(all)
		for _, c := range []struct {
			name string
			b    plane.Box
			want []int
		}{
			{"inside one", plane.Box{Min: p(12, 5), Max: p(13, 6)}, []int{0}},
			{"the corner that two share", plane.Box{Min: p(10, 20), Max: p(10, 20)}, []int{0, 1}},
			{"a tick away from both", plane.Box{Min: p(11, 21), Max: p(12, 22)}, nil},
			{"touching from the side", plane.Box{Min: p(20, 10), Max: p(50, 12)}, []int{0}},
			{"around the one without extent", plane.Box{Min: p(-5, -5), Max: p(5, 5)}, []int{2}},
			{"around all four", plane.Box{Min: p(-5, -5), Max: p(25, 45)}, []int{0, 1, 2, 3}},
			{"nowhere", plane.Empty(), nil},
		} {
			assert.Equal(t, c.want, meeting(&n, c.b), c.name)
		}
	}
}

// What the index finds is what going through all boxes one by one finds; and
// whoever has seen enough is asked no more.
func TestBoxesAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	found := 0
	for range 60 {
		box := func(most int) plane.Box {
			x, y := plane.Length(rng.IntN(2e6)-1e6), plane.Length(rng.IntN(2e6)-1e6)
			return plane.Box{Min: plane.Point{X: x, Y: y}, Max: plane.Point{X: x + plane.Length(rng.IntN(most)), Y: y + plane.Length(rng.IntN(most))}}
		}
		size := 1 + rng.IntN(1+rng.IntN(1e6))
		boxes := make([]plane.Box, rng.IntN(900))
		for i := range boxes {
			boxes[i] = box(size)
		}
		n := near.NewBoxes(boxes)
		for range 100 {
			on := box(1 + rng.IntN(1e6))
			var want []int
			for i, b := range boxes {
				if b.Meets(on) {
					want = append(want, i)
				}
			}
			assert.Equal(t, want, meeting(&n, on))
			found += len(want)
			from, to := rng.IntN(len(boxes)+1), rng.IntN(len(boxes)+1)
			var back []int
			for i := to - 1; i >= from; i-- {
				if boxes[i].Meets(on) {
					back = append(back, i)
				}
			}
			assert.Equal(t, back, slices.Collect(n.Backward(on, from, to)))
			if len(want) > 0 {
				asked, enough := 0, 1+rng.IntN(len(want))
				for range n.Meeting(on) {
					if asked++; asked == enough {
						break
					}
				}
				for i := range n.Backward(on, 0, len(boxes)) {
					assert.Equal(t, want[len(want)-1], i)
					break
				}
				assert.Equal(t, enough, asked)
			}
		}
	}
	assert.Greater(t, found, 1000)
}

func TestNoBoxes(t *testing.T) {
	everywhere := plane.Box{Min: plane.Point{X: -plane.Reach, Y: -plane.Reach}, Max: plane.Point{X: plane.Reach, Y: plane.Reach}}
	for _, n := range []near.Boxes{{}, near.NewBoxes(nil)} {
		assert.Empty(t, meeting(&n, everywhere))
		assert.Empty(t, slices.Collect(n.Backward(everywhere, 0, 0)))
	}
}
