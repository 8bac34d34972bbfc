package boundary

import "lapwing/geo/geopackage"

// readGeoPackage reads a GeoPackage (OGC 12-128r19): each feature with a
// polygon is a boundary, of whatever layer.
func (d *draft) readGeoPackage(data []byte) error {
	d.out.Format = "GeoPackage"
	shapes, err := geopackage.Shapes(data)
	if err != nil {
		return d.inFile("", err)
	}
	defer shapes.Close()
	return d.shapes(shapes)
}
