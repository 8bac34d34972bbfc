// Package whatif measures a field again with something changed: where the
// passes were (howsure.go), or what the bar can shut (section.go).
//
// How sure a map is, in steps, one a file:
//
//	quality --receiver.go-> Error   how far off a receiver's places are
//	passes  --nodes.go----> nodes   the times at which the error is told apart
//	laps    --laps.go-----> what the laps between neighbours tell of the error
//	        --howsure.go--> runs    the passes moved back, and measured again
//
// The package opens no file, prints nothing, asks no clock, and what is random
// in it comes from a seed.
package whatif
