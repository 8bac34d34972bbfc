// Package field is what every stage of a measurement is told: the field's
// boundary on the plane of its own frame, the options that say how to measure,
// and the warnings that ride with every result.
package field
