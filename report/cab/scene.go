package cab

import (
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A Scene is what does not change while a page is open. Places are in metres east and
// north of the field's centre.
type Scene struct {
	Field    string    `json:"field"`
	Units    string    `json:"units"` // us or metric
	Rings    [][]Place `json:"rings"` // of the boundary; none for a field that is the worked ground
	Machines []Machine `json:"machines"`
	Switches bool      `json:"switches"` // the bar is switched from the page
	Drives   bool      `json:"drives"`   // this page may switch the bar
	Look     string    `json:"look"`     // the address for others, who only look; "" for them
	Open     string    `json:"open"`     // a warning that anyone on the network can read along; "" where none can
}

// A Place is metres east and north.
type Place [2]float64

// A Machine is one that is heard.
type Machine struct {
	Name     string  `json:"name"`
	Width    float64 `json:"width_m"`
	Sections int     `json:"sections"`
	Tanks    bool    `json:"tanks"`
}

// SceneOf tells of a field and the machines that are heard, of which tanks tells which
// carry a tank.
func SceneOf(u quantity.Units, land *field.Field, machines []*machine.Machine, tanks []bool) Scene {
	s := Scene{Field: words.Clean(land.Name), Units: [...]string{"us", "metric"}[u], Rings: [][]Place{}}
	if s.Field == "" {
		s.Field = "Field without a name"
	}
	for _, p := range land.Boundary {
		for _, r := range p.Rings() {
			var ring []Place
			for _, at := range r {
				ring = append(ring, placeOf(at))
			}
			s.Rings = append(s.Rings, ring)
		}
	}
	for i, m := range machines {
		s.Machines = append(s.Machines, Machine{words.Clean(m.Name), m.Implement.Width.Metres(), len(m.Implement.Sections), tanks[i]})
	}
	return s
}

func placeOf(p plane.Point) Place { return Place{centimetres(p.X), centimetres(p.Y)} }

// centimetres is a length in metres, to the centimetre: the drawing shows no less.
func centimetres(l plane.Length) float64 {
	return float64(plane.Round(l.Metres()*100)) / 100
}

// lay takes a place from the plane of one frame to that of another.
func lay(p plane.Point, from, to *geo.Frame) plane.Point {
	if from.Centre == to.Centre {
		return p
	}
	at, _ := to.ToPlane(from.ToEarth(p))
	return at
}
