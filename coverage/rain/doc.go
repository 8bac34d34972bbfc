// Package rain says which fields not begun can be finished before the rain.
//
// A crew does not begin a field that it cannot finish: seed that lies open, or half a
// field of another date, costs more than an hour lost. From the pace of the machines in
// the fields of the last days and the boundaries of those to come:
//
//	summary.go  assessments -> the fields of the last days, and who goes on
//	pace.go     fields of the last days -> how long a machine takes on ground
//	spread.go   each of those fields told by the others -> how sure that is
//	hours.go    the hours worked -> when so much work is done
//	order.go    times and roads -> which fields, in which order
//	tank.go     tanks -> fills, and where the trailer stands
//	plan.go     all of them -> a [Plan]
//
// Nothing here knows the weather, or whether ground carries a machine.
package rain
