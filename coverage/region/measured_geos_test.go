//go:build geos

package region_test

import "lapwing/geo/arrange/geosoracle"

func init() { secondOpinion = geosoracle.Validate }
