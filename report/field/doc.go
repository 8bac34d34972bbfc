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
// Besides kind, a feature has where it applies: id, depth, area_m2, cause,
// headland, hole-free name, passes (their numbers) and machine. The top level
// has the foreign members "generator" and "run" (RFC 7946 section 6.1), and after the features
// "left_out": how many rings were narrower than the ninth decimal of a degree
// can show.
package field
