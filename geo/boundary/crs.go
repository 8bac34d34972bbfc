package boundary

import (
	"fmt"
	"regexp"
)

// wgs84 matches the names under which GeoJSON of before 2016 says that it is
// in longitude and latitude on WGS 84. RFC 7946 has done away with the member.
// EPSG:4326 has latitude first by the letter, but no GeoJSON is written so.
var wgs84 = regexp.MustCompile(`(?i)^(urn:ogc:def:crs:|https?://www\.opengis\.net/def/crs/)?` +
	`(OGC[:/]([0-9.]*[:/])?CRS84h?|EPSG[:/]([0-9.]*[:/])?4326|CRS84)$`)

// checkCRS refuses a crs member that names another coordinate system.
func (g *geoJSON) checkCRS(object map[string]value) error {
	crs, ok := object["crs"]
	if !ok || string(crs.text) == "null" {
		return nil
	}
	m, err := g.members(crs)
	if err != nil {
		return err
	}
	name := m["type"].word()
	if p, ok := m["properties"]; ok && p.text[0] == '{' {
		in, err := g.members(p)
		if err != nil {
			return err
		}
		switch {
		case in["name"].word() != "":
			name = in["name"].word()
		case len(in["code"].text) > 0:
			name = "EPSG:" + string(in["code"].text)
		}
	}
	if wgs84.MatchString(name) {
		return nil
	}
	return g.refuse(crs, fmt.Sprintf("coordinate system %.60q", name), "longitude and latitude on WGS 84 (RFC 7946)")
}
