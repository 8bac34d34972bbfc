package geojson

import (
	"fmt"
	"regexp"
	"strings"
)

// wgs84 matches the names under which GeoJSON of before 2016 says that it is
// in longitude and latitude on WGS 84. RFC 7946 has done away with the member.
// EPSG:4326 has latitude first by the letter, but no GeoJSON is written so.
var wgs84 = regexp.MustCompile(`(?i)^(urn:ogc:def:crs:|https?://www\.opengis\.net/def/crs/)?` +
	`(OGC[:/]([0-9.]*[:/])?CRS84h?|EPSG[:/]([0-9.]*[:/])?4326|CRS84)$`)

// CheckSystem refuses an object with a crs member that names another coordinate
// system than longitude and latitude on WGS 84.
func CheckSystem(object Value) error {
	crs := object.Member("crs")
	if !crs.Exists() || crs.IsNull() {
		return nil
	}
	if !crs.IsObject() {
		return crs.Fault(crs.Short(), "an object")
	}
	name, _ := crs.Member("type").Word()
	properties := crs.Member("properties")
	for _, object := range []Value{crs, properties} {
		if err := object.Once(); err != nil {
			return err
		}
	}
	if word, _ := properties.Member("name").Word(); strings.TrimSpace(word) != "" {
		name = word
	} else if code := properties.Member("code"); code.Exists() {
		name = "EPSG:" + string(code.Text())
	}
	if name = strings.TrimSpace(name); wgs84.MatchString(name) {
		return nil
	}
	return crs.Fault(fmt.Sprintf("coordinate system %.60q", name), "longitude and latitude on WGS 84 (RFC 7946)")
}
