// Package work is the third stage of a measurement: where the bar was at work.
//
// The way of the data, one step a file:
//
//	stance.Walk --pass.go---> Pass    where the log says when the bar works
//	            --delay.go--> Pass    where product reaches the ground later than it is switched
//
// Where the log does not say, work is told from the way and from the ground:
//
//	stance.Walk --unstated.go--> legs    cut at the turns; where the bar turns too tightly,
//	                                     drives too fast or backs up, it is lifted
//	legs        --infer.go-----> spells  the stretches of them that win new ground of the field;
//	                                     freshness.go says which ground that is
//	spells      --claim.go-----> Pass    those that are left when each is held against all others
//	            --sure.go------> Judgement    how surely each stretch of the way was told so
//	Pass        --fast.go------> Pass    without those that are the way from machine to machine
//
// pose.go is a pass's bar at one time, thin.go the poses that matter, rate.go what
// the log says was put down.
package work
