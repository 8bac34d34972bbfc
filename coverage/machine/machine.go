package machine

import (
	"slices"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Machine is a tractor or self-propelled unit with its implement. Machines of
// one field have distinct names.
type Machine struct {
	Name     string
	Operator string // "" where the job names none
	// Lap is how far its passes are to lap their neighbours by plan, rounds of the
	// headland apart; nil where the job does not say.
	Lap       *plane.Length
	Implement Implement
}

// A Logged machine is a machine with the tracks it logged.
type Logged struct {
	Machine
	Tracks  []Track
	Working WorkingRule
}

// Machines returns the machines by themselves.
func Machines(logged []Logged) []Machine {
	out := make([]Machine, len(logged))
	for i := range logged {
		out[i] = logged[i].Machine
	}
	return out
}

// Widest returns the working width of the widest of some machines; 0 for none.
func Widest(machines []Machine) plane.Length {
	var width plane.Length
	for i := range machines {
		width = max(width, machines[i].Implement.Width)
	}
	return width
}

// Narrowest returns the working width of the narrowest of some machines; 0 for none.
func Narrowest(machines []Machine) plane.Length {
	width := Widest(machines)
	for i := range machines {
		width = min(width, machines[i].Implement.Width)
	}
	return width
}

// FinestRows returns the smallest spacing of rows of some machines; 0 where none
// says.
func FinestRows(machines []Machine) plane.Length {
	var finest plane.Length
	for i := range machines {
		if s := machines[i].Implement.RowSpacing; s > 0 && (finest == 0 || s < finest) {
			finest = s
		}
	}
	return finest
}

// Fixes returns how many fixes some machines logged.
func Fixes(machines []Logged) int {
	n := 0
	for i := range machines {
		for j := range machines[i].Tracks {
			n += len(machines[i].Tracks[j].Fixes)
		}
	}
	return n
}

// A WorkingRule says where a machine's working state comes from.
type WorkingRule int

// The rules.
const (
	// AsLogged takes each fix's Working as the log has it. Tracks without a
	// working column ([Track.WorkingLogged] false) are inferred all the same.
	AsLogged WorkingRule = iota
	// Inferred works the state out from the motion and ignores the log's.
	Inferred
)

// Middle returns the medians of the longitudes and latitudes of all fixes of some
// machines, which a few wild fixes do not move. The second result is false where
// no fix has a position.
func Middle(machines []Logged) (geo.LonLat, bool) {
	var lons, lats []float64
	for i := range machines {
		for j := range machines[i].Tracks {
			for _, f := range machines[i].Tracks[j].Fixes {
				if f.At != (geo.LonLat{}) && f.At.Valid() {
					lons, lats = append(lons, f.At.Lon), append(lats, f.At.Lat)
				}
			}
		}
	}
	if len(lons) == 0 {
		return geo.LonLat{}, false
	}
	slices.Sort(lons)
	slices.Sort(lats)
	return geo.LonLat{Lon: lons[len(lons)/2], Lat: lats[len(lats)/2]}, true
}
