// Package edge follows the field's boundary as a line and measures how far from it
// the worked ground begins.
//
// rim.go finds the boundary's edges in a layout, and the ground beside them;
// edge.go walks along them; profile.go is what it leaves.
package edge
