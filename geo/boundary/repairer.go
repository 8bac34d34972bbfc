package boundary

import (
	"lapwing/geo"
	"lapwing/geo/feature"
)

// A Repairer sets right the rings of one file by the rules of this package, for
// readers of formats in which boundaries are only a part.
type Repairer struct {
	draft draft
}

// NewRepairer returns a Repairer; file stands in errors only.
func NewRepairer(file string) *Repairer {
	return &Repairer{draft: *newDraft(file)}
}

// Repair returns the ground that outlines bound, and what was repaired or left
// out on the way. The ground is empty if nothing of it has an area. Rings that
// cannot be repaired without guessing give a [*SyntaxError]; the Repairer can be
// used on.
func (r *Repairer) Repair(outlines []feature.Outline) ([]geo.Polygon, []geo.Note, error) {
	d := &r.draft
	d.seen, d.out = nil, File{} // what one boundary is told does not count for the next
	rings, err := d.bounds(feature.Shape{Outlines: outlines})
	if err != nil {
		return nil, d.out.Notes, err
	}
	if err := d.add(shape{outlines: rings}); err != nil || len(d.out.Boundaries) == 0 {
		return nil, d.out.Notes, err
	}
	return d.out.Boundaries[0].Parts, d.out.Notes, nil
}
