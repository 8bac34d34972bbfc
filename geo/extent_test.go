package geo

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A box across the antimeridian is as narrow as anywhere else.
func TestExtent(t *testing.T) {
	x := NoExtent()
	assert.False(t, x.Holds(LonLat{}))
	for _, p := range []LonLat{{Lon: 179.9, Lat: -17}, {Lon: -179.9, Lat: -16}, {Lon: 179.8, Lat: -16.5}} {
		x.Add(p)
	}
	assert.InDelta(t, 179.8, x.West, 1e-9)
	assert.InDelta(t, 180.1, x.East, 1e-9)
	assert.Equal(t, "longitude 179.8000 to 180.1000, latitude -17.0000 to -16.0000", x.String())
	for _, c := range []struct {
		at          LonLat
		holds, near bool
	}{
		{LonLat{Lon: 180, Lat: -16.5}, true, true},
		{LonLat{Lon: -180, Lat: -16.5}, true, true},
		{LonLat{Lon: -179.95, Lat: -16.5}, true, true},
		{LonLat{Lon: -179.7, Lat: -16.5}, false, true},
		{LonLat{Lon: 180, Lat: -15.6}, false, true},
		{LonLat{Lon: 180, Lat: -15.4}, false, false},
		{LonLat{Lon: 0, Lat: -16.5}, false, false},
	} {
		assert.Equal(t, c.holds, x.Holds(c.at), "%v", c.at)
		assert.Equal(t, c.near, x.Around(0.5).Holds(c.at), "%v", c.at)
	}
}

func TestQuotedAndListed(t *testing.T) {
	assert.Empty(t, Quoted(nil))
	assert.Equal(t, `"a"`, Quoted([]string{"a"}))
	assert.Equal(t, `"a", "b" and "c"`, Quoted([]string{"a", "b", "c"}))
	assert.Equal(t, "a, b or c", Listed([]string{"a", "b", "c"}, "or"))
	many := make([]string, 12)
	assert.Equal(t, `"", "", "", "", "", "", "", "", "", "" and 2 more`, Quoted(many))
}

func TestExtentMeets(t *testing.T) {
	box := func(west, east, south, north float64) Extent {
		x := NoExtent()
		x.Add(LonLat{Lon: west, Lat: south})
		x.Add(LonLat{Lon: east, Lat: north})
		return x
	}
	home := box(10, 11, 50, 51)
	for _, c := range []struct {
		name    string
		other   Extent
		degrees float64
		meets   bool
	}{
		{"the same", home, 0, true},
		{"a corner in it", box(10.9, 12, 50.9, 52), 0, true},
		{"touching", box(11, 12, 50, 51), 0, true},
		{"east of it", box(11.1, 12, 50, 51), 0, false},
		{"east of it, near by", box(11.1, 12, 50, 51), 0.1, true},
		{"north of it", box(10, 11, 51.2, 52), 0.1, false},
		{"north of it, near by", box(10, 11, 51.2, 52), 0.2, true},
		{"around it", box(0, 20, 40, 60), 0, true},
		{"nothing", NoExtent(), 10, false},
	} {
		assert.Equal(t, c.meets, home.Meets(c.other, c.degrees), c.name)
		assert.Equal(t, c.meets, c.other.Meets(home, c.degrees), c.name)
	}
	// Either side of 180 degrees, a tenth of a degree apart.
	west, east := box(179, 179.95, 0, 1), box(-179.95, -179, 0, 1)
	assert.True(t, west.Meets(east, 0.11))
	assert.False(t, west.Meets(east, 0.05))
}
