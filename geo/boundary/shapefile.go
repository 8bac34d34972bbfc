package boundary

import "lapwing/geo/shapefile"

// readShapefile reads the main file of a shapefile: each record with a polygon
// is a boundary.
func (d *draft) readShapefile(data []byte) error {
	d.out.Format = "Shapefile"
	shapes, err := shapefile.Shapes(data, d.beside)
	if err != nil {
		return d.inFile("", err)
	}
	defer shapes.Close()
	return d.shapes(shapes)
}
