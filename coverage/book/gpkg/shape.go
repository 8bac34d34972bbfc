package gpkg

import (
	"fmt"

	"github.com/ncruces/go-sqlite3"

	"lapwing/coverage/book/tables"
	"lapwing/geo"
	"lapwing/geo/geopackage"
	"lapwing/geo/projection"
)

// register gives a connection the functions that the triggers of a GeoPackage's index by
// place call (GeoPackage 1.3, annex F.3), for shapes as this program writes them and as
// GIS programs do.
func register(c *sqlite3.Conn) error {
	const flags = sqlite3.DETERMINISTIC | sqlite3.INNOCUOUS
	for name, of := range map[string]func(geo.Extent) float64{
		"ST_MinX": func(x geo.Extent) float64 { return x.West }, "ST_MaxX": func(x geo.Extent) float64 { return x.East },
		"ST_MinY": func(x geo.Extent) float64 { return x.South }, "ST_MaxY": func(x geo.Extent) float64 { return x.North },
	} {
		err := c.CreateFunction(name, 1, flags, func(ctx sqlite3.Context, arg ...sqlite3.Value) {
			if x, some := geopackage.Envelope(arg[0].RawBlob()); some {
				ctx.ResultFloat(of(x))
			}
		})
		if err != nil {
			return err
		}
	}
	err := c.CreateFunction("meets", 5, flags, func(ctx sqlite3.Context, arg ...sqlite3.Value) {
		blob, box := arg[0].RawBlob(), geo.Extent{West: arg[1].Float(), South: arg[2].Float(), East: arg[3].Float(), North: arg[4].Float()}
		if polygons, err := readPolygons(blob); err == nil {
			ctx.ResultBool(box.MeetsGround(polygons))
		} else if lines, err := readLines(blob); err == nil {
			ctx.ResultBool(box.MeetsLines(lines))
		} else {
			ctx.ResultError(err)
		}
	})
	if err != nil {
		return err
	}
	return c.CreateFunction("ST_IsEmpty", 1, flags, func(ctx sqlite3.Context, arg ...sqlite3.Value) {
		_, some := geopackage.Envelope(arg[0].RawBlob())
		ctx.ResultBool(!some)
	})
}

// readPolygons reads a shape of polygons; nothing of NULL.
func readPolygons(blob []byte) ([]geo.Polygon, error) {
	polygons, other, err := geopackage.Polygons(blob)
	if err != nil {
		return nil, err
	}
	if other != "" {
		return nil, fmt.Errorf("found a %s for a boundary, want polygons", other)
	}
	return tables.Ground(polygons, func(at projection.XY) geo.LonLat { return geo.LonLat{Lon: at.X, Lat: at.Y} }), nil
}

// readLines reads a shape of lines; nothing of NULL.
func readLines(blob []byte) ([][]geo.LonLat, error) {
	lines, other, err := geopackage.Lines(blob)
	if err != nil {
		return nil, err
	}
	if other != "" {
		return nil, fmt.Errorf("found a %s for a pass, want lines", other)
	}
	out := make([][]geo.LonLat, len(lines))
	for i, l := range lines {
		for _, at := range l {
			out[i] = append(out[i], geo.LonLat{Lon: at.X, Lat: at.Y})
		}
	}
	return out, nil
}
