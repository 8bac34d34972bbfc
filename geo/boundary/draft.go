package boundary

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/projection"
)

// A draft is a file half read.
type draft struct {
	file    string
	out     File
	rfcWind bool // the format says how rings are wound
	// system is what coordinates in the text of a file mean; nil for longitude and
	// latitude on WGS 84.
	system *projection.System
	seen   map[string]int
	steps  int // comparisons still allowed
	// crossings is what uniting parts has cost so far.
	crossings int
	points    int // points densifying may still add
}

// maxSteps bounds the comparisons of edges in a file: some seconds' worth.
// Rings of fields need a few for each edge; only rings made to be slow to
// check come near it.
const maxSteps = 1 << 30

// A vertex is a place as the file has it.
type vertex struct {
	geo.LonLat
	line int32 // 0 where the format has no lines
}

// A ring is a ring as the file has it: closed or not, wound either way.
type ring struct {
	where string // "features[0].geometry.coordinates[0]"
	line  int
	at    []vertex
}

// An outline is a polygon as the file has it: a shell, then holes.
type outline []ring

// A shape is a boundary as the file has it.
type shape struct {
	name     string
	outlines []outline
}

func (d *draft) fault(line int, where, found, want string) *SyntaxError {
	return &SyntaxError{File: d.file, Line: line, Where: shorten(where), Found: shorten(found), Want: want}
}

// inFile turns the fault of a part into one of the file, at where unless the fault
// names a place itself. It leaves other errors as they are.
func (d *draft) inFile(where string, err error) error {
	var wrong *geo.Fault
	if !errors.As(err, &wrong) {
		return err
	}
	if wrong.Where != "" {
		where = wrong.Where
	}
	fault := d.fault(wrong.Line, where, wrong.Found, wrong.Want)
	fault.Reason = wrong.Reason
	return fault
}

// shorten makes a piece of a file fit for a message of one line.
func shorten(text string) string { return geo.Shorten(text, 160) }

// note gathers a note under its text; it keeps the first line.
func (d *draft) note(line int, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if i, ok := d.seen[text]; ok {
		d.out.Notes[i].Count++
		return
	}
	if d.seen == nil {
		d.seen = map[string]int{}
	}
	d.seen[text] = len(d.out.Notes)
	d.out.Notes = append(d.out.Notes, geo.Note{Line: line, Count: 1, Text: text})
}

// finish returns the file, if it was read without an error and there is any
// ground in it.
func (d *draft) finish(err error) (*File, error) {
	switch {
	case err != nil:
		return nil, err
	case len(d.out.Boundaries) > 0:
		return &d.out, nil
	}
	found, line := "no polygon", 0
	if len(d.out.Notes) > 0 {
		found += " (" + d.out.Notes[0].Text + ")"
		line = d.out.Notes[0].Line
	}
	fault := d.fault(line, "", found, "one at least")
	fault.Reason = geo.ErrNothing
	return nil, fault
}

// add sets a shape right and keeps it as a boundary. A shape of which nothing
// is left is only noted.
func (d *draft) add(s shape) error {
	var parts []patch
	for _, o := range s.outlines {
		more, err := d.repair(o)
		if err != nil {
			return err
		}
		parts = append(parts, more...)
	}
	if len(parts) == 0 {
		return nil
	}
	line, where := 0, ""
	if len(s.outlines[0]) > 0 {
		line, where = s.outlines[0][0].line, s.outlines[0][0].where
	}
	return d.keep(s.name, parts, line, where)
}

// keep keeps parts as a boundary: united where they overlap, their edges short.
func (d *draft) keep(name string, parts []patch, line int, where string) error {
	oneFrame(parts)
	overlap := d.overlap(parts)
	if overlap {
		d.note(line, "polygons of one boundary overlap; their ground counts once")
	}
	if overlap || slices.ContainsFunc(parts, func(p patch) bool { return p.stray }) {
		var err error
		if parts, err = d.united(parts, line, where); err != nil {
			return err
		}
		if len(parts) == 0 {
			d.note(line, "polygon of which its holes leave nothing left out")
			return nil
		}
	}
	b := Boundary{Name: name}
	for _, p := range parts {
		shell, err := d.dense(p.shell)
		if err != nil {
			return err
		}
		polygon := geo.Polygon{Shell: shell}
		for _, h := range p.holes {
			hole, err := d.dense(h)
			if err != nil {
				return err
			}
			polygon.Holes = append(polygon.Holes, hole)
		}
		b.Parts = append(b.Parts, polygon)
	}
	d.out.Boundaries = append(d.out.Boundaries, b)
	return nil
}

// oneFrame shifts parts by whole turns so that all lie near the first, and
// holes near their shell. RFC 7946 3.1.9 has polygons cut at the antimeridian;
// here they meet again.
func oneFrame(parts []patch) {
	middle := func(c []corner) float64 {
		b := flat(c).Bounds()
		return float64(b.Min.X/2+b.Max.X/2) / perDegree
	}
	first := middle(parts[0].shell)
	for _, p := range parts {
		turn(p.shell, 360*math.Round((first-middle(p.shell))/360))
		here := middle(p.shell)
		for _, h := range p.holes {
			turn(h, 360*math.Round((here-middle(h))/360))
		}
	}
}

// turn shifts a ring by whole turns.
func turn(c []corner, degrees float64) {
	if degrees == 0 {
		return
	}
	for i := range c {
		c[i].at.Lon += degrees
		c[i].X += plane.Length(degrees) * perDegree
	}
}
