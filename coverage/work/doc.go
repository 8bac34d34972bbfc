// Package work is the third stage of a measurement: where the bar was at work.
//
// The way of the data, one step a file:
//
//	stance.Walk --pass.go---> Pass    where the log says when the bar works
//	            --delay.go--> Pass    where product reaches the ground later than it is switched
//	            --unstated.go, infer.go, freshness.go--> Pass    where the log does not say
//
// pose.go is a pass's bar at one time, thin.go the poses that matter, rate.go what
// the log says was put down, way.go a pass made ready to find places along it.
package work
