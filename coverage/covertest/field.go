package covertest

import (
	"math"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// Feet in metres, for fields laid out by the mile.
const foot = 0.3048

// QuarterSection is 2,640 ft square, worked by a 16.5 m bar at 2.5 m/s: two
// headland rounds, lifted at the corners, then north and south with a lap of
// 0.1 m and the product off in the turns: 8 + 46 passes, and at 10 Hz some
// 170,000 fixes. Noise is the sigma of white noise in metres.
func QuarterSection(hz, noise float64, seed uint64) *Scene {
	return square("quarter section", 2640*foot, hz, noise, seed)
}

// Section is four times the ground of [QuarterSection], a mile square, worked
// the same way: 8 + 95 passes, and at 10 Hz some 660,000 fixes.
func Section(hz, noise float64, seed uint64) *Scene {
	return square("section", 5280*foot, hz, noise, seed)
}

func square(name string, side, hz, noise float64, seed uint64) *Scene {
	const width = 16.5
	s := NewScene(name, Rectangle(-side/2, -side/2, side/2, side/2))
	ground := Rectangle(-side/2, -side/2, side/2, side/2)
	path := NewPath(9).SquareRound(ground, width, 10)
	path.SquareRound(ground.Inset(width), width, 10)
	path.Lines(Lines{Ground: ground.Inset(2 * width), Width: width, Spacing: width - 0.1, RunIn: 5})
	return s.Drive(Rig{
		Name: "drill", Implement: Mounted(width, 3, 6), Path: path,
		Speed: 2.5, Rate: hz, Heading: true, Seed: seed, Defects: []Defect{White(noise)},
	})
}

// Mounted returns a bar of a width in metres that is rigid with its machine,
// so far behind the antenna, in equal sections.
func Mounted(width, behind float64, sections int) machine.Implement {
	w := plane.Metres(width)
	return machine.Implement{
		Name: "mounted bar", Width: w, Sections: machine.EqualSections(w, sections),
		AntennaToHitch: plane.Metres(behind),
	}
}

// Towed returns a bar of a width in metres that follows a hitch pin so far
// behind the antenna, itself so far behind the pin, in equal sections.
func Towed(width, pin, bar float64, sections int) machine.Implement {
	imp := Mounted(width, pin, sections)
	imp.Name, imp.Towed, imp.HitchToBar = "towed bar", true, plane.Metres(bar)
	return imp
}

// Small is a field of 200 × 150 m with a round hole of twelve corners in it,
// worked by a 6 m bar at 2 m/s and 5 Hz: a headland round with corners of 7 m
// radius, a round about the hole, and passes that go round it, lifted.
func Small(noise float64, seed uint64) *Scene {
	const width = 6
	ground := Rectangle(-100, -75, 100, 75)
	hole := Disc(XY{20, 10}, 11, 12)
	s := NewScene("small", ground, hole)
	path := NewPath(5).Round(ground.Inset(width/2), 7, 2).HoleRound(hole, width/2)
	path.Lines(Lines{
		Ground: ground.Inset(width), Holes: []Shape{hole.Inset(-width)},
		Width: width, Spacing: width - 0.1, Ends: LastCorner, RunIn: 4,
	})
	return s.Drive(Rig{
		Name: "drill", Implement: Mounted(width, 2, 4), Path: path,
		Speed: 2, Rate: 5, Heading: true, Seed: seed, Defects: []Defect{White(noise)},
	})
}

// Disc returns a regular polygon about a place.
func Disc(at XY, radius float64, corners int) Shape {
	out := make(Shape, corners)
	for i := range out {
		out[i] = at.plus(radius, ahead(-2*math.Pi*float64(i)/float64(corners)))
	}
	return out
}
