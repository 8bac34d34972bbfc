// Package cause is the last stage of a measurement: each skip and overlap of a
// layout with its size, the passes beside it, why it came about, and where it is.
//
// patch.go is what is found of a patch; contact.go looks at what each edge of its
// outline is on; skip.go ([SkipRules]) and overlap.go ([OverlapRules]) tell why it is
// there; place.go says where, in terms of the pass it lies along; outline.go tells skips
// that the boundary as it was drawn leaves from those of the work; doubt.go carries over
// how surely the bar worked where no log says so.
package cause
