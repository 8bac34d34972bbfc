// Package live says what a crew does while it does it. It is a push machine: fixes
// go in by [Engine.Step], and all it knows of time is theirs; it opens nothing, asks no
// clock and starts no goroutine. How old a fix is only its caller can tell.
//
//	log.go       records -> the log that the reader of their journal would give
//	machine.go   a record -> where the bar is now, and where it was some metres ago
//	ground.go    bars that are settled -> passes, beside which others are driven
//	edge.go      the openings of the field's edge, closed as ground is worked beside them
//	left.go      the ground left, and when it will be done
//	tank.go      how far this fill goes
//	answer.go    [Question] -> [Answer]: the exact one, by the way that assess goes
//	crew.go      machines that come while others work, and their ground
//	engine.go    all of them
//
// There are three speeds. Each fix says at once where the bar is, smoothed from one
// side, and how it laps what lies beside it. A stance is settled once its window is
// whole, some metres later. And at each lift the whole field is measured, on a
// snapshot that another goroutine may work on ([Engine.Ask], [Question.Answer]);
// what it finds takes the place of all that was found before ([Engine.Take]).
//
// Law: the answer on all records is that of package assess on the job with the
// journals added to its machines' logs, to the tick.
package live
