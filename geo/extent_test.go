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
		assert.Equal(t, c.near, x.Near(c.at, 0.5), "%v", c.at)
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
