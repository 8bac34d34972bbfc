package geojson

import (
	"errors"
	"fmt"
	"strings"

	"lapwing/geo"
	"lapwing/geo/projection"
)

// SystemOf returns the coordinate system that an object's crs member names, as
// GeoJSON of before 2016 has it; RFC 7946 has done away with the member. It is
// nil where there is none, and for longitude and latitude on WGS 84. EPSG:4326
// has latitude first by the letter, but no GeoJSON is written so. What is not
// known is a [*geo.Fault].
func SystemOf(object Value) (*projection.System, error) {
	crs := object.Member("crs")
	if !crs.Exists() || crs.IsNull() {
		return nil, nil
	}
	if !crs.IsObject() {
		return nil, crs.Fault(crs.Short(), "an object")
	}
	name, _ := crs.Member("type").Word()
	properties := crs.Member("properties")
	for _, object := range []Value{crs, properties} {
		if err := object.Once(); err != nil {
			return nil, err
		}
	}
	if word, _ := properties.Member("name").Word(); strings.TrimSpace(word) != "" {
		name = word
	} else if code := properties.Member("code"); code.Exists() {
		name = "EPSG:" + string(code.Text())
	}
	system, err := projection.Named(name)
	var shift *projection.ShiftError
	var fault *geo.Fault
	switch {
	case errors.As(err, &shift):
		return nil, crs.Fault(fmt.Sprintf("%s: %s", shift.Where, shift.Found), shift.Want)
	case errors.As(err, &fault):
		return nil, crs.Fault(fmt.Sprintf("coordinate system %.60q", strings.TrimSpace(name)), "a number such as EPSG:32614, or none for longitude and latitude on WGS 84")
	case err != nil:
		return nil, err
	case !system.Projected() && system.Datum.Stand == projection.Same:
		return nil, nil
	}
	return system, nil
}
