package arrange_test

import (
	"fmt"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Two squares of 10 m lap by half in both directions. The caller labels ground
// by how many squares lie over it, and gets a face for each connected piece.
//
//	     +-------+
//	     |   1   |
//	+----+--+    |
//	|    | 2|    |
//	| 1  +--+----+
//	|       |
//	+-------+
func ExampleCut() {
	square := func(at plane.Length) arrange.Layer {
		to := at + 10*plane.Metre
		return arrange.Layer{{{X: at, Y: at}, {X: to, Y: at}, {X: to, Y: to}, {X: at, Y: to}}}
	}
	a := arrange.Cut(
		[]arrange.Layer{square(0), square(5 * plane.Metre)},
		func(under []int) arrange.Label { return arrange.Label(len(under)) })
	for _, f := range a.Faces {
		fmt.Printf("label %d: %v m², %d corners\n", f.Label, f.Shape.Area().SquareMetres(), len(f.Shape.Shell))
	}
	for _, c := range a.Covers {
		fmt.Printf("under %v: %v m²\n", c.Under, c.Area.SquareMetres())
	}
	// Unordered output:
	// label 1: 75 m², 6 corners
	// label 2: 25 m², 4 corners
	// label 1: 75 m², 6 corners
	// under [0]: 75 m²
	// under [0 1]: 25 m²
	// under [1]: 75 m²
}
