package boundary

import "lapwing/geo"

// A Ring is a ring as the reader of another format found it: closed or not,
// wound either way.
type Ring struct {
	Where string // the element, such as "PFD1: PLN[0].LSG[0]"
	At    []geo.LonLat
	Lines []int32 // the line of each place; may be nil
}

// An Outline is what bounds one piece of ground: a shell with holes. With
// several shells, each hole belongs to the shell it lies in.
type Outline struct{ Shells, Holes []Ring }

// A Repairer sets right the rings of one file by the rules of this package,
// for readers of formats in which boundaries are only a part.
type Repairer struct {
	draft draft
}

// NewRepairer returns a Repairer; file stands in errors only.
func NewRepairer(file string) *Repairer {
	return &Repairer{draft: draft{file: file, steps: maxSteps, points: maxPoints}}
}

// Repair returns the ground that outlines bound, and what was repaired or left
// out on the way. The ground is empty if nothing of it has an area. Rings that
// cannot be repaired without guessing give a [*SyntaxError]; the Repairer can be
// used on.
func (r *Repairer) Repair(outlines []Outline) ([]geo.Polygon, []Note, error) {
	d := &r.draft
	d.seen, d.out = nil, File{} // what one boundary is told does not count for the next
	var s shape
	for _, o := range outlines {
		var rings []ring
		for _, r := range o.Shells {
			rings = append(rings, r.ring())
		}
		for _, r := range o.Holes {
			rings = append(rings, r.ring())
		}
		if len(o.Shells) == 1 {
			s.outlines = append(s.outlines, outline(rings))
			continue
		}
		nested, err := d.nest(rings)
		if err != nil {
			return nil, d.out.Notes, err
		}
		s.outlines = append(s.outlines, nested...)
	}
	if err := d.add(s); err != nil || len(d.out.Boundaries) == 0 {
		return nil, d.out.Notes, err
	}
	return d.out.Boundaries[0].Parts, d.out.Notes, nil
}

func (r Ring) ring() ring {
	out := ring{where: r.Where, at: make([]vertex, len(r.At))}
	for i, p := range r.At {
		out.at[i].LonLat = p
		if i < len(r.Lines) {
			out.at[i].line = r.Lines[i]
		}
	}
	if len(r.Lines) > 0 {
		out.line = int(r.Lines[0])
	}
	return out
}
