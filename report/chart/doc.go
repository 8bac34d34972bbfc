// Package chart draws maps and charts as SVG, for all pages. It prepares paths, classes and
// words; the templates of package page place them, and their style gives the colours.
//
//	Assessment --map.go--------> Map: a field with all that a page shows of it
//	           --regions.go----> its ground, piece by piece, or as speckles
//	           --over.go-------> what lies over that: rates off, fills, open edge
//	           --legend.go-----> the legend
//	           --small_map.go--> SmallMap: a field as small as a stamp, for lists
//	           --leaf.go-------> the same as large as a printed page
//	figures    --chart.go, ticks.go--> Chart: two axes with ticks in both systems of units
//	           --bars.go, spread.go--> its bars, spans and bands
//	           --causes.go, whatif.go--> the charts of what was wasted, and of other laps and sections
//
// Shapes are simplified for the picture, on a copy: no area is measured on them.
package chart
