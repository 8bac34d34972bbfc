// Package tile draws features on vector tiles (Mapbox Vector Tile 2.1) of the tile matrix
// set WebMercatorQuad (OGC 17-083r4, annex D.1).
//
//	places -> units of the tile -> simplified -> cut at its margin -> rings wound -> bytes
package tile

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/geojson"
	"github.com/paulmach/orb/maptile"
	"github.com/paulmach/orb/simplify"

	"lapwing/geo"
)

// Deepest is the last zoom of WebMercatorQuad.
const Deepest = 24

const (
	// Units is how wide a tile is in its own units.
	Units = 4096
	// Pixel is a pixel of a tile that is drawn 256 wide.
	Pixel = Units / 256
	// Margin is how far a tile has what lies beside it, so that lines of it do not end on
	// the screen.
	Margin = 16 * Pixel
	// Tolerance is how far a line may lie from where it is, an eighth of a pixel. With more,
	// skips a metre wide would go at zooms where a field fills the screen.
	Tolerance = Pixel / 8.
	// Cell is how wide the cells are of which each has one point at most.
	Cell = 8 * Pixel
)

// A Tile is one of the tiles of a zoom: X from the west, Y from the north.
type Tile struct{ Z, X, Y int }

// Exists reports whether WebMercatorQuad has the tile.
func (t Tile) Exists() bool {
	return t.Z >= 0 && t.Z <= Deepest && t.X >= 0 && t.Y >= 0 && t.X < 1<<t.Z && t.Y < 1<<t.Z
}

// Box is the tile with its margin, within 180 degrees.
func (t Tile) Box() geo.Extent {
	const margin = float64(Margin) / Units
	n := float64(int(1) << t.Z)
	lon := func(x float64) float64 { return min(max(x/n*360-180, -180), 180) }
	lat := func(y float64) float64 { return math.Atan(math.Sinh(math.Pi*(1-2*y/n))) * 180 / math.Pi }
	x, y := float64(t.X), float64(t.Y)
	return geo.Extent{West: lon(x - margin), East: lon(x + 1 + margin), South: lat(y + 1 + margin), North: lat(y - margin)}
}

// A Feature is what is drawn on a tile: ground, lines, or a point.
type Feature struct {
	ID         int64
	Polygons   []geo.Polygon
	Lines      [][]geo.LonLat
	At         *geo.LonLat
	Properties map[string]any // of string, bool, int64 and float64
}

// Encode draws features as a layer of a tile. What is too small to be seen is left out, and
// of the points in a [Cell] all but the first; nothing at all is no bytes.
func Encode(layer string, t Tile, features []Feature) ([]byte, error) {
	l := &mvt.Layer{Name: layer, Version: 2, Extent: Units}
	for _, f := range features {
		drawn := geojson.NewFeature(f.shape())
		drawn.ID, drawn.Properties = f.ID, f.Properties
		l.Features = append(l.Features, drawn)
	}
	l.ProjectToTile(maptile.New(uint32(t.X), uint32(t.Y), maptile.Zoom(t.Z)))
	seen, taken := l.Features[:0], map[[2]float64]bool{}
	for _, f := range l.Features {
		if f.Geometry = visible(f.Geometry, taken); f.Geometry != nil {
			seen = append(seen, f)
		}
	}
	if l.Features = seen; len(seen) == 0 {
		return nil, nil
	}
	return mvt.Marshal(mvt.Layers{l})
}

// shape is the feature's shape in longitude and latitude.
func (f *Feature) shape() orb.Geometry {
	switch {
	case f.At != nil:
		return orb.Point{f.At.Lon, f.At.Lat}
	case f.Lines != nil:
		lines := make(orb.MultiLineString, len(f.Lines))
		for i, l := range f.Lines {
			lines[i] = points(l)
		}
		return lines
	}
	polygons := make(orb.MultiPolygon, len(f.Polygons))
	for i, p := range f.Polygons {
		polygons[i] = append(polygons[i], orb.Ring(points(p.Shell)))
		for _, h := range p.Holes {
			polygons[i] = append(polygons[i], orb.Ring(points(h)))
		}
	}
	return polygons
}

func points(places []geo.LonLat) orb.LineString {
	out := make(orb.LineString, len(places))
	for i, p := range places {
		out[i] = orb.Point{p.Lon, p.Lat}
	}
	return out
}

// visible is what is seen of a shape in units of its tile; nil where that is nothing. taken
// are the cells that have a point.
func visible(g orb.Geometry, taken map[[2]float64]bool) orb.Geometry {
	around := orb.Bound{Min: orb.Point{-Margin, -Margin}, Max: orb.Point{Units + Margin, Units + Margin}}
	switch g := g.(type) {
	case orb.Point:
		cell := [2]float64{math.Floor(g[0] / Cell), math.Floor(g[1] / Cell)}
		if !(orb.Bound{Max: orb.Point{Units, Units}}).Contains(g) || taken[cell] {
			return nil
		}
		taken[cell] = true
		return g
	case orb.MultiLineString:
		var out orb.MultiLineString
		for _, l := range clip.MultiLineString(around, simplify.DouglasPeucker(Tolerance).MultiLineString(g)) {
			if l = whole(l); len(l) > 1 {
				out = append(out, l)
			}
		}
		if len(out) > 0 {
			return out
		}
	case orb.MultiPolygon:
		var out orb.MultiPolygon
		for _, p := range g {
			p = clip.Polygon(around, simplify.DouglasPeucker(Tolerance).Polygon(p))
			if p = wound(p); len(p) > 0 {
				out = append(out, p)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

// whole takes places to whole units, repeated ones once.
func whole(l orb.LineString) (out orb.LineString) {
	for _, p := range l {
		p = orb.Point{math.Round(p[0]), math.Round(p[1])}
		if len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	return out
}

// wound winds the rings of a polygon as MVT 2.1 has them (section 4.3.4.4): the area of its
// shell is positive where y grows downward, that of holes negative. Rings without an area
// are left out.
func wound(p orb.Polygon) (out orb.Polygon) {
	for i, r := range p {
		r = orb.Ring(whole(orb.LineString(r)))
		want := orb.CCW
		if i > 0 {
			want = orb.CW
		}
		switch got := r.Orientation(); {
		case len(r) < 4 || area2(r) == 0:
			if i == 0 {
				return nil
			}
			continue
		case got != want:
			r.Reverse()
		}
		out = append(out, r)
	}
	return out
}

// area2 is twice the area of a ring, by the surveyor's formula.
func area2(r orb.Ring) (sum float64) {
	for i := 1; i < len(r); i++ {
		sum += r[i-1][0]*r[i][1] - r[i][0]*r[i-1][1]
	}
	return sum
}
