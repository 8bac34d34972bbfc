package region

import "lapwing/geo/plane"

// A Headland is the ring along the boundary, holes included, that is worked
// separately so that passes can turn, and what became of it.
type Headland struct {
	Width    plane.Length // see [field.Options.HeadlandWidth]
	Zone     []plane.Polygon
	Area     plane.Area
	Covered  plane.Area // by any pass
	Unlogged plane.Area
}

// Completion is the share of the zone that is covered, of what the log is not
// silent about: from 0 to 1. It is 0 for an empty zone.
func (h *Headland) Completion() float64 {
	if known := h.Area - h.Unlogged; known > 0 {
		return float64(h.Covered) / float64(known)
	}
	return 0
}
