package look

import (
	"fmt"
	"io"
	"math"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo"
)

// Sketch draws places as a small map of dots for a terminal, north up and true
// to shape, in braille characters of two by four dots. It is at most columns
// wide and rows high, with the length of its longer side below.
func Sketch(w io.Writer, places []geo.LonLat, columns, rows int, units quantity.Units) error {
	if len(places) == 0 {
		return nil
	}
	west, east := math.Inf(1), math.Inf(-1)
	south, north := math.Inf(1), math.Inf(-1)
	frame := geo.NewFrame(places[len(places)/2])
	at := make([][2]float64, 0, len(places))
	for _, p := range places {
		x, y := frame.Metres(p)
		if p == (geo.LonLat{}) || !(math.Abs(x) < 1e5 && math.Abs(y) < 1e5) {
			continue // a fix that is nowhere near the others
		}
		at = append(at, [2]float64{x, y})
		west, east, south, north = min(west, x), max(east, x), min(south, y), max(north, y)
	}
	metres := max((east-west)/float64(2*columns-1), (north-south)/float64(4*rows-1), 0.01) // a dot
	width, height := int((east-west)/metres)/2+1, int((north-south)/metres)/4+1
	cells := make([][]rune, height)
	for i := range cells {
		cells[i] = make([]rune, width)
	}
	// The bits of a braille cell, by row and column of its dots (Unicode 2800).
	bits := [4][2]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}
	for _, p := range at {
		x, y := int((p[0]-west)/metres), int((north-p[1])/metres)
		cells[min(y/4, height-1)][min(x/2, width-1)] |= bits[y%4][x%2]
	}
	var out strings.Builder
	for _, row := range cells {
		line := make([]rune, len(row))
		for i, c := range row {
			line[i] = ' '
			if c != 0 {
				line[i] = 0x2800 + c
			}
		}
		fmt.Fprintln(&out, strings.TrimRight("  "+string(line), " "))
	}
	fmt.Fprintf(&out, "  %s from west to east, %s from south to north\n",
		units.Metres(east-west), units.Metres(north-south))
	_, err := io.WriteString(w, out.String())
	return err
}
