// Package pace says where the time of the machines went (clock.go), and when the
// ground left will be worked (forecast.go).
package pace
