package postgis

import (
	"fmt"
	"math"

	"lapwing/geo/tile"
)

// wide is how wide WebMercatorQuad is, in m (OGC 17-083r4, annex D.1).
const wide = 2 * 20037508.3427892

// drawTile asks for a tile as package tile draws it.
func drawTile(layer, columns, from string, at tile.Tile, points bool) string {
	envelope := fmt.Sprintf("ST_TileEnvelope(%d, %d, %d)", at.Z, at.X, at.Y)
	if points {
		middle := "ST_SetSRID(ST_MakePoint((ST_XMin(geom) + ST_XMax(geom)) / 2, (ST_YMin(geom) + ST_YMax(geom)) / 2), 4326)"
		cell := fmt.Sprintf("floor(ST_X(g) / %d), floor(ST_Y(g) / %d)", tile.Cell, tile.Cell)
		return fmt.Sprintf("SELECT coalesce(ST_AsMVT(drawn, '%s', %d, 'g', 'fid'), '') FROM (SELECT DISTINCT ON (%s) * FROM (SELECT %s, "+
			"ST_AsMVTGeom(ST_Transform(%s, 3857), %s, %d, 0) AS g%s) seen WHERE g IS NOT NULL ORDER BY %s, fid) drawn",
			layer, tile.Units, cell, columns, middle, envelope, tile.Units, from, cell)
	}
	tolerance := wide / math.Exp2(float64(at.Z)) / tile.Units * tile.Tolerance
	return fmt.Sprintf("SELECT coalesce(ST_AsMVT(drawn, '%s', %d, 'g', 'fid'), '') FROM (SELECT * FROM (SELECT %s, "+
		"ST_AsMVTGeom(ST_Simplify(ST_Transform(geom, 3857), %g), %s, %d, %d) AS g%s) seen WHERE g IS NOT NULL) drawn",
		layer, tile.Units, columns, tolerance, envelope, tile.Units, tile.Margin, from)
}
