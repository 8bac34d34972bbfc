package geo_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// A grid says what the frame says, all over it and on the edges of each.
func TestInverseGrid(t *testing.T) {
	more := append([]geo.LonLat{{Lon: 25, Lat: 79.9}, {Lon: 100, Lat: -79}, {Lon: -170, Lat: 70}, {Lon: 40, Lat: 90}}, centres...)
	for _, centre := range more {
		t.Run(fmt.Sprint(centre), func(t *testing.T) {
			f := geo.NewFrame(centre)
			s := geo.NewInverseGrid(f)
			rng := rand.New(rand.NewPCG(1, 2))
			reach := int64(plane.Reach)
			worst := 0.0
			for i := range 20_000 {
				p := plane.Point{X: plane.Length(rng.Int64N(2*reach+1) - reach), Y: plane.Length(rng.Int64N(2*reach+1) - reach)}
				switch i % 4 {
				case 0: // near the centre, where most fields are
					p.X, p.Y = p.X/50, p.Y/50
				case 1: // on the edge of a tile
					p.X -= p.X % plane.Kilometre
				case 2: // and a tick past it
					p.Y -= p.Y%plane.Kilometre - 1
				}
				want, got := f.ToEarth(p), s.ToEarth(p)
				require.LessOrEqual(t, math.Abs(got.Lon-centre.Lon), 180.0)
				worst = max(worst, math.Abs(math.Remainder(got.Lon-want.Lon, 360)), math.Abs(got.Lat-want.Lat))
			}
			require.Less(t, worst, geo.InverseGridError)
		})
	}
}

func BenchmarkToEarth(b *testing.B) {
	f := geo.NewFrame(geo.LonLat{Lon: -106, Lat: 52})
	s := geo.NewInverseGrid(f)
	for name, to := range map[string]func(plane.Point) geo.LonLat{"frame": f.ToEarth, "grid": s.ToEarth} {
		b.Run(name, func(b *testing.B) {
			at, sum := plane.Point{}, 0.0
			for b.Loop() {
				at.X = (at.X + 12_345_67) % (8 * plane.Kilometre / 10)
				sum += to(at).Lon
			}
			if math.IsNaN(sum) {
				b.Error("no place")
			}
		})
	}
}
