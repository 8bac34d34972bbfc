// Package features is a book for other programs: OGC API - Features (Part 1: Core 1.0,
// OGC 17-069r4), vector tiles, and files of what is selected. Who asks stands in the context
// of a request (book.As); nothing is given that they may not see, and nothing is changed.
//
//	route.go    the table of what may be asked, and how an answer begins and ends
//	param.go    the parameters of a question, each read and described in one place
//	openapi.go  the table -> its description at /api (OpenAPI 3.0)
//	page.go     landing page, conformance, collections
//	items.go    features as GeoJSON (RFC 7946), page after page
//	tiles.go    vector tiles
//	export.go   features as files: GeoPackage
//	parquet.go  GeoParquet 1.1
//
// A new question is a row of the table: so it is described, its parameters are checked, and
// the test that walks all paths asks it.
package features
