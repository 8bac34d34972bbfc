// Package covertest makes fields and machines whose answers are known, and
// works those answers out in slow, separate ways. It is for tests only.
//
// A [Path] is drawn in metres east and north of the field's centre: rounds,
// lines, arcs and turns. A [Rig] drives it: what its receiver logs becomes a
// machine.Logged, and where its bar really went becomes [Trail]s, free of
// noise, fine enough to be taken for the truth:
//
//	Path --drive.go--> log   --defect.go--> machine.Logged
//	     --trail.go--> Trail --raster.go--> areas by depth, counted cell by cell
//	                         --Rings------> rings for an exact overlay (exact.go)
//
// Angles are radians clockwise from north, lengths metres, times seconds,
// unless a name says otherwise. Everything random comes from a seed.
package covertest
