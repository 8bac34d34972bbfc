package geo

import (
	"fmt"
	"math"
)

// An Extent is a box of longitudes and latitudes; longitudes run on without a
// jump from the first.
type Extent struct{ West, East, South, North float64 }

// NoExtent holds nothing yet.
func NoExtent() Extent {
	return Extent{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
}

// Add widens the box to a place.
func (x *Extent) Add(p LonLat) {
	if !math.IsInf(x.West, 0) {
		p.Lon = x.West + math.Remainder(p.Lon-x.West, 360)
	}
	x.West, x.East = min(x.West, p.Lon), max(x.East, p.Lon)
	x.South, x.North = min(x.South, p.Lat), max(x.North, p.Lat)
}

// Holds reports whether a place lies in the box.
func (x Extent) Holds(p LonLat) bool {
	return p.Lat >= x.South && p.Lat <= x.North && (p.Lon >= x.West && p.Lon <= x.East ||
		math.Abs(math.Remainder(p.Lon-(x.West+x.East)/2, 360)) <= (x.East-x.West)/2)
}

// Around returns the box with about so many degrees of latitude more on each side.
func (x Extent) Around(degrees float64) Extent {
	wide := degrees / max(0.01, math.Cos((x.South+x.North)/2*math.Pi/180))
	return Extent{West: x.West - wide, East: x.East + wide, South: x.South - degrees, North: x.North + degrees}
}

// Meets reports whether two boxes meet, or come about so many degrees of latitude
// near to one another. A box that holds nothing meets none.
func (x Extent) Meets(y Extent, degrees float64) bool {
	if x.South > x.North || y.South > y.North {
		return false
	}
	poleward := max(math.Abs(x.South), math.Abs(x.North), math.Abs(y.South), math.Abs(y.North))
	wide := degrees / max(0.01, math.Cos(poleward*math.Pi/180))
	apart := math.Abs(math.Remainder((x.West+x.East-y.West-y.East)/2, 360))
	return x.South <= y.North+degrees && y.South <= x.North+degrees &&
		apart <= (x.East-x.West+y.East-y.West)/2+wide
}

// String writes the box for people, to about 10 m.
func (x Extent) String() string {
	return fmt.Sprintf("longitude %.4f to %.4f, latitude %.4f to %.4f", x.West, x.East, x.South, x.North)
}
