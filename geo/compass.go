package geo

import (
	"math"

	"lapwing/geo/plane"
)

// compassPoints are the eight points of the compass, clockwise from north.
var compassPoints = [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}

// Compass names the one of the eight points of the compass that is nearest to a
// heading: "north-east".
func Compass(heading plane.Angle) string {
	eighths := int(math.Round(float64(heading) / (math.Pi / 4)))
	return compassPoints[((eighths%8)+8)%8]
}
