package cover

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// seam is how far apart, in metres, parts of the bar that are one may lie. Judgement;
// no test holds it closely.
const seam = 0.05

// states are the parts of the bar that work on the spans of runs, each distinct one
// once: to a centimetre, or coarser where there are too many.
func (c *composer) states(runs []run) (distinct []machine.State, codes [][]uint32) {
	own := make([]machine.State, len(c.steps))
	for k := range own {
		own[k] = c.own(k)
	}
	for grain := plane.Metre / 100; ; grain *= 4 {
		distinct, codes = nil, make([][]uint32, len(runs))
		known := map[string]uint32{}
		for i := range runs {
			for j := range runs[i].spans {
				s := &runs[i].spans[j]
				if j > 0 && s.step == runs[i].spans[j-1].step && len(s.beside)+len(runs[i].spans[j-1].beside) == 0 {
					codes[i] = append(codes[i], codes[i][j-1])
					continue
				}
				state := joinParts(slices.Concat(own[s.step], s.beside), grain)
				key := fmt.Sprint(state)
				code, ok := known[key]
				if !ok {
					code = uint32(len(distinct))
					known[key] = code
					distinct = append(distinct, state)
				}
				codes[i] = append(codes[i], code)
			}
		}
		if len(distinct) < math.MaxUint16 || grain > plane.Metre {
			return distinct, codes
		}
	}
}

// own is the part of the bar that the cells of a step take.
func (c *composer) own(k int) (out machine.State) {
	s := &c.steps[k]
	along := c.across(s)
	for _, i := range s.cells {
		p := &c.cells[i]
		n := len(p.left) - 1
		at := (p.trail().sub(between(c.left(s, 0), c.right(s, 0), 0.5)).dot(along)+p.lead().sub(between(c.left(s, 1), c.right(s, 1), 0.5)).dot(along))/2 + s.middle
		half := (p.right[0].sub(p.left[0]).length() + p.right[n].sub(p.left[n]).length()) / 4
		out = append(out, machine.Section{Left: plane.Metres(at - half), Right: plane.Metres(at + half)})
	}
	return out
}

// joinParts joins parts of the bar that touch, each end rounded to a grain.
func joinParts(parts machine.State, grain plane.Length) machine.State {
	round := func(l plane.Length) plane.Length { return plane.Round(float64(l)/float64(grain)) * grain }
	slices.SortFunc(parts, func(a, b machine.Section) int { return cmp.Compare(a.Left, b.Left) })
	var out machine.State
	for _, p := range parts {
		left, right := round(p.Left), round(p.Right)
		switch n := len(out) - 1; {
		case n >= 0 && left <= out[n].Right+plane.Metres(seam):
			out[n].Right = max(out[n].Right, right)
		case right > left:
			out = append(out, machine.Section{Left: left, Right: right})
		}
	}
	return out
}
