package features

import (
	"lapwing/coverage/book"
	"lapwing/geo"
)

const (
	crs84     = "http://www.opengis.net/def/crs/OGC/1.3/CRS84"
	gregorian = "http://www.opengis.net/def/uom/ISO-8601/0/Gregorian"
)

// classes are the conformance classes that hold (OGC 17-069r4, annex A).
var classes = []string{
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core",
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/geojson",
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/oas30",
}

func (c *call) landing() error {
	return c.giveJSON(object{
		"title": "Fields", "description": about,
		"links": []link{
			{Href: c.here(), Rel: "self", Type: jsonKind, Title: "this page"},
			{Href: c.root + "/api", Rel: "service-desc", Type: openAPIKind, Title: "what may be asked"},
			{Href: c.root + "/conformance", Rel: "conformance", Type: jsonKind, Title: "the conformance classes that hold"},
			{Href: c.root + "/collections", Rel: "data", Type: jsonKind, Title: "the collections"},
			{Href: c.root + "/export.gpkg", Rel: "enclosure", Type: gpkgKind, Title: "all of it in a GeoPackage"},
		},
	})
}

const about = "Fields, what was found of the ground in them, and passes, skips and overlaps, as whoever asks may see them. Areas are in m², lengths in m, times in UTC, places in degrees on WGS 84."

func (c *call) conformance() error { return c.giveJSON(object{"conformsTo": classes}) }

func (c *call) collections() error {
	all := []object{}
	for _, l := range book.Layers {
		one, err := c.describe(l)
		if err != nil {
			return err
		}
		all = append(all, one)
	}
	return c.giveJSON(object{"links": []link{{Href: c.here(), Rel: "self", Type: jsonKind}}, "collections": all})
}

func (c *call) collection(l book.Layer) error {
	one, err := c.describe(l)
	if err != nil {
		return err
	}
	return c.giveJSON(one)
}

// describe tells of a collection. One of which whoever asks may see nothing has no extent.
func (c *call) describe(l book.Layer) (object, error) {
	reach, err := c.book.Reach(c.r.Context(), l.Name)
	if err != nil {
		return nil, err
	}
	at := c.root + "/collections/" + l.Name
	one := object{
		"id": l.Name, "title": l.Title, "description": l.About, "itemType": "feature", "crs": []string{crs84},
		"links": []link{
			{Href: at, Rel: "self", Type: jsonKind, Title: "this collection"},
			{Href: at + "/items", Rel: "items", Type: geoJSONKind, Title: l.Title},
			{Href: at + "/items.parquet", Rel: "enclosure", Type: parquetKind, Title: l.Title + " as GeoParquet"},
			{Href: c.root + "/tiles/" + l.Name + "/{z}/{x}/{y}" + tileEnding, Rel: "related", Type: tileKind, Title: l.Title + " as vector tiles", Templated: true},
		},
	}
	extent := object{}
	if reach.Box != nil {
		extent["spatial"] = object{"bbox": [][]float64{corners(*reach.Box)}, "crs": crs84}
	}
	if !reach.First.IsZero() {
		extent["temporal"] = object{"interval": [][]string{{moment(reach.First), moment(reach.Last)}}, "trs": gregorian}
	}
	if len(extent) > 0 {
		one["extent"] = extent
	}
	return one, nil
}

// corners are a box as GeoJSON writes it.
func corners(x geo.Extent) []float64 { return []float64{x.West, x.South, x.East, x.North} }
