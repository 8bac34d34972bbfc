package gnsslog

import "lapwing/geo/geopackage"

// readGeoPackage reads a layer of points of a GeoPackage (OGC 12-128r19).
func readGeoPackage(name string, data []byte, opt Options) (*Log, error) {
	points, err := geopackage.Points(data)
	if err != nil {
		return nil, faultIn(name, err)
	}
	defer points.Close()
	return FromPoints(name, "GeoPackage", points, opt)
}
