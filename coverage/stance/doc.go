// Package stance is the second stage of a measurement: from the path of an antenna
// to the stances of the bar behind it.
//
// The way of the data, one step a file:
//
//	track.Path --stance.go, windowing.go--> a smoothed path with directions
//	           --reverse.go---------------> where the machine was in reverse
//	           --slip.go------------------> the angle between its heading and its antenna's travel
//	           --stance.go----------------> Walk: hitch, links and bar, step by step
//
// bar.go is the bar at one time, and the ground it sweeps from one to the next.
package stance
