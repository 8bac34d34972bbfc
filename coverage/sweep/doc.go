// Package sweep is the fourth stage of a measurement: from passes to the ground
// that their bars swept.
//
// The way of the data, one step a file:
//
//	work.Pass --visit.go, backing.go--> the stretches of each visit
//	          --outline.go, swath.go--> Swath    rings over the ground of one visit
//	          --dose.go---------------> Dose     the rate that the parts of the bar laid down
//
// trace.go is a pass that can be moved before it is swept, offrate.go the ground
// that turns left off its rate, for the picture.
package sweep
