package coverage

import "lapwing/geo/plane"

// A Swath is the ground a pass covered in one visit. Its rings all run
// anticlockwise and may cross and overlap: the swath is the ground that at
// least one of them encloses.
type Swath struct {
	Pass     int // index into Map.Passes
	Visit    int // 0 for the first
	Rings    []plane.Ring
	From, To float64 // ticks along the pass
}

// A Silence is the straight swath between two poses where the log is silent
// while working.
type Silence struct {
	Pass  int // index into the passes
	Rings []plane.Ring
}
