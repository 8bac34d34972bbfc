// Package field writes the assessment of one field: report.html, a summary in
// words for a terminal, coverage.geojson and tables in CSV.
//
//	Document --text.go----> Text: a screenful for the terminal, answer.go first
//	         --page.go----> Page: report.html
//	         --geojson.go-> GeoJSON: coverage.geojson
//	         --csv.go-----> products.csv, fills.csv, times.csv
//
// What page and terminal tell of one thing stands in one file: ground.go,
// patches.go (skips and overlaps), edge.go, products.go, waste.go, tanks.go,
// turns.go, times.go, finish.go, machines.go, whatif.go.
//
// # coverage.geojson
//
// The field is one feature; the ground of each kind, a feature each region; passes
// are lines, and so are the open stretches of the boundary ("open"); where a product
// ran out is a point ("dry"). Besides kind, a feature has where it applies: id, depth,
// area_m2, cause, headland, hole-free name, passes (their numbers) and machine. The
// field has the totals of summary.json and what of each product was wasted; overlaps
// and ground outside the boundary have their own part of that (feature.go), and the
// sums over them are the field's; skips have place, length_m and width_m, and where it
// is known certainty and loss. Each has the properties of simplestyle-spec 1.1, so that
// any viewer draws it in the colours of the pages.
//
// The top level has the foreign members "generator" and "run" (RFC 7946 section 6.1),
// and after the features "left_out": how many rings were narrower than the ninth decimal
// of a degree can show.
package field
