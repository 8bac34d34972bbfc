// Package season binds the fields of a farm into a book: which need attention, what came
// back from the year before, and who drove how well.
//
//	summary.json, coverage.geojson --entry.go, small_map.go--> Entry: one field of one year
//	Entries --returns.go----> the skips that come back, with the year before
//	        --year.go-------> the season of each year, in sentences
//	        --fields.go, change.go, comeback.go, tallies.go--> its lists, by attention.go's measure
//	Book    --page.go-------> season.html, the index
//	        --print.go------> season-print.html, a page a field for paper
//	        --operators.go, learn.go--> a page for each operator, with the laps kept day by day
//	        --csv.go--------> season.csv, season-machines.csv, season-laps.csv
//	        --layers.go-----> layers for a GIS; package gpkg writes them as a GeoPackage
package season
