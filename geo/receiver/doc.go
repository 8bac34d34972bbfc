// Package receiver listens to GNSS receivers: what they send goes in as it
// comes, epochs come out.
//
//	address.go   "serial:/dev/ttyUSB0?baud=38400" -> Address
//	source.go    Address -> bytes: opens, opens again after a break, tells its state
//	link_*.go    one connection each: serial, network, standard input
//	sentence.go  bytes -> sentences of NMEA 0183 -> fields
//	nmea.go      sentences -> parts of an epoch          [NMEA]
//	gpsd.go      gpsd's JSON objects -> the same parts   [GPSD]
//	cycle.go     learns when an epoch is complete
//	assemble.go  parts -> Epoch
//	calendar.go  time of day -> instant
//	play.go      a log -> epochs, N times as fast as they were logged
//	look.go      which serial ports there are, and what speaks on them
//
// [NMEA] and [GPSD] are push machines: they read no source and ask no clock.
// Bytes and the time at which they came go in by Feed, time alone by Tick, and
// both return the epochs that are complete by then. [Run] gives them the bytes
// of a source and the clock of the machine it runs on.
//
// Sentences GGA, RMC, VTG and ZDA give the same fixes here, to the last bit, as
// package gnsslog reads from a file of the same sentences; a test holds both
// together. Two things a live source can do that a file cannot: where no
// sentence gives a date the clock gives it, and a date that is off by whole
// turns of the week number is put right.
package receiver
