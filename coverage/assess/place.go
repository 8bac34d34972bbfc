package assess

import (
	"fmt"

	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// Place says where a patch is so that a person can walk to it: "410 ft from the
// north end of pass 14, left side"; where no pass is near, its latitude and
// longitude.
func (a *Assessment) Place(u quantity.Units, p cause.Place, at plane.Point) string {
	if p.Pass == 0 {
		e := a.Map.Field.Frame.ToEarth(at)
		return "at " + quantity.LonLat(e.Lon, e.Lat)
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
