// Package field is what every stage of a measurement is told.
//
//	field.go    the field: its boundary, on the plane of its own frame
//	options.go  how to measure, and the width of the headland zone
//	warning.go  the warnings that ride with every result
package field
