package projection

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// An edge that is straight on the map stays so: each point of it lies between two
// neighbours of the ring, to a tenth of a millimetre.
func TestRingFollowsTheMap(t *testing.T) {
	for _, number := range []int{32614, 32632, 2265, 2154, 3067, 3035} {
		s, err := EPSG(number)
		require.NoError(t, err)
		x, y, ok := s.FromEarth(geo.LonLat{Lon: s.definition.values[longitude] + 1.7, Lat: 50})
		require.True(t, ok)
		mile := 1609.344 / s.Unit.Size
		for _, closed := range []bool{true, false} {
			corners := []XY{{x, y}, {x + mile, y}, {x + mile, y + mile}, {x, y + mile}}
			if closed {
				corners = append(corners, corners[0])
			}
			ring, from, err := s.Ring(corners)
			require.NoError(t, err)
			require.Len(t, from, len(ring))
			for i, p := range ring {
				q := ring[(i+1)%len(ring)]
				u, v, _ := s.FromEarth(p)
				w, z, _ := s.FromEarth(q)
				middle, _ := s.ToEarth((u+w)/2, (v+z)/2)
				off := math.Hypot((middle.Lon-(p.Lon+q.Lon)/2)*math.Cos(p.Lat*degree), middle.Lat-(p.Lat+q.Lat)/2)
				assert.Less(t, off, 1.5*sameEdge, "%d: edge %d", number, i)
				if from[i] < int32(len(corners)-1) {
					assert.GreaterOrEqual(t, from[(i+1)%len(from)], from[i])
				}
			}
			assert.Less(t, len(ring), 4*edgePoints+5)
			assert.Greater(t, len(ring), 4*8, "a mile is cut into pieces at 50 degrees north")
		}
	}
}

// A few lines of a file do not make millions of corners.
func TestRingOfLongEdges(t *testing.T) {
	s, err := EPSG(32614)
	require.NoError(t, err)
	var corners []XY
	for i := range 200 {
		corners = append(corners, XY{500_000 + 150_000*float64(i%2), 7_000_000 + 10*float64(i)})
	}
	_, _, err = s.Ring(corners)
	assert.EqualError(t, err, "too many long edges, want a field boundary")
	_, _, err = s.Ring([]XY{{500_000, 5_000_000}, {500_000, math.NaN()}, {400_000, 5_000_000}})
	assert.EqualError(t, err, "coordinates 500000, NaN, want coordinates within reach of WGS 84 / UTM zone 14N")
}
