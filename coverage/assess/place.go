package assess

import (
	"fmt"
	"math"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
)

func (a *Assessment) Place(u quantity.Units, p coverage.Place, at plane.Point) string {
	return placeText(u, &a.Map.Field.Frame, p, at)
}

// placeText says where a patch is so that a person can walk to it: "410 ft from
// the north end of pass 14, left side"; where no pass is near, its longitude
// and latitude.
func placeText(u quantity.Units, frame *geo.Frame, p coverage.Place, at plane.Point) string {
	if p.Pass == 0 {
		e := frame.ToEarth(at)
		return "at " + LonLat(e.Lon, e.Lat)
	}
	s := fmt.Sprintf("%s along pass %d", u.Length(p.Along), p.Pass)
	switch {
	case p.From != "" && p.Along < float64(plane.Metre): // nearer than anyone paces
		s = fmt.Sprintf("at the %s end of pass %d", p.From, p.Pass)
	case p.From != "":
		s = fmt.Sprintf("%s from the %s end of pass %d", u.Length(p.Along), p.From, p.Pass)
	}
	if p.Side != "" {
		s += ", " + p.Side + " side"
	}
	return s
}

// LonLat writes a place on the Earth to a metre.
func LonLat(lon, lat float64) string {
	ns, ew := "N", "E"
	if lat < 0 {
		ns = "S"
	}
	if lon < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.5f %s, %.5f %s", math.Abs(lat), ns, math.Abs(lon), ew)
}
