// Package coverage turns tracks into covered ground.
//
// The way of the data, one step a file:
//
//	Track  --pose.go--> Pose   whose position: the antenna's becomes the bar's
//	       --pass.go--> Pass   when working began and ended; infer.go where the log does not say
//	       --swath.go-> Swath  from a line to the ground it swept, one visit each
//	       --map.go---> Region where the swaths lie over one another, and over what
//
// Measure (measure.go) is Split, Sweep and Lay, and nothing else. The package
// opens no file, prints nothing and asks no clock.
package coverage
