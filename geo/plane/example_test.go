package plane_test

import (
	"fmt"

	"lapwing/geo/plane"
)

// One tick decides on which side of a line of a hundred metres a point lies.
func ExampleSide() {
	a, b := plane.Point{}, plane.Point{X: 100 * plane.Metre, Y: 1 * plane.Metre}
	middle := plane.Point{X: 50 * plane.Metre, Y: 50 * plane.Centimetre}
	tick := plane.Point{Y: plane.Tick}
	fmt.Println(plane.Side(a, b, middle) == plane.Straight)
	fmt.Println(plane.Side(a, b, middle.Add(tick)) == plane.Left)
	fmt.Println(plane.Side(a, b, middle.Sub(tick)) == plane.Right)
	// Output:
	// true
	// true
	// true
}

// A field with a slough in it: the area of the hole is taken out, exactly.
func ExamplePolygon_Area() {
	square := func(from, to plane.Length) plane.Ring {
		return plane.Ring{{X: from, Y: from}, {X: to, Y: from}, {X: to, Y: to}, {X: from, Y: to}}
	}
	field := plane.Polygon{
		Shell: square(0, 100*plane.Metre),
		Holes: []plane.Ring{square(40*plane.Metre, 60*plane.Metre).Reversed()},
	}
	fmt.Println(field.Area().SquareMetres(), "m²")
	fmt.Println(field.Area() == field.Shell.Area()+field.Holes[0].Area())
	// Output:
	// 9600 m²
	// true
}

// Directions count clockwise from north, and turns are positive to the right.
func ExampleAngle_To() {
	east := plane.Direction(1, 0)
	northWest := plane.Degrees(315)
	fmt.Printf("heading %.0f°\n", east.Degrees())
	fmt.Printf("turn by %.0f°\n", east.To(northWest).Degrees())
	// Output:
	// heading 90°
	// turn by -135°
}
