package geo_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo"
	"lapwing/geo/plane"
)

func TestCompass(t *testing.T) {
	for _, c := range []struct {
		degrees float64
		want    string
	}{
		{0, "north"}, {22, "north"}, {23, "north-east"}, {45, "north-east"}, {90, "east"}, {135, "south-east"},
		{180, "south"}, {225, "south-west"}, {270, "west"}, {315, "north-west"}, {337, "north-west"}, {338, "north"}, {360, "north"},
		{-45, "north-west"}, {-180, "south"}, {765, "north-east"},
	} {
		assert.Equal(t, c.want, geo.Compass(plane.Degrees(c.degrees)), "%g degrees", c.degrees)
	}
}
