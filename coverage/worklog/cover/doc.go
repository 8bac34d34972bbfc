// Package cover puts polygons of worked ground together to the way of the bar that
// worked it, as sprayers and spreaders write their ground: a polygon for each
// section of the bar, from where the bar was at one moment to where it went.
//
//	 lead    lead         A polygon's corners go along one side, as many as on
//	┌─────┬─────┐         the other, from the trailing edge to the leading one:
//	│  a  │  b  │         each pair is a station of the bar. What leads one polygon
//	├─────┼─────┘  trail  trails the next; a and b side by side are one step of the
//	│  c  │               bar. Steps that follow each other are a run; where c has no
//	└─────┘               neighbour, that section was shut.
//
// The way of the data, one step a file:
//
//	rings, times --shape.go--> cells    each with its stations, left and right
//	             --link.go---> chains   which cell follows which
//	             --step.go---> steps    cells side by side: the bar in one moment
//	             --place.go--> middles  where the bar's middle was beside each step
//	             --run.go----> runs     steps that follow each other, with times
//	             --beside.go-> runs     with what works beside them at their time
//	             --state.go--> states   the parts of the bar that work, each once
//	             --way.go----> Way      fixes of the bar's middle with their states
//
// vec.go is the plane they lie on. What cannot be told is left out or taken on
// trust, and noted.
package cover
