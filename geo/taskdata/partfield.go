package taskdata

import (
	"errors"
	"fmt"
	"strconv"

	"lapwing/geo"
	"lapwing/geo/feature"
)

// The types of polygons and line strings that bound a field; of the others
// (treatment zones, water, roads, guidance lines …) only a note is kept.
const (
	polygonBoundary = 1
	ringExterior    = 1
	ringInterior    = 2
)

// polygonTypes names the other types, for notes.
var polygonTypes = map[int64]string{2: "treatment zone", 3: "water", 4: "building", 5: "road", 6: "obstacle", 7: "flag",
	8: "other", 9: "main field", 10: "headland", 11: "buffer", 12: "windbreak"}

func (r *reading) takePartfield(e *element, file string) {
	f := Partfield{ID: e.text("A"), Name: e.text("C"), crop: e.text("G")}
	r.meet(file, e)
	if text := e.text("D"); text != "" { // D is the area in m² (from memory, and as files bear out)
		if area, err := strconv.ParseFloat(text, 64); err == nil && area >= 0 && area < 1e12 {
			f.Area = area
		} else {
			r.note(file, e.line, fmt.Sprintf("%s: area %.40q is no number of square metres", shorten(f.ID), text))
		}
	}
	outlines, fault := r.outlines(e, &f, file)
	if fault == nil && len(outlines) > 0 {
		var notes []geo.Note
		var err error
		f.Boundary, notes, err = r.rings.Repair(outlines)
		for _, n := range notes {
			r.noteMany(file, n.Line, n.Count, shorten(f.ID)+": "+n.Text)
		}
		var theirs *SyntaxError
		if errors.As(err, &theirs) {
			fault = &SyntaxError{File: file, Line: theirs.Line, Where: theirs.Where, Found: theirs.Found, Want: theirs.Want}
		}
	}
	if f.Fault = fault; fault != nil {
		r.note(file, fault.Line, shorten(f.ID)+": boundary left out: "+fault.Found)
	}
	r.set.Partfields = append(r.set.Partfields, f)
}

// outlines gathers the rings of a field's boundary polygons.
func (r *reading) outlines(e *element, f *Partfield, file string) (outlines []feature.Outline, fault *SyntaxError) {
	e.each("LSG", func(l *element) {
		r.note(file, l.line, "line string of a field left out: only polygons bound a field")
	})
	number := 0
	e.each("PLN", func(p *element) {
		number++
		kind, ok := p.whole("A")
		if !ok || kind != polygonBoundary {
			name := polygonTypes[kind]
			if !ok || name == "" {
				name = fmt.Sprintf("type %.20q", p.text("A"))
			}
			r.note(file, p.line, "polygon left out: "+name+", not a field boundary (type 1)")
			return
		}
		var o feature.Outline
		ring := 0
		p.each("LSG", func(l *element) {
			ring++
			where := fmt.Sprintf("%s: PLN %d, LSG %d", shorten(f.ID), number, ring)
			if l.fault != nil && fault == nil {
				l.fault.Where = where + ", PNT"
				fault = l.fault
			}
			if len(l.at) == 0 {
				r.note(file, l.line, "line string without points left out")
				return
			}
			one := feature.Ring{Where: where, At: closed(l), Lines: l.lines}
			switch kind, _ := l.whole("A"); kind {
			case ringExterior:
				o.Shells = append(o.Shells, one)
			case ringInterior:
				o.Holes = append(o.Holes, one)
			default:
				r.note(file, l.line, fmt.Sprintf("line string of type %.20q in a field boundary left out: want 1 (exterior) or 2 (interior)", l.text("A")))
			}
		})
		switch {
		case len(o.Shells) > 0:
			outlines = append(outlines, o)
		case len(o.Holes) > 0:
			r.note(file, p.line, "field boundary without an exterior line left out")
		}
	})
	return outlines, fault
}

// closed closes a ring: of types 1 and 2 the last point need not repeat the
// first, so that is no news.
func closed(l *element) []geo.LonLat {
	if n := len(l.at); n > 2 && l.at[0] != l.at[n-1] {
		l.at, l.lines = append(l.at, l.at[0]), append(l.lines, l.lines[0])
	}
	return l.at
}
