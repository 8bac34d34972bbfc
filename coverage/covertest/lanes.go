package covertest

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// Lanes makes a field and its passes from one line:
//
//	Lanes("0-5 6-11", 100)         |=====| |=====|
//	                               0     5 6    11
//
// Each lane is one pass, from one place to another in metres east of the
// origin, length metres long, driven north and south in turn at 2 m/s with
// two fixes a second and the bar under the antenna. A letter before a lane
// names its machine, else it is a: "a0-5 b4-12". The lanes of one machine
// are of one width. The field reaches from the first lane's side to the
// farthest, or from and to where a part in front says so: "0-12: 0-5 6-11".
// A line that is none of these panics: it is a mistake in a test.
func Lanes(line string, length float64) *Scene {
	var field *chord
	if before, after, ok := strings.Cut(line, ":"); ok {
		c := lane(before)
		field, line = &c, after
	}
	var names []string
	lanes := map[string][]chord{}
	all := chord{math.Inf(1), math.Inf(-1)}
	for _, f := range strings.Fields(line) {
		name := "a"
		if f[0] >= 'a' && f[0] <= 'z' {
			name, f = f[:1], f[1:]
		}
		c := lane(f)
		if lanes[name] == nil {
			names = append(names, name)
		} else if w := lanes[name][0]; math.Abs(w.to-w.from-c.to+c.from) > 1e-9 {
			panic("lanes: " + line + ": the lanes of machine " + name + " differ in width")
		}
		lanes[name] = append(lanes[name], c)
		all = chord{min(all.from, c.from), max(all.to, c.to)}
	}
	if field != nil {
		all = *field
	}
	s := NewScene(line, Rectangle(all.from, 0, all.to, length))
	for i, name := range names {
		width := plane.Metres(lanes[name][0].to - lanes[name][0].from)
		s.Drive(Rig{
			Name:      name,
			Implement: machine.Implement{Name: name, Width: width, Sections: machine.EqualSections(width, 1)},
			Path:      toAndFro(lanes[name], length),
			Begin:     defaultBegin.AddDate(0, 0, i),
			Speed:     2,
			Rate:      2,
			Heading:   true,
		})
	}
	return s
}

func toAndFro(lanes []chord, length float64) *Path {
	p := &Path{}
	for i, l := range lanes {
		x := (l.from + l.to) / 2
		start := Stance{XY{x, 0}, 0}
		if i%2 == 1 {
			start = Stance{XY{x, length}, math.Pi}
		}
		p.Jump(start).On().Straight(length).Off().Stand(60)
	}
	return p
}

func lane(s string) chord {
	from, to, ok := strings.Cut(strings.TrimSpace(s), "-")
	a, err1 := strconv.ParseFloat(from, 64)
	b, err2 := strconv.ParseFloat(to, 64)
	if !ok || err1 != nil || err2 != nil || a >= b {
		panic(fmt.Sprintf("lanes: found %q, want two places such as 0-5", s))
	}
	return chord{a, b}
}
