// Package mend writes the drive back: which skips are worth it, in which order, from which
// end and on which heading.
//
//	Assessment --document.go--> Document, with the plan of the drive
//	           --verdict.go---> whether to go back, in a sentence or two
//	Document   --document.go--> the plan for the terminal
//	           --page.go------> mend.html: a map with the drive on it
//	           --handheld.go--> mend.gpx, mend.kml and mend.geojson, for a handheld
//	           --summary.go---> mend.json
package mend
