package coverage

import (
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Pose is the bar's own stance at one time.
type Pose struct {
	Time    geo.Instant
	Bar     plane.Point // the bar's centre
	Heading float64     // of the bar, radians clockwise from north
	State   StateID     // the sections that work from here to the next pose
	Along   float64     // ticks travelled by the bar's centre since the pass began
}
