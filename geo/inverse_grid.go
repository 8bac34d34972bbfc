package geo

import (
	"math"
	"sync/atomic"

	"lapwing/geo/plane"
)

// An InverseGrid finds the longitude and latitude of many places of a frame in a
// tenth of the time that [Frame.ToEarth] takes. Its tiles divide the plane into
// squares; over each, two polynomials stand in for the projection.
//
// It may be used by several goroutines at once.
type InverseGrid struct {
	frame Frame
	of    [perSide * perSide]atomic.Pointer[tile] // drawn when first asked for
}

const (
	tileSide = plane.Kilometre
	perSide  = int(2*plane.Reach/tileSide) + 1 // the last for places on the very edge
)

// InverseGridError is how far, in degrees, [InverseGrid.ToEarth] may lie from what
// [Frame.ToEarth] says. The polynomials are exact up to the third power of the
// distance d from a tile's middle over the radius of the parallel: what is
// left out is under d⁴ / 8 of that, 5e-15 degrees at 70 degrees of latitude and
// 1e-13 at 80. The rest is room for the last digits of a float64, which have
// 3e-14 at 180 degrees, in the sixteen places a tile is drawn by.
const InverseGridError = 1e-12

// steepest is the latitude up to which tiles are drawn: nearer a pole the
// longitude bends too much.
const steepest = 80

// A tile is one square: polynomials in u and v, which run from -1 to 1 over it
// eastward and northward.
type tile struct {
	lon, lat bicubic
	bent     bool // too near a pole
}

// A bicubic is Σ p[i][j] uⁱ vʲ.
type bicubic [4][4]float64

// NewInverseGrid returns the grid of a frame.
func NewInverseGrid(f Frame) *InverseGrid { return &InverseGrid{frame: f} }

// ToEarth returns the place of p within [InverseGridError]. Its longitude is within
// 180 degrees of the frame's centre, not of Greenwich.
func (s *InverseGrid) ToEarth(p plane.Point) LonLat {
	x, y := p.X+plane.Reach, p.Y+plane.Reach
	if x < 0 || y < 0 || x > 2*plane.Reach || y > 2*plane.Reach {
		return s.exact(p.X.Metres(), p.Y.Metres())
	}
	column, row := x/tileSide, y/tileSide
	of := &s.of[int(row)*perSide+int(column)]
	drawn := of.Load()
	if drawn == nil {
		drawn = s.draw(column, row)
		of.Store(drawn) // another's would be the same
	}
	if drawn.bent {
		return s.exact(p.X.Metres(), p.Y.Metres())
	}
	const half = float64(tileSide) / 2
	u, v := float64(x-column*tileSide)/half-1, float64(y-row*tileSide)/half-1
	return LonLat{Lon: drawn.lon.at(u, v), Lat: drawn.lat.at(u, v)}
}

// exact is [Frame.FromMetres] with the longitude near the centre's.
func (s *InverseGrid) exact(east, north float64) LonLat {
	at := s.frame.FromMetres(east, north)
	at.Lon = s.frame.Centre.Lon + math.Remainder(at.Lon-s.frame.Centre.Lon, 360)
	return at
}

// draw finds the polynomials of a tile: those that pass through the places at
// Chebyshev's points, between which a cubic errs least.
func (s *InverseGrid) draw(column, row plane.Length) *tile {
	var drawn tile
	half := tileSide.Metres() / 2
	middleX := ((column*tileSide - plane.Reach).Metres() + half)
	middleY := ((row*tileSide - plane.Reach).Metres() + half)
	middle := s.exact(middleX, middleY)
	drawn.bent = math.Abs(middle.Lat) > steepest
	var lon, lat [4][4]float64 // less the middle's, so that no digits are lost
	for i, u := range chebyshev {
		for j, v := range chebyshev {
			at := s.exact(middleX+u*half, middleY+v*half)
			lon[i][j], lat[i][j] = at.Lon-middle.Lon, at.Lat-middle.Lat
		}
	}
	drawn.lon, drawn.lat = through(lon), through(lat)
	drawn.lon[0][0] += middle.Lon
	drawn.lat[0][0] += middle.Lat
	return &drawn
}

// chebyshev are the zeros of the fourth Chebyshev polynomial, cos((2k+1)π/8).
var chebyshev = [4]float64{math.Cos(math.Pi / 8), math.Cos(3 * math.Pi / 8), math.Cos(5 * math.Pi / 8), math.Cos(7 * math.Pi / 8)}

// through returns the bicubic that has the given values at Chebyshev's points.
func through(values [4][4]float64) bicubic {
	var rows, out bicubic
	for i := range values {
		rows[i] = cubic(values[i])
	}
	for j := range 4 {
		column := cubic([4]float64{rows[0][j], rows[1][j], rows[2][j], rows[3][j]})
		for i := range 4 {
			out[i][j] = column[i]
		}
	}
	return out
}

// cubic returns the coefficients of the cubic that has the given values at
// Chebyshev's points: first those of the Chebyshev polynomials 1, t, 2t²-1 and
// 4t³-3t, which are orthogonal over the points, then those of the powers.
func cubic(values [4]float64) [4]float64 {
	var c [4]float64
	for k, t := range chebyshev {
		for j, of := range [4]float64{0.5, t, 2*t*t - 1, 4*t*t*t - 3*t} {
			c[j] += values[k] * of / 2
		}
	}
	return [4]float64{c[0] - c[2], c[1] - 3*c[3], 2 * c[2], 4 * c[3]}
}

func (p *bicubic) at(u, v float64) float64 {
	var row [4]float64
	for i := range p {
		row[i] = p[i][0] + v*(p[i][1]+v*(p[i][2]+v*p[i][3]))
	}
	return row[0] + u*(row[1]+u*(row[2]+u*row[3]))
}
