// Package live says what a crew does while it does it. Its caller pushes fixes in by
// [Engine.Step]. The engine opens no file, asks no clock and starts no goroutine: the time
// that it knows is that of the newest fix, and how old that is only its caller can tell.
//
//	log.go       records -> the log that the reader of their journal would give
//	machine.go   a record -> where the bar is now, whether it works, how it laps
//	ground.go    bars that are settled -> passes, which later passes are driven beside
//	edge.go      the openings of the field's edge, which work beside them closes
//	left.go      the ground left, and when it will be done
//	tank.go      how far this fill goes
//	answer.go    [Question] -> [Answer]: the exact one, by the way that assess goes
//	crew.go      machines that come while others work, and their ground
//	engine.go    all of them
//
// Things become known at three speeds. Each fix says at once where the bar is, smoothed by
// the fixes before it alone, and how it laps what lies beside it. Some metres later, when
// the fixes on both sides are known, the stance there is settled. And at each lift the
// whole field is measured, on a snapshot that another goroutine may work on ([Engine.Ask],
// [Question.Answer]); the engine then goes on from that answer ([Engine.Take]).
//
// Law: the answer on all records is that of package assess on the job with the
// journals added to its machines' logs, to the tick.
package live
