package season

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// frame is where the tests lay their metres on the Earth.
var frame = geo.NewFrame(geo.LonLat{Lon: 23.4, Lat: 56.9})

// box is a rectangle in metres from the frame's centre.
func box(west, south, east, north float64) geo.Polygon {
	at := func(x, y float64) geo.LonLat { return frame.FromMetres(x, y) }
	return geo.Polygon{Shell: []geo.LonLat{at(west, south), at(east, south), at(east, north), at(west, north)}}
}

// squareMetre is how far an area may be off: corners are rounded to 0.1 mm,
// so 100 m of edge move it by 0.01 m² at most.
const squareMetre = 0.02

// 2025:  [1: 0-10]      [2: 40-60]
// 2026:     [1: 5-20]            [2: 55-70] [3: 80-90]
// again:    5-10          55-60
func TestCompare(t *testing.T) {
	field := []geo.Polygon{box(0, 0, 100, 10)}
	earlier := Map{field, []Skip{{1, []geo.Polygon{box(0, 0, 10, 10)}}, {2, []geo.Polygon{box(40, 0, 60, 10)}}}}
	later := Map{field, []Skip{{1, []geo.Polygon{box(5, 0, 20, 8)}}, {2, []geo.Polygon{box(55, 0, 70, 10)}}, {3, []geo.Polygon{box(80, 0, 90, 10)}}}}
	c, err := Compare(earlier, later)
	require.NoError(t, err)
	require.Len(t, c.Returns, 2)
	assert.Equal(t, [2]int{2, 2}, [2]int{c.Returns[0].Earlier, c.Returns[0].Later})
	assert.InDelta(t, 50, c.Returns[0].Area.SquareMetres(), squareMetre)
	assert.Equal(t, [2]int{1, 1}, [2]int{c.Returns[1].Earlier, c.Returns[1].Later})
	assert.InDelta(t, 40, c.Returns[1].Area.SquareMetres(), squareMetre)
	assert.Equal(t, c.Returns[0].Area+c.Returns[1].Area, c.Again)
	assert.InDelta(t, 300, c.EarlierArea.SquareMetres(), squareMetre)
	assert.InDelta(t, 370, c.LaterArea.SquareMetres(), squareMetre)
	assert.InDelta(t, 300.0*370/1000, c.Chance, squareMetre)
	x, y := frame.Metres(c.Returns[0].At)
	assert.InDelta(t, 57.5, x, 0.01)
	assert.InDelta(t, 5, y, 0.01)

	back, err := Compare(later, earlier)
	require.NoError(t, err)
	assert.InDelta(t, c.Again.SquareMetres(), back.Again.SquareMetres(), squareMetre)

	none, err := Compare(Map{Boundary: field}, later)
	require.NoError(t, err)
	assert.Empty(t, none.Returns)
	_, err = Compare(earlier, Map{})
	assert.ErrorContains(t, err, "no ring")
}

func TestSame(t *testing.T) {
	field := []geo.Polygon{box(0, 0, 100, 100)}
	for name, c := range map[string]struct {
		other []geo.Polygon
		want  bool
	}{
		"itself":                    {field, true},
		"driven two metres out":     {[]geo.Polygon{box(-2, -2, 102, 102)}, true},
		"its western half":          {[]geo.Polygon{box(0, 0, 50, 100)}, true},
		"the neighbour":             {[]geo.Polygon{box(98, 0, 200, 100)}, false},
		"the neighbour, corner off": {[]geo.Polygon{box(60, 0, 160, 100)}, false},
		"another county":            {[]geo.Polygon{box(90_000, 0, 90_100, 100)}, false},
		"nothing":                   {nil, false},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, Same(field, c.other))
			assert.Equal(t, c.want, Same(c.other, field))
		})
	}
}
