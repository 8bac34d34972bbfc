package region

import (
	"fmt"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/geo/arrange"
)

// Crossings are how often the edges of what lies over a field cross one another, as
// an [arrange.Budget] counts it, and how often they may.
type Crossings struct{ Found, Most int }

// budgetOf returns what the arrangements of a field may cost together, and how
// many crossings that is.
func budgetOf(f *field.Field, ground sweep.Ground, opt *field.Options) (*arrange.Budget, int) {
	if opt.Crossings > 0 {
		return arrange.NewBudget(opt.Crossings), opt.Crossings
	}
	points := f.Corners()
	for i := range ground.Passes {
		points += len(ground.Passes[i].Poses)
	}
	most := field.UsualCrossings(points)
	return arrange.NewBudget(most), most
}

// A CrossingsError says that the edges of what lies over a field cross one
// another so often that it is not worked out.
type CrossingsError struct {
	Field   string
	Machine machine.Machine // the widest
	Most    int             // how often they may
}

func (e *CrossingsError) Error() string {
	return fmt.Sprintf("field %q: found swaths of %q, %.4g m wide, that cross one another and the boundary over %d times, want fewer: is the width right, and the log that of this field?",
		e.Field, e.Machine.Name, e.Machine.Implement.Width.Metres(), e.Most)
}

// widest returns the widest of some machines, the first of several.
func widest(machines []machine.Machine) machine.Machine {
	var out machine.Machine
	for i := range machines {
		if machines[i].Implement.Width > out.Implement.Width {
			out = machines[i]
		}
	}
	return out
}
