// Package geojson writes shapes of a frame's plane as GeoJSON (RFC 7946).
//
// A [Writer] streams features: their shapes have nine decimals, the last about
// the size of a tick, and are valid after that rounding.
package geojson
