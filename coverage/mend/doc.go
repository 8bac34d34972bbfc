// Package mend plans the drive that mends skips: along which line the bar
// goes over each, with which sections open, and in which order, so that travel
// and turns are few.
//
// The way of a plan, one step a file:
//
//	skip    --guide.go-->   the lines along it: straight, or beside a pass
//	lines   --run.go-->     runs: where the bar's centre goes, sections open
//	runs    --ground.go-->  travel between them inside the boundary, round holes
//	travel  --tour.go-->    the order, and from which end each is entered
//
// What a boundary and a log do not tell, a plan does not know: power lines, wet
// ground, washouts, fences, and gates.
package mend
