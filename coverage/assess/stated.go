package assess

import (
	"math"

	"lapwing/coverage/job"
)

// A StatedKind is what a task set itself says a figure of.
type StatedKind string

// The figures that a set may say, and the units of both sides.
const (
	StatedField    StatedKind = "field_m2"
	StatedSwept    StatedKind = "swept_m2" // worked, laps counted
	StatedDistance StatedKind = "distance_m"
	StatedTime     StatedKind = "time_s"
	StatedMass     StatedKind = "applied_kg"
	StatedVolume   StatedKind = "applied_l"
)

// A Stated figure is what a task set says, which its devices summed up, and what was
// measured: nil where there is nothing to set beside it.
type Stated struct {
	Kind     StatedKind
	Set      float64
	Measured *float64
}

// Off is by which share of the set's figure the measured one differs from it; false
// where that is not known.
func (s *Stated) Off() (share float64, known bool) {
	if s.Measured == nil || s.Set == 0 {
		return 0, false
	}
	return (*s.Measured - s.Set) / s.Set, true
}

// stated sets what a job's task set says beside what was measured. What was put down
// is compared where the job has one product.
func (a *Assessment) stated(said *job.Stated) (out []Stated) {
	if said == nil {
		return nil
	}
	add := func(kind StatedKind, set float64, measured *float64) {
		if set > 0 { // and not NaN; a device that sums up nothing leaves zero
			out = append(out, Stated{kind, set, measured})
		}
	}
	known := func(x float64) *float64 { return &x }
	var distance, seconds float64
	clock := true
	for i := range a.Map.Passes {
		p := &a.Map.Passes[i]
		distance += p.Length.Metres()
		seconds += p.End.Sub(p.Start).Seconds()
		clock = clock && a.HasClock(p)
	}
	var field, mass, volume *float64
	if !a.Map.Field.Worked {
		field = known(a.Map.Totals.Field.SquareMetres())
	}
	time := known(seconds)
	if !clock {
		time = nil
	}
	if len(a.Accounts) == 1 {
		mass = a.Accounts[0].Applied.Mass
		if v := a.Accounts[0].Applied.Volume; v != nil {
			volume = known(*v * 1000)
		}
	}
	add(StatedField, said.Field, field)
	add(StatedSwept, said.Area, known(a.Map.Totals.Swept.SquareMetres()))
	add(StatedDistance, said.Distance, known(distance))
	add(StatedTime, said.Time, time)
	add(StatedMass, said.Mass, mass)
	add(StatedVolume, said.Volume*1000, volume)
	return out
}

// A StatedSummary is a figure that the task set says; the others are nil where it
// has none to stand beside.
type StatedSummary struct {
	What       StatedKind `json:"what"`
	Set        float64    `json:"set"`
	Measured   *float64   `json:"measured"`
	Difference *float64   `json:"difference"` // measured less set
}

func (a *Assessment) summaryStated() (out []StatedSummary) {
	rounded := func(x float64) float64 { return math.Round(x*1e6) / 1e6 }
	for _, s := range a.Stated {
		one := StatedSummary{What: s.Kind, Set: rounded(s.Set)}
		if s.Measured != nil {
			m, d := rounded(*s.Measured), rounded(*s.Measured-s.Set)
			one.Measured, one.Difference = &m, &d
		}
		out = append(out, one)
	}
	return out
}
