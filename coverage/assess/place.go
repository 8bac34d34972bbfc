package assess

import (
	"fmt"

	"lapwing/coverage/beside"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// roundAndRound is how many times as long as the field's edge a pass is that goes round and
// round: how far along it a place is does not help a person to walk there.
const roundAndRound = 1.2

// Place says where a patch is so that a person can walk to it: "410 ft from the
// north end of pass 14, left side"; along a spiral "310 ft north-west of the
// centre, pass 20"; where no pass is near, its latitude and longitude.
func (a *Assessment) Place(u quantity.Units, p cause.Place, at plane.Point) string {
	if p.Pass == 0 {
		e := a.Map.Field.Frame.ToEarth(at)
		return "at " + quantity.LonLat(e.Lon, e.Lat)
	}
	if p.Pass <= len(a.Map.Passes) && a.Map.Passes[p.Pass-1].Length > roundAndRound*a.Map.Field.Perimeter() {
		far, bearing := beside.Bearing(plane.Point{}, at) // the frame lies around the centre
		return fmt.Sprintf("%s %s of the centre, pass %d", u.Length(far), geo.Compass(bearing.Angle()), p.Pass)
	}
	s := fmt.Sprintf("%s along pass %d", u.Length(p.Along), p.Pass)
	switch {
	case p.From != "" && p.Along < plane.Distance(plane.Metre): // too short to pace off
		s = fmt.Sprintf("at the %s end of pass %d", p.From, p.Pass)
	case p.From != "":
		s = fmt.Sprintf("%s from the %s end of pass %d", u.Length(p.Along), p.From, p.Pass)
	}
	if p.Side != "" {
		s += ", " + p.Side + " side"
	}
	return s
}
