// Package words writes amounts and sentences for people: a cause, a count, a
// cost, whether the headland is closed. Each rounds once, where it is written.
//
// What has a unit is written in one system of units for a terminal
// ([quantity.Units]), in both for a page ([Text]).
package words
