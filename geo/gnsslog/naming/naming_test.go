package naming

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is left of a name that was cut to ten characters, and what it can only be.
func TestCutNames(t *testing.T) {
	for name, want := range map[string]string{
		"implemen_1": "implemen", "abcdefg_12": "abcdefg", "abcde_1234": "abcde1234", "speed_mph1": "speedmph1", "speed(mph1": "speedmph1",
		"abc": "", "speed_over_": "", "a_b_c_d_e_": "abcde", "a__b_c_d__": "",
	} {
		stem, ok := MayBeCut(name)
		assert.Equal(t, want != "", ok, name)
		if ok {
			assert.Equal(t, want, stem, name)
		}
	}
	for stem, want := range map[string]struct {
		role Role
		unit string
	}{
		"speedkm": {Speed, "km/h"}, "speedkn": {Speed, "knots"}, "speedmp": {Roles, ""}, "speedmph": {Speed, "mph"}, "speedk": {Roles, ""}, "speedo": {Speed, ""},
		"speed": {Speed, ""}, "gpsspeedkn": {Speed, "knots"}, "headi": {Heading, ""}, "latit": {Lat, ""}, "times": {Time, ""}, "time": {Roles, ""}, "words": {Roles, ""},
	} {
		role, _, unit := OfStem(stem)
		assert.Equal(t, want.role, role, stem)
		assert.Equal(t, want.unit, unit, stem)
	}
}

// A foot is 0.3048 m and a nautical mile 1852 m.
func TestUnitsByTheirWords(t *testing.T) {
	for word, want := range map[string]float64{"knots": 1852.0 / 3600, "ft/s": 0.3048, "km/h": 1 / 3.6, "mph": 0.44704, "m/s": 1, "": 1} {
		assert.InDelta(t, want, UnitCalled(word).MPS, 1e-12, word)
	}
}
