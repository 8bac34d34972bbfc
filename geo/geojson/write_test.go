package geojson

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// valid has simplefeatures judge a geometry as a reader of the file sees it,
// in float64, and returns it. Polygons must be right-handed (RFC 7946 section
// 3.1.6).
func valid(t testing.TB, raw []byte) geom.Geometry {
	t.Helper()
	g, err := geom.UnmarshalGeoJSON(raw)
	require.NoError(t, err)
	require.False(t, g.IsEmpty())
	for _, p := range polygonsOf(g) {
		require.True(t, p.IsCCW(), "not right-handed: %s", raw)
	}
	return g
}

func polygonsOf(g geom.Geometry) []geom.Polygon {
	if p, ok := g.AsPolygon(); ok {
		return []geom.Polygon{p}
	}
	var out []geom.Polygon
	if m, ok := g.AsMultiPolygon(); ok {
		for i := range m.NumPolygons() {
			out = append(out, m.PolygonN(i))
		}
	}
	return out
}

func TestDegreesKeepNineDecimals(t *testing.T) {
	for want, v := range map[string]plane.Length{
		"0": 0, "-0.000000001": -1, "180": nanoHalf, "-98.413": -98413000000, "54.03120001": 54031200010,
	} {
		require.Equal(t, want, string(appendDegrees(nil, v)))
	}
}

// An edge cut into pieces lies within maxBow of the one that is straight on
// the plane, wherever on the Earth and in whichever direction it runs.
func TestEdgesStayWithinTheBow(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	for range 4000 {
		centre := geo.LonLat{Lon: rng.Float64()*360 - 180, Lat: rng.Float64()*170 - 85}
		f := newLonLatFrame(geo.NewFrame(centre))
		reach := []float64{1e7, 1e8, float64(plane.Reach)}[rng.IntN(3)]
		point := func() plane.Point {
			return plane.Point{X: plane.Length((rng.Float64()*2 - 1) * reach), Y: plane.Length((rng.Float64()*2 - 1) * reach)}
		}
		a, b := point(), point()
		if length := float64(a.Distance(b)); length > 3e7 { // 3 km
			b = plane.Point{X: a.X + plane.Length(float64(b.X-a.X)*3e7/length), Y: a.Y + plane.Length(float64(b.Y-a.Y)*3e7/length)}
		}
		line := f.line([]plane.Point{a, b})
		for i := 1; i < len(line); i++ {
			for _, k := range []float64{0.25, 0.5, 0.75} {
				p, q := line[i-1], line[i]
				mid := geo.LonLat{
					Lon: (float64(p.X) + k*float64(q.X-p.X)) / float64(nanoDegree),
					Lat: (float64(p.Y) + k*float64(q.Y-p.Y)) / float64(nanoDegree),
				}
				east, north := f.Metres(mid)
				at := plane.Point{X: plane.Metres(east), Y: plane.Metres(north)}
				// 2 ticks: rounding to the ninth decimal, and to the grid here.
				require.LessOrEqual(t, offSegment(at, a, b), maxBow+2, "centre %v, %v to %v", centre, a, b)
			}
		}
	}
}

// ribbon is a thin closed strip along a wandering line, its sides a few ticks
// apart: what snapping leaves between two swaths.
func ribbon(rng *rand.Rand) plane.Ring {
	n := 3 + rng.IntN(20)
	x, y := plane.Length(rng.IntN(1e7)), plane.Length(rng.IntN(1e7))
	dx, dy := rng.IntN(4000)-2000, rng.IntN(4000)-2000
	var left, right plane.Ring
	for range n {
		left = append(left, plane.Point{X: x, Y: y})
		right = append(right, plane.Point{X: x + plane.Length(rng.IntN(5)), Y: y - plane.Length(rng.IntN(5))})
		x += plane.Length(dx + rng.IntN(9) - 4)
		y += plane.Length(dy + rng.IntN(9) - 4)
	}
	return append(left, right.Reversed()...)
}

// Random slivers stay valid after rounding, lose no more area than half a unit
// along their edges, and those that cannot be shown are counted.
func TestSliversStayValid(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	tried, parted, lost := 0, 0, 0
	for tried < 3000 {
		ring := ribbon(rng)
		if ring.Area() < 0 {
			ring = ring.Reversed()
		}
		if !simple(ring) {
			continue
		}
		tried++
		f := newLonLatFrame(geo.NewFrame(geo.LonLat{Lon: rng.Float64()*359 - 179.5, Lat: rng.Float64()*140 - 70}))
		g := f.geometry(plane.Polygon{Shell: ring})
		var got plane.Area
		if len(g.text) == 0 {
			require.Positive(t, g.lost)
			lost++
		} else {
			shape := valid(t, []byte(`{"type":`+string(g.text)+`}`))
			if len(polygonsOf(shape)) > 1 {
				parted++
			}
			got = areaOn(f, shape)
		}
		// Each bending moves a corner by half a unit of 1.2 ticks at
		// most, and the sides of a ribbon are its whole length; an Area counts
		// half square ticks.
		require.InDelta(t, float64(ring.Area()), float64(got), 2*3*float64(ring.Length()))
	}
	require.Positive(t, parted, "the test must meet rings that break")
	t.Logf("%d slivers: %d in parts, %d lost", tried, parted, lost)
}

func simple(r plane.Ring) bool {
	coords := make([]float64, 0, 2*len(r)+2)
	for _, p := range append(r, r[0]) {
		coords = append(coords, float64(p.X), float64(p.Y))
	}
	line := geom.NewLineString(geom.NewSequence(coords, geom.DimXY))
	return geom.NewPolygon([]geom.LineString{line}).Validate() == nil
}

// areaOn measures a geometry back on the plane.
func areaOn(f *lonLatFrame, g geom.Geometry) plane.Area {
	var sum plane.Area
	for _, p := range polygonsOf(g) {
		for _, ring := range p.DumpRings() {
			var r plane.Ring
			seq := ring.Coordinates()
			for i := range seq.Length() - 1 {
				xy := seq.GetXY(i)
				at, _ := f.ToPlane(geo.LonLat{Lon: xy.X, Lat: xy.Y})
				r = append(r, at)
			}
			sum += r.Area()
		}
	}
	return sum
}

// offSegment is the distance from p to the segment from a to b, in ticks.
func offSegment(p, a, b plane.Point) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	px, py := float64(p.X-a.X), float64(p.Y-a.Y)
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return math.Hypot(px, py)
	}
	t := max(0, min(1, (px*dx+py*dy)/length2))
	return math.Hypot(px-t*dx, py-t*dy)
}
