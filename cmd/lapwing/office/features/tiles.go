package features

import (
	"errors"
	"fmt"
	"net/http"

	"lapwing/coverage/book"
)

// tile gives a vector tile; nothing (204) where nothing is on it.
func (c *call) tile(l book.Layer) error {
	drawn, err := c.book.Tile(c.r.Context(), c.of, c.z, c.x, c.y)
	switch {
	case errors.Is(err, book.ErrNotFound):
		return &notThere{fmt.Sprintf("found the tile %d/%d/%d, want one of WebMercatorQuad", c.z, c.x, c.y)}
	case err != nil:
		return err
	case len(drawn) == 0:
		c.w.WriteHeader(http.StatusNoContent)
	default:
		c.give(tileKind, drawn)
	}
	return nil
}

// tilesAbout tells of the tiles of a layer.
func tilesAbout(l book.Layer) string {
	text := l.About + "; as vector tiles (MVT 2.1) of the tile matrix set http://www.opengis.net/def/tilematrixset/OGC/1.0/WebMercatorQuad, "
	if l.FromZoom == 0 {
		return text + fmt.Sprintf("points below zoom %d", book.ShapesFrom)
	}
	return text + fmt.Sprintf("empty below zoom %d", l.FromZoom)
}
