// Package track is the first stage of a measurement: from the tracks as they were
// logged to one clean path for each antenna.
//
// The way of the data, one step a file:
//
//	machine.Track --log.go----> Log      tracks that are one log, cut up, are joined
//	              --order.go--> fixes in order of time; clocks that were set are evened out
//	              --track.go--> places on the field's plane; spikes taken out; stands gathered
//	              --stream.go-> Path     one for each machine whose fixes the log holds
//	              --gap.go----> silences marked
//
// spell.go says what the time between two instants of a path went into, record.go
// what is kept of a machine's logs when their fixes are gone, travel.go how far
// machines drove outside of all fields.
package track
